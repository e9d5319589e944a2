import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { contrast, mixed, rgb, type Rgb } from './contrast';

const css = readFileSync(new URL('./tokens.css', import.meta.url), 'utf8').replace(/\/\*[^]*?\*\//g, '');

/** The declarations of the block that a selector opens. */
function block(selector: string): Map<string, string> {
  const from = css.indexOf(`${selector} {`);
  expect(from, selector).toBeGreaterThanOrEqual(0);
  const body = css.slice(css.indexOf('{', from) + 1, css.indexOf('}', from));
  return new Map([...body.matchAll(/(--[\w-]+):\s*([^;]+);/g)].map((m) => [m[1] ?? '', (m[2] ?? '').trim()]));
}

const bright = block(':root');
const system = block(":root:not([data-mode='bright'])");
const dark = block(":root[data-mode='dark']");

function color(name: string, own: Map<string, string>): Rgb {
  const value = own.get(name) ?? bright.get(name) ?? '';
  const mix = /^color-mix\(in oklab, var\((--[\w-]+)\) (\d+)%, var\((--[\w-]+)\)\)$/.exec(value);
  if (!mix) return rgb(value);
  return mixed(color(mix[1] ?? '', own), Number(mix[2]) / 100, color(mix[3] ?? '', own));
}

const grounds = ['--paper', '--wash', '--wash-strong', '--action-wash', '--caution-wash'];
const inks = ['--ink', '--ink-soft', '--action', '--caution'];

test('contrast is that of the recommendation', () => {
  // WCAG 2.2: black on white is 21. The gray is the well-known lightest one that passes 4.5 on white, from memory.
  expect(contrast(rgb('#000000'), rgb('#ffffff'))).toBeCloseTo(21, 6);
  expect(contrast(rgb('#767676'), rgb('#ffffff'))).toBeCloseTo(4.54, 2);
});

test('a mixture with nothing of the other is itself', () => {
  for (const [i, part] of mixed(rgb('#7f290e'), 1, rgb('#fbf8f1')).entries()) {
    expect(part).toBeCloseTo(rgb('#7f290e')[i] ?? 0, 4);
  }
});

test('the dark mode of the system and the chosen one are the same', () => {
  expect([...system]).toEqual([...dark]);
});

describe.each([
  ['bright', bright],
  ['dark', dark],
])('in %s mode', (_, own) => {
  test('text stands out from every ground by 7 to 1', () => {
    for (const ground of grounds) {
      for (const ink of inks) {
        const ratio = contrast(color(ink, own), color(ground, own));
        expect(ratio, `${ink} on ${ground}`).toBeGreaterThanOrEqual(7);
      }
    }
  });

  test('paper on the accent stands out by 7 to 1', () => {
    expect(contrast(color('--paper', own), color('--action', own))).toBeGreaterThanOrEqual(7);
  });

  test('what bounds a field stands out by 3 to 1', () => {
    for (const ground of grounds) {
      expect(contrast(color('--rule-strong', own), color(ground, own)), ground).toBeGreaterThanOrEqual(3);
    }
  });
});
