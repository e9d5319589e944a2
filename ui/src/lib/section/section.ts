/**
 * An assembly cut through the middle, as Rust computes it: meters, x outward from the center axis to both sides, y up from
 * the carburetor's register. Here it is only laid on the screen.
 */

import type { Mark } from '../backend/types/Mark';
import type { Piece } from '../backend/types/Piece';
import type { SectionDrawing } from '../backend/types/SectionDrawing';

export type { Mark, Piece, SectionDrawing };

export type Point = readonly [x_m: number, y_m: number];

export type Size = 'small' | 'medium' | 'large';

/** What a cut through it is filled with. */
export type Hatch = 'metal' | 'metal-back' | 'rubber' | 'media' | 'foam' | 'plain';

const MATERIALS: Readonly<Record<string, Hatch>> = {
  filter: 'media',
  media: 'media',
  paper: 'media',
  gauze: 'media',
  foam: 'foam',
  seal: 'rubber',
  gasket: 'rubber',
  rubber: 'rubber',
  end_seal: 'rubber',
  lid: 'metal',
  base: 'metal',
  spacer: 'metal',
  stack: 'metal',
  velocity_stack: 'metal',
  neck: 'metal',
  carburetor: 'metal',
  stud: 'plain',
  nut: 'plain',
};

/** Neighbors of metal are hatched against each other, as drawings have always done. */
export function hatch(piece: Piece): Hatch {
  const material = MATERIALS[piece.kind.toLowerCase()] ?? 'plain';
  return material === 'metal' && piece.layer % 2 === 1 ? 'metal-back' : material;
}

export interface Extent {
  readonly left: number;
  readonly right: number;
  readonly bottom: number;
  readonly top: number;
}

/** What must fit on the paper, in meters: all ink and all marks, and both halves alike. */
export function extent(drawing: SectionDrawing): Extent {
  const points = drawing.pieces.flatMap((piece) => piece.outline.flat());
  const ys = [0, ...points.map(([, y]) => y), ...drawing.marks.map((mark) => mark.y_m)].filter(Number.isFinite);
  const half = Math.max(drawing.width_m / 2, ...points.map(([x]) => Math.abs(x)), 0.01);
  const bottom = Math.min(...ys);
  return { left: -half, right: half, bottom, top: Math.max(...ys, bottom + 0.01) };
}

/** How the paper lies on the screen: pixels per meter, and where the center and the register are. */
export interface Scale {
  readonly perMeter: number;
  readonly x: (m: number) => number;
  readonly y: (m: number) => number;
  readonly width: number;
  readonly height: number;
}

/** Fits an extent into a width and a greatest height, with room around it, in one scale for both directions. */
export function fit(
  box: Extent,
  width: number,
  maxHeight: number,
  room: { top: number; right: number; bottom: number; left: number },
): Scale {
  const inner = Math.max(1, width - room.left - room.right);
  const tall = Math.max(1, maxHeight - room.top - room.bottom);
  const perMeter = Math.min(inner / (box.right - box.left), tall / (box.top - box.bottom));
  const height = (box.top - box.bottom) * perMeter + room.top + room.bottom;
  const center = room.left + inner / 2;
  return {
    perMeter,
    x: (m) => center + m * perMeter,
    y: (m) => room.top + (box.top - m) * perMeter,
    width,
    height,
  };
}

/** The polygons of a piece as one path. */
export function path(piece: Piece, scale: Scale): string {
  const n = (value: number) => value.toFixed(2);
  return piece.outline
    .filter((polygon) => polygon.length > 1)
    .map((polygon) => `M${polygon.map(([x, y]) => `${n(scale.x(x))} ${n(scale.y(y))}`).join('L')}Z`)
    .join('');
}

/** Where a leader touches a piece: its outermost right edge, halfway up. */
export function anchor(piece: Piece): Point | null {
  const points = piece.outline.flat();
  if (points.length === 0) return null;
  const right = Math.max(...points.map(([x]) => x));
  const reach = points.filter(([x]) => x > right - 1e-4).map(([, y]) => y);
  return [right, (Math.min(...reach) + Math.max(...reach)) / 2];
}

/**
 * The folds that are seen on the far half of a ring, behind the cut: x in meters, from the center out to both sides.
 * The folds stand evenly around the ring, so they crowd toward its sides; what would crowd closer than `least_m` is left
 * out.
 */
export function folds(piece: Piece, least_m: number): { xs: number[]; bottom: number; top: number } | null {
  const right = piece.outline.filter((polygon) => polygon.length > 2 && polygon.every(([x]) => x > 0));
  const points = right.flat();
  if (!piece.pleats || piece.pleats.count < 4 || points.length === 0) return null;
  const inner = Math.min(...points.map(([x]) => x));
  const ys = points.map(([, y]) => y);
  const xs: number[] = [];
  for (let k = 0.5; k < piece.pleats.count / 4; k++) {
    const x = inner * Math.sin((2 * Math.PI * k) / piece.pleats.count);
    if (x - (xs.at(-1) ?? -Infinity) >= least_m) xs.push(x);
  }
  return { xs: [...xs.map((x) => -x).reverse(), ...xs], bottom: Math.min(...ys), top: Math.max(...ys) };
}

/** Where the words of a mark stand: in rows above the highest line, the register's below all, none on another. */
export interface Caption {
  readonly mark: Mark;
  readonly x: number;
  readonly end: 'start' | 'middle' | 'end';
  /** 0 is nearest to the drawing. */
  readonly row: number;
}

/** The captions of marks between two edges; `letter` is about how wide a letter is. */
export function captions(marks: readonly Mark[], left: number, right: number, letter = 6.4): Caption[] {
  const taken: { row: number; from: number; to: number; above: boolean }[] = [];
  return marks.map((mark) => {
    const wide = mark.text.length * letter;
    const above = mark.kind !== 'register';
    const end = mark.kind === 'top' ? 'end' : mark.kind === 'stud' ? 'middle' : 'start';
    const x = end === 'end' ? right : end === 'middle' ? (left + right) / 2 : left;
    const from = end === 'end' ? x - wide : end === 'middle' ? x - wide / 2 : x;
    let row = 0;
    while (taken.some((t) => t.above === above && t.row === row && from < t.to + 8 && from + wide > t.from - 8)) row++;
    taken.push({ row, from, to: from + wide, above });
    return { mark, x, end, row };
  });
}

/** A dimension's name in words, where it came as a name of the code. */
export function words(dimension: string): string {
  return dimension.replace(/_(m|mm|m2|pa)$/, '').replace(/_/g, ' ');
}

/** The drawing in words, from the top down. */
export function told(drawing: SectionDrawing, name: (dimension: string) => string): string {
  const top = (piece: Piece) => Math.max(...piece.outline.flat().map(([, y]) => y), -Infinity);
  const pieces = [...drawing.pieces].sort((a, b) => top(b) - top(a));
  const said = pieces.map((piece) => {
    const notes = [
      ...(piece.estimated ? ['estimated'] : []),
      ...(piece.missing.length ? [`not known: ${piece.missing.map(name).join(', ')}`] : []),
    ];
    return notes.length ? `${piece.label} (${notes.join('; ')})` : piece.label;
  });
  const marks = drawing.marks.map((mark) => mark.text);
  return [`From the top: ${said.join('; ')}.`, marks.length ? `${marks.join('. ')}.` : ''].join(' ').trim();
}
