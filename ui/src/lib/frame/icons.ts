/**
 * Our own icons, drawn with one pen (1.75 px, round) on a grid of 24 px, live area 3 to 21. Each is an SVG path; none
 * stands without words beside it.
 */

export const ICONS = {
  /** Three elements on two boards. */
  shelf: 'M3 11h18M3 20.5h18M5 11V7h6v4M13.5 11V4.5h5V11M7 20.5v-5h10v5',
  /** A bell mouth over the bench's box, a gauge tube beside it. */
  bench: 'M3 13.5h11v7H3zM5 5.5c1.6 0 2 1 2 2.5v5.5M12 5.5c-1.6 0-2 1-2 2.5v5.5M18 5.5v12.25a1.5 1.5 0 0 0 3 0V9.5',
  /** Three intervals and the line they are measured from. */
  findings:
    'M6 3.5v17M9.5 6.5H20M9.5 4.75v3.5M20 4.75v3.5M4 12h9M4 10.25v3.5M13 10.25v3.5M10 17.5h7M10 15.75v3.5M17 15.75v3.5',
  /** A page with a turned corner and a table on it. */
  records: 'M5 3.5h9.5L19 8v12.5H5zM14.5 3.5V8H19M8.5 12h7M8.5 16h7',
  /** A phone, and what goes out from it. */
  device: 'M4.5 3.5h9v17h-9zM8 17.5h2M16.5 9.5a3.5 3.5 0 0 1 0 5M18.75 7a7 7 0 0 1 0 10',
  search: 'M10.5 4a6.5 6.5 0 1 0 0 13 6.5 6.5 0 0 0 0-13zM15.25 15.25L20.5 20.5',
  back: 'M20.5 12H4M10.5 5.5L4 12l6.5 6.5',
  onward: 'M9 5l7 7-7 7',
  close: 'M5.5 5.5l13 13M18.5 5.5l-13 13',
  add: 'M12 4v16M4 12h16',
  undo: 'M4 9h10.5a5 5 0 0 1 0 10H8M8 5L4 9l4 4',
  strike: 'M3.5 12h17M7 6.5h10M8.5 17.5h7',
  erase: 'M8.5 5.5h12v13h-12L3 12zM11.5 9l5.5 6M17 9l-5.5 6',
  check: 'M4.5 12.5l5 5L19.5 7',
  camera: 'M3.5 7.5h4l1.75-3h5.5l1.75 3h4v12h-17zM12 10a3.5 3.5 0 1 0 0 7 3.5 3.5 0 0 0 0-7z',
  caution: 'M12 4L2.75 20h18.5zM12 10v4.5M12 17.25v.01',
  ask: 'M8.5 9a3.5 3.5 0 1 1 5.25 3c-1.2.7-1.75 1.4-1.75 2.75M12 18.5v.01',
  event: 'M13.5 3.5L6 13.5h5l-1 7 8-10.5h-5.25z',
  tune: 'M4 7h9M17 7h3M4 17h3M11 17h9M15 4.75v4.5M9 14.75v4.5',
  more: 'M5 12a1 1 0 1 0 2 0a1 1 0 1 0-2 0M11 12a1 1 0 1 0 2 0a1 1 0 1 0-2 0M17 12a1 1 0 1 0 2 0a1 1 0 1 0-2 0',
} as const;

export type IconName = keyof typeof ICONS;
