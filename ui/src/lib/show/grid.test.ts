import { expect, test } from 'vitest';
import { filled, layer, type Cell } from './grid';

const cells: Cell[] = [
  { row: 'solid', column: 'tall', layer: 'drop', text: '2.3 %', state: 'measured' },
  { row: 'solid', column: 'tall', layer: 'flat', text: '1.9 %', state: 'measured' },
  { row: 'vented', column: 'tall', layer: 'drop', text: 'next', state: 'next' },
];

test('a cell is found in its own layer only', () => {
  expect(layer(cells, 'drop')('solid', 'tall')?.text).toBe('2.3 %');
  expect(layer(cells, 'flat')('solid', 'tall')?.text).toBe('1.9 %');
  expect(layer(cells, 'flat')('vented', 'tall')).toBeUndefined();
});

test('only what was measured counts as measured', () => {
  expect(filled(cells, 'drop', 2, 3)).toBe('1 of 6 measured');
});
