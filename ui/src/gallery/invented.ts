/** Values of a shed that does not exist, for looking at components. */

import type { Cell } from '../lib/show/grid';
import type { Baseline, IntervalRow, Pair } from '../lib/intervals/intervals';
import type { Piece, Point, SectionDrawing } from '../lib/section/section';

const mirrored = (points: readonly Point[]): Point[][] => [
  points.map(([x, y]) => [x, y]),
  points.map(([x, y]) => [-x, y]),
];
const box = (left: number, bottom: number, right: number, top: number): Point[] => [
  [left, bottom],
  [right, bottom],
  [right, top],
  [left, top],
];

const neck: Piece = {
  layer: 0,
  kind: 'carburetor',
  label: 'Carburetor, neck 5-1/8 in',
  outline: mirrored([
    [0.058, -0.03],
    [0.065, -0.03],
    [0.065, 0],
    [0.06, 0.004],
    [0.058, 0],
  ]),
  estimated: false,
  missing: [],
};
const base: Piece = {
  layer: 1,
  kind: 'base',
  label: 'Drop base, 1-1/8 in',
  outline: mirrored([
    [0.066, 0],
    [0.09, 0],
    [0.108, -0.026],
    [0.176, -0.026],
    [0.18, -0.018],
    [0.178, -0.018],
    [0.175, -0.023],
    [0.11, -0.023],
    [0.092, 0.004],
    [0.066, 0.004],
  ]),
  estimated: false,
  missing: [],
};
const filter: Piece = {
  layer: 2,
  kind: 'filter',
  label: 'Tall paper, 14 × 3 in',
  outline: mirrored(box(0.146, -0.019, 0.174, 0.049)),
  pleats: { count: 132 },
  estimated: false,
  missing: [],
};
const seals: Piece = {
  layer: 2,
  kind: 'seal',
  label: 'End seals',
  outline: [...mirrored(box(0.143, -0.023, 0.176, -0.019)), ...mirrored(box(0.143, 0.049, 0.176, 0.053))],
  estimated: false,
  missing: [],
};
const lid: Piece = {
  layer: 3,
  kind: 'lid',
  label: 'Solid lid',
  outline: [
    [
      [-0.18, 0.048],
      [-0.178, 0.056],
      [-0.02, 0.06],
      [-0.004, 0.06],
      [0.004, 0.06],
      [0.02, 0.06],
      [0.178, 0.056],
      [0.18, 0.048],
      [0.177, 0.048],
      [0.175, 0.053],
      [0.02, 0.057],
      [-0.02, 0.057],
      [-0.175, 0.053],
      [-0.177, 0.048],
    ],
  ],
  estimated: false,
  missing: [],
};
const stud: Piece = {
  layer: 4,
  kind: 'stud',
  label: 'Stud, 1/4 in',
  outline: [box(-0.0032, -0.02, 0.0032, 0.068)],
  estimated: false,
  missing: [],
};
const nut: Piece = {
  layer: 5,
  kind: 'nut',
  label: 'Wing nut',
  outline: [box(-0.009, 0.06, 0.009, 0.066)],
  estimated: true,
  missing: [],
};

export const whole: SectionDrawing = {
  width_m: 0.36,
  height_m: 0.1,
  pieces: [neck, base, seals, filter, stud, lid, nut],
  marks: [
    { kind: 'register', y_m: 0, text: 'Register' },
    { kind: 'top', y_m: 0.068, text: 'Top at 2-11/16 in' },
    { kind: 'hood', y_m: 0.079, text: 'Hood, 7/16 in above' },
  ],
};

export const partly: SectionDrawing = {
  ...whole,
  pieces: [
    neck,
    { ...base, missing: ['drop_m'], label: 'Drop base' },
    { ...filter, estimated: true, label: 'Short gauze, 14 in' },
    { ...lid, label: 'Vented lid', missing: ['thickness_m', 'inner_height_m'] },
    stud,
  ],
  marks: [
    { kind: 'register', y_m: 0, text: 'Register' },
    { kind: 'stud', y_m: 0.068, text: 'Stud 1/16 in short of a full nut' },
  ],
};

export const filterOnly: SectionDrawing = { width_m: 0.36, height_m: 0.072, pieces: [seals, filter], marks: [] };

export const stack: SectionDrawing = {
  width_m: 0.2,
  height_m: 0.1,
  pieces: [
    neck,
    {
      layer: 1,
      kind: 'stack',
      label: 'Velocity stack',
      outline: mirrored([
        [0.06, 0],
        [0.06, 0.05],
        [0.064, 0.064],
        [0.074, 0.074],
        [0.09, 0.077],
        [0.09, 0.08],
        [0.073, 0.077],
        [0.062, 0.067],
        [0.057, 0.05],
        [0.057, 0],
      ]),
      estimated: false,
      missing: [],
    },
    {
      ...filter,
      layer: 2,
      kind: 'foam',
      label: 'Foam sock',
      pleats: null,
      outline: mirrored(box(0.09, 0.01, 0.105, 0.09)),
    },
  ],
  marks: [],
};

export const baseline: Baseline = { value: 0, label: 'bare carburetor', text: '251.4 CFM' };

export const losses: IntervalRow[] = [
  row('a', 'Bell mouth, no filter', -0.9, -1.4, -0.4, '1', '2.3 CFM more', '4 fittings'),
  row('b', 'Tall paper, solid lid', 0.6, 0.1, 1.1, '2', '1.5 CFM less', '5 fittings'),
  row('c', 'Tall paper, vented lid', 0.9, 0.4, 1.5, '2', '2.3 CFM less', '3 fittings'),
  row('d', 'Tall gauze, oiled, solid lid', 1.3, 0.6, 2.0, '2', '3.3 CFM less', '3 fittings, taped'),
  row('e', 'Short paper, solid lid', 3.2, 2.7, 3.7, '5', '8.0 CFM less', '4 fittings'),
  {
    ...row('f', 'Short paper, clay radius on the base', 2.9, 2.9, 2.9, '–', '7.3 CFM less', 'one fitting: no interval'),
    low: null,
    high: null,
    place: null,
    intervalText: null,
  },
];

function row(
  id: string,
  label: string,
  value: number,
  low: number,
  high: number,
  place: string,
  flowText: string,
  note: string,
): IntervalRow {
  const n = (x: number) => `${x < 0 ? '−' : ''}${Math.abs(x).toFixed(1)}`;
  return {
    id,
    label,
    value,
    low,
    high,
    place,
    unitText: `${n(value)} %`,
    intervalText: `${n(low)} to ${n(high)} %`,
    altText: flowText.replace(/[\d.]+ CFM/, (flow) => `${(Number.parseFloat(flow) * 0.4719).toFixed(2)} L/s`),
    flowText,
    note,
  };
}

export const pair: Pair = {
  from: 'b',
  to: 'c',
  difference: 0.3,
  limit: 1.0,
  differenceText: '0.3 %',
  limitText: '1.0 %',
  verdict:
    'Tall paper with the vented lid flows 0.8 CFM less than with the solid one: the bench cannot tell, it needs 2.5. Six more fittings of each would see it four times in five, if it is real.',
};

export const told: Pair = {
  from: 'b',
  to: 'e',
  difference: 2.6,
  limit: 0.9,
  differenceText: '2.6 %',
  limitText: '0.9 %',
  verdict: 'Short paper flows 6.5 CFM less than tall paper, both with the solid lid: the bench sees it.',
};

export const readings = [
  {
    id: 1,
    name: 'QL-014 Tall paper',
    fit: '14 × 3 in',
    area: '5.1 sq ft',
    drop: '0.31 inH2O',
    flow: '249.9 CFM',
    state: 'new',
  },
  {
    id: 2,
    name: 'QL-015 Short paper',
    fit: '14 × 2 in',
    area: '3.2 sq ft',
    drop: '0.94 inH2O',
    flow: '243.4 CFM',
    state: 'dirty',
  },
  {
    id: 3,
    name: 'QL-021 Tall gauze',
    fit: '14 × 3 in',
    area: 'not counted',
    drop: '0.55 inH2O',
    flow: '248.1 CFM',
    state: 'oiled',
  },
];

export const cells: Cell[] = [
  {
    row: 'solid',
    column: 'tall',
    layer: 'drop',
    text: '0.6 %',
    note: '±0.5',
    state: 'measured',
    href: '#/findings/evening/1',
  },
  {
    row: 'solid',
    column: 'short',
    layer: 'drop',
    text: '3.2 %',
    note: '±0.5',
    state: 'measured',
    href: '#/findings/evening/1',
  },
  {
    row: 'solid',
    column: 'gauze',
    layer: 'drop',
    text: '1.3 %',
    note: '±0.7',
    state: 'measured',
    href: '#/findings/evening/1',
  },
  {
    row: 'vented',
    column: 'tall',
    layer: 'drop',
    text: '0.9 %',
    note: '±0.6',
    state: 'measured',
    href: '#/findings/evening/1',
  },
  { row: 'vented', column: 'short', layer: 'drop', text: '3.5 %', note: '±1.4', state: 'predicted' },
  { row: 'vented', column: 'gauze', layer: 'drop', text: 'Next', note: 'most useful run', state: 'next' },
  {
    row: 'solid',
    column: 'tall',
    layer: 'flat',
    text: '1.1 %',
    note: '±0.5',
    state: 'measured',
    href: '#/findings/evening/1',
  },
];

export const sweeps = [
  {
    id: 'tall',
    label: 'Tall paper',
    points: [3, 5.5, 8, 12, 16, 20, 28].map((p) => ({
      x: p,
      y: 47.2 * Math.sqrt(p),
      low: 46.8 * Math.sqrt(p),
      high: 47.6 * Math.sqrt(p),
      text: `${(47.2 * Math.sqrt(p)).toFixed(1)} CFM`,
    })),
  },
  {
    id: 'short',
    label: 'Short paper',
    points: [3, 5.5, 8, 12, 16, 20, 28].map((p) => ({
      x: p,
      y: 44.1 * Math.sqrt(p),
      low: 43.2 * Math.sqrt(p),
      high: 45 * Math.sqrt(p),
      text: `${(44.1 * Math.sqrt(p)).toFixed(1)} CFM`,
    })),
  },
  {
    id: 'gauze',
    label: 'Tall gauze, oiled',
    points: [5.5, 12, 28].map((p) => ({
      x: p,
      y: 45.9 * Math.sqrt(p),
      text: `${(45.9 * Math.sqrt(p)).toFixed(1)} CFM`,
    })),
  },
];
