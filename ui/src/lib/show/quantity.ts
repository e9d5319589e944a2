/**
 * How a quantity is set. Numbers, rounding and units come from Rust as text, in both systems of units; here is only the
 * layout: what holds together, what is a fraction, what it sounds like. Nothing here changes a digit.
 */

/** A formatted quantity as Rust sends it. */
export interface Shown {
  /** With its unit, in the person's units: `251.4 CFM`. */
  readonly text: string;
  /** The same in the other system: `118.6 L/s`. */
  readonly other?: string | null;
}

export interface Parts {
  /** `2 15/16`, `−0.4 to 1.2`, `251.4`. */
  readonly number: string;
  /** `in`, `CFM`, or nothing. */
  readonly unit: string;
}

const NUMBER = /^[+\-−±≈<>≤≥]?\s?\d[\d.,/ ⁄-]*(?:\s?(?:±|to|–)\s?[+\-−]?\d[\d.,/ ⁄-]*)*(?:e[+-]?\d+)?/i;

/** A text taken apart where its unit begins; a text without number is all number. */
export function parts(text: string): Parts {
  const trimmed = text.trim();
  const number = NUMBER.exec(trimmed)?.[0].trimEnd();
  if (!number) return { number: trimmed, unit: '' };
  return { number, unit: trimmed.slice(number.length).trim() };
}

/** A number in pieces, its fractions apart: only these are set with a slant. */
export function pieces(number: string): { readonly text: string; readonly fraction: boolean }[] {
  return number
    .split(/(\d+\/\d+)/)
    .filter(Boolean)
    .map((text) => ({ text, fraction: /^\d+\/\d+$/.test(text) }));
}

/** The text with what must not part at a line's end held together. */
export function held(text: string): string {
  return text.replace(/(\d|±|≈|−) (?=[\d%°A-Za-zµμ])/g, '$1\u00a0').replace(/(\d)-(\d+\/\d)/g, '$1\u2060-\u2060$2');
}

const SOUNDS: readonly (readonly [RegExp, string])[] = [
  [/(^|[\s(])[−-](?=\d)/g, '$1minus '],
  [/±\s?/g, 'plus or minus '],
  [/≈\s?/g, 'about '],
  [/≤\s?/g, 'at most '],
  [/≥\s?/g, 'at least '],
  [/\s?%/g, ' percent'],
  [/(\d)[ -](\d+\/\d+)/g, '$1 and $2'],
  [/\binH2O\b/g, 'inches of water'],
  [/\bCFM\b/g, 'cubic feet per minute'],
];

/** What a screen reader should say: most read `−0.4` as 0.4, and `2 15/16` as 215 over 16. */
export function spoken(text: string): string {
  return SOUNDS.reduce((said, [written, sound]) => said.replace(written, sound), text.trim());
}
