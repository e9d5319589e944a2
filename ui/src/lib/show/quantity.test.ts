import { expect, test } from 'vitest';
import { held, parts, pieces, spoken } from './quantity';

test('a quantity is taken apart where its unit begins', () => {
  const cases: [string, string, string][] = [
    ['251.4 CFM', '251.4', 'CFM'],
    ['2 15/16 in', '2 15/16', 'in'],
    ['3-1/8 in', '3-1/8', 'in'],
    ['−0.4 %', '−0.4', '%'],
    ['±0.9 %', '±0.9', '%'],
    ['1.9 to 2.7 %', '1.9 to 2.7', '%'],
    ['−0.4 to 1.2 %', '−0.4 to 1.2', '%'],
    ['5.5 inH2O', '5.5', 'inH2O'],
    ['1,204 m³/h', '1,204', 'm³/h'],
    ['79.4mm', '79.4', 'mm'],
    ['42', '42', ''],
    ['not measured', 'not measured', ''],
  ];
  for (const [text, number, unit] of cases) expect(parts(text), text).toEqual({ number, unit });
});

test('no character of a quantity is lost by taking it apart', () => {
  for (const text of ['251.4 CFM', '2 15/16 in', '≈3 kPa', '1.9 to 2.7 %', 'none']) {
    const { number, unit } = parts(text);
    expect(`${number}${unit}`.replace(/\s/g, ''), text).toBe(text.replace(/\s/g, ''));
  }
});

test('only the fraction of a number is set with a slant', () => {
  expect(pieces('2 15/16')).toEqual([
    { text: '2 ', fraction: false },
    { text: '15/16', fraction: true },
  ]);
  expect(pieces('m³/h')).toEqual([{ text: 'm³/h', fraction: false }]);
  expect(pieces('')).toEqual([]);
});

test('number and unit never part at the end of a line', () => {
  expect(held('it needs 9 CFM more')).toBe('it needs 9\u00a0CFM more');
  expect(held('± 0.4 %')).toBe('±\u00a00.4\u00a0%');
});

test('signs and fractions are heard', () => {
  expect(spoken('−0.4 %')).toBe('minus 0.4 percent');
  expect(spoken('2 15/16 in')).toBe('2 and 15/16 in');
  expect(spoken('3-1/8 in')).toBe('3 and 1/8 in');
  expect(spoken('±6 CFM')).toBe('plus or minus 6 cubic feet per minute');
});
