import { expect, test } from 'vitest';
import { around, at, beyond, rounds, written } from './axis';
import { shared } from './places';

test('a value stands in proportion between the ends, and never outside the picture', () => {
  const axis = { from: -1, to: 3 };
  expect(at(axis, 0)).toBe(0.25);
  expect(at(axis, 9)).toBe(1);
  expect(beyond(axis, 9)).toBe(true);
  expect(beyond(axis, 3)).toBe(false);
});

test('an axis holds all its values, and a single one does not collapse it', () => {
  const axis = around([2, 5, Number.NaN]);
  expect(axis.from).toBeLessThan(2);
  expect(axis.to).toBeGreaterThan(5);
  for (const values of [[], [0], [4]]) {
    const one = around(values);
    expect(one.to).toBeGreaterThan(one.from);
  }
});

test('round values share their decimals and have a true minus', () => {
  expect(written(rounds({ from: -1.1, to: 1.1 }, 5))).toEqual(['−1.0', '−0.5', '0.0', '0.5', '1.0']);
  expect(written(rounds({ from: 0, to: 3000 }, 4))).toEqual(['0', '1,000', '2,000', '3,000']);
  expect(written(rounds({ from: 0, to: 0.02 }, 3))[1]).toBe('0.005');
});

test('only neighbors with one place share it', () => {
  expect(shared(['1', '2', '2', '4', null, null])).toEqual([
    { first: true, last: true, of: 1 },
    { first: true, last: false, of: 2 },
    { first: false, last: true, of: 2 },
    { first: true, last: true, of: 1 },
    { first: true, last: true, of: 1 },
    { first: true, last: true, of: 1 },
  ]);
});
