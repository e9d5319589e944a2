import { expect, test } from 'vitest';
import { moved, nearest, spans, stops, zoomed, type CurveSeries } from './curve';

const point = (x: number, y: number, by = 0) => ({ x, y, low: y - by, high: y + by, text: `${y} at ${x}` });
const series: CurveSeries[] = [
  { id: 'a', label: 'A', points: [point(3, 80, 2), point(28, 250, 5)] },
  { id: 'b', label: 'B', points: [point(5.5, 100), point(28, 240)] },
];

test('the picture holds all points with their intervals', () => {
  expect(spans(series, false)).toEqual({ x: { from: 3, to: 28 }, y: { from: 78, to: 255 } });
  expect(spans(series, true).y.from).toBe(0);
});

test('one point alone, or none, still has a picture', () => {
  for (const some of [[], [{ id: 'c', label: 'C', points: [point(4, 0)] }]]) {
    const { x, y } = spans(some, false);
    expect(x.to).toBeGreaterThan(x.from);
    expect(y.to).toBeGreaterThan(y.from);
  }
});

test('a stop is named once, in order, and the nearest is found', () => {
  expect(stops(series)).toEqual([3, 5.5, 28]);
  expect(nearest(stops(series), 17)).toBe(28);
  expect(nearest([], 17)).toBeNull();
});

test('zooming keeps what is under the fingers, and never leaves the whole', () => {
  const whole = { from: 0, to: 100 };
  expect(zoomed(whole, whole, 0.5, 40)).toEqual({ from: 20, to: 70 });
  expect(zoomed({ from: 20, to: 70 }, whole, 4, 40)).toEqual(whole);
  expect(zoomed({ from: 90, to: 100 }, whole, 2, 100)).toEqual({ from: 80, to: 100 });
  const closest = zoomed(whole, whole, 1e-9, 50);
  expect(closest.to - closest.from).toBeCloseTo(2, 9);
});

test('moving stops at the ends', () => {
  const whole = { from: 0, to: 100 };
  expect(moved({ from: 10, to: 30 }, whole, -50)).toEqual({ from: 0, to: 20 });
  expect(moved({ from: 10, to: 30 }, whole, 500)).toEqual({ from: 80, to: 100 });
});
