import { expect, test } from 'vitest';
import {
  anchor,
  captions,
  extent,
  fit,
  folds,
  hatch,
  path,
  told,
  words,
  type Piece,
  type SectionDrawing,
} from './section';
import { spread } from './spread';

const rectangle = (left: number, bottom: number, right: number, top: number) =>
  [
    [left, bottom],
    [right, bottom],
    [right, top],
    [left, top],
  ] as const;

const ring: Piece = {
  layer: 2,
  kind: 'filter',
  label: 'Filter, 14 × 3 in',
  outline: [rectangle(-0.178, 0, -0.15, 0.076), rectangle(0.15, 0, 0.178, 0.076)],
  pleats: { count: 120 },
  estimated: false,
  missing: ['free_height_m'],
};
const lid: Piece = {
  layer: 3,
  kind: 'lid',
  label: 'Lid',
  outline: [rectangle(-0.18, 0.076, 0.18, 0.079)],
  estimated: true,
  missing: [],
};
const drawing: SectionDrawing = {
  width_m: 0.36,
  height_m: 0.079,
  pieces: [ring, lid],
  marks: [{ kind: 'hood', y_m: 0.09, text: 'Hood 11 mm above' }],
};

test('the paper holds all ink, all marks and the register, both halves alike', () => {
  expect(extent(drawing)).toEqual({ left: -0.18, right: 0.18, bottom: 0, top: 0.09 });
  expect(extent({ ...drawing, pieces: [], marks: [] }).top).toBeGreaterThan(0);
});

test('one scale holds for both directions, whichever side is short', () => {
  const none = { top: 0, right: 0, bottom: 0, left: 0 };
  for (const [width, height] of [
    [360, 1000],
    [1000, 60],
  ] as const) {
    const scale = fit(extent(drawing), width, height, none);
    expect(scale.x(0.1) - scale.x(0)).toBeCloseTo(scale.y(0) - scale.y(0.1), 9);
    expect(scale.x(0)).toBeCloseTo(width / 2, 9);
    expect(scale.height).toBeLessThanOrEqual(height + 1e-9);
    expect(scale.y(0)).toBeCloseTo(scale.height, 9);
  }
});

test('every polygon of a piece is drawn and closed', () => {
  const drawn = path(ring, fit(extent(drawing), 360, 1000, { top: 0, right: 0, bottom: 0, left: 0 }));
  expect(drawn.match(/M/g)).toHaveLength(2);
  expect(drawn.match(/Z/g)).toHaveLength(2);
  expect(drawn).not.toContain('NaN');
});

test('a leader touches the outermost edge', () => {
  expect(anchor(ring)?.[0]).toBe(0.178);
  expect(anchor(ring)?.[1]).toBeCloseTo(0.038, 12);
  expect(anchor({ ...ring, outline: [] })).toBeNull();
});

test('as many folds are seen as stand on half the ring, alike on both sides, none outside it', () => {
  const seen = folds(ring, 0);
  expect(seen?.xs).toHaveLength(60);
  expect(seen?.xs.every((x) => Math.abs(x) < 0.15)).toBe(true);
  expect(seen?.xs.map((x) => -x).reverse()).toEqual(seen?.xs);
  const sparse = folds(ring, 0.004)?.xs ?? [];
  expect(sparse.length).toBeLessThan(60);
  expect(folds(lid, 0)).toBeNull();
});

test('neighbors of metal are hatched against each other', () => {
  expect(hatch(lid)).not.toBe(hatch({ ...lid, layer: 4 }));
  expect(hatch(ring)).toBe('media');
  expect(hatch({ ...ring, kind: 'something new' })).toBe('plain');
});

test('the drawing is told from the top down, with what is not known', () => {
  expect(told(drawing, words)).toBe(
    'From the top: Lid (estimated); Filter, 14 × 3 in (not known: free height). Hood 11 mm above.',
  );
});

test('words of marks never lie on each other', () => {
  const marks = [
    { kind: 'hood', y_m: 0.09, text: 'Hood 11 mm above' },
    { kind: 'top', y_m: 0.085, text: 'Top at 85 mm' },
    { kind: 'stud', y_m: 0.084, text: 'Stud 2 mm short of a full nut' },
    { kind: 'register', y_m: 0, text: 'Register' },
  ] as const;
  expect(captions(marks, 0, 300).map(({ row, end }) => [row, end])).toEqual([
    [0, 'start'],
    [0, 'end'],
    [1, 'middle'],
    [0, 'start'],
  ]);
  expect(captions(marks, 0, 1000).map(({ row }) => row)).toEqual([0, 0, 0, 0]);
});

test('labels keep their order and never lie on each other', () => {
  const wanted = [
    { at: 50, height: 44 },
    { at: 48, height: 20 },
    { at: 52, height: 44 },
  ];
  const middles = spread(wanted, 0, 200, 4);
  const [first = 0, second = 0, third = 0] = middles;
  expect(second).toBeLessThan(first);
  expect(first).toBeLessThan(third);
  expect(first - second).toBeGreaterThanOrEqual(36 - 1e-9);
  expect(third - first).toBeGreaterThanOrEqual(48 - 1e-9);
});

test('labels stay where they want to be when there is room, and inside when there is just enough', () => {
  expect(
    spread(
      [
        { at: 20, height: 10 },
        { at: 80, height: 10 },
      ],
      0,
      100,
      0,
    ),
  ).toEqual([20, 80]);
  expect(
    spread(
      [
        { at: 95, height: 20 },
        { at: 95, height: 20 },
      ],
      0,
      100,
      0,
    ),
  ).toEqual([70, 90]);
});
