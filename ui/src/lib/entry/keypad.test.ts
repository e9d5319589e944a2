import { expect, test } from 'vitest';
import { press, type Fraction, type Key } from './keypad';

const units = ['in', 'mm', 'cm', 'inH2O'];

/** `3 5 . +1/2 in <` as touches. */
function typed(keys: string, from = ''): string {
  return keys.split(' ').reduce((text, key) => {
    const touch: Key = /^\d$/.test(key)
      ? { digit: key }
      : key === '.'
        ? { point: true }
        : key === '±'
          ? { sign: true }
          : key === '<'
            ? { back: true }
            : key === 'C'
              ? { clear: true }
              : key.startsWith('+')
                ? { fraction: key.slice(1) as Fraction }
                : { unit: key };
    return press(text, touch, units);
  }, from);
}

test('digits and one decimal point', () => {
  expect(typed('2 5 1 . 4')).toBe('251.4');
  expect(typed('. 5')).toBe('0.5');
  expect(typed('1 . 2 . 3')).toBe('1.23');
  expect(typed('0 7')).toBe('7');
});

test('fractions add up as on a folding rule', () => {
  expect(typed('2 +1/2 +1/4 +1/8 +1/16')).toBe('2 15/16');
  expect(typed('2 +1/16 +1/16')).toBe('2 1/8');
  expect(typed('+1/2 +1/4')).toBe('3/4');
  expect(typed('2 +1/2 +1/2')).toBe('3');
  expect(typed('+1/2 +1/2')).toBe('1');
});

test('a fraction of a decimal is none', () => {
  expect(typed('2 . 5 +1/2')).toBe('2.5');
  expect(typed('2 +1/2 .')).toBe('2 1/2');
});

test('a unit stands at the end, whatever is typed after it, and a second touch takes it off', () => {
  expect(typed('3 +1/8 in')).toBe('3 1/8 in');
  expect(typed('3 in 5')).toBe('35 in');
  expect(typed('3 in mm')).toBe('3 mm');
  expect(typed('3 in in')).toBe('3');
  expect(typed('2 8 inH2O <')).toBe('28');
});

test('erasing takes the last thing off: unit, fraction, figure, sign', () => {
  expect(typed('1 2 +1/2 in <')).toBe('12 1/2');
  expect(typed('1 2 +1/2 in < <')).toBe('12');
  expect(typed('1 2 +1/2 in < < <')).toBe('1');
  expect(typed('± 4 <')).toBe('−');
  expect(typed('± 4 < <')).toBe('');
  expect(typed('<')).toBe('');
  expect(typed('5 +1/8 C')).toBe('');
});

test('what was written by hand goes on from there', () => {
  expect(typed('+1/16', '2-7/8in')).toBe('2 15/16 in');
  expect(typed('5', '−0.')).toBe('−0.5');
});

test('what cannot be read is only added to and taken from at its end', () => {
  expect(typed('4', '3,5 or 3,')).toBe('3,5 or 3,4');
  expect(typed('<', '12x')).toBe('12');
});
