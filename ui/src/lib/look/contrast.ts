/**
 * Colors as the style sheet mixes them, and their contrast: WCAG 2.2, "relative luminance" and "contrast ratio".
 * OKLab: B. Ottosson, "A perceptual color space for image processing" (2020), as CSS Color 4 takes it over.
 */

export type Rgb = readonly [number, number, number];

/** `#rrggbb` as three parts of one. */
export function rgb(hex: string): Rgb {
  const digits = /^#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})$/i.exec(hex);
  if (!digits) throw new Error(`no color: ${hex}`);
  return [1, 2, 3].map((i) => Number.parseInt(digits[i] ?? '', 16) / 255) as unknown as Rgb;
}

const linear = (c: number) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
const encoded = (c: number) => (c <= 0.0031308 ? c * 12.92 : 1.055 * c ** (1 / 2.4) - 0.055);

function toOklab(color: Rgb): Rgb {
  const [r, g, b] = color.map(linear) as unknown as Rgb;
  const l = Math.cbrt(0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b);
  const m = Math.cbrt(0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b);
  const s = Math.cbrt(0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b);
  return [
    0.2104542553 * l + 0.793617785 * m - 0.0040720468 * s,
    1.9779984951 * l - 2.428592205 * m + 0.4505937099 * s,
    0.0259040371 * l + 0.7827717662 * m - 0.808675766 * s,
  ];
}

function fromOklab([L, a, b]: Rgb): Rgb {
  const l = (L + 0.3963377774 * a + 0.2158037573 * b) ** 3;
  const m = (L - 0.1055613458 * a - 0.0638541728 * b) ** 3;
  const s = (L - 0.0894841775 * a - 1.291485548 * b) ** 3;
  const parts = [
    4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s,
    -1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s,
    -0.0041960863 * l - 0.7034186147 * m + 1.707614701 * s,
  ];
  return parts.map((c) => Math.min(1, Math.max(0, encoded(c)))) as unknown as Rgb;
}

/** `color-mix(in oklab, first share%, second)`; the share is a part of one. */
export function mixed(first: Rgb, share: number, second: Rgb): Rgb {
  const [one, two] = [toOklab(first), toOklab(second)];
  return fromOklab(one.map((c, i) => c * share + (two[i] ?? 0) * (1 - share)) as unknown as Rgb);
}

function luminance(color: Rgb): number {
  const [r, g, b] = color.map(linear) as unknown as Rgb;
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

/** Between 1 (none) and 21 (black on white). */
export function contrast(one: Rgb, other: Rgb): number {
  const [high, low] = [luminance(one), luminance(other)].sort((a, b) => b - a) as [number, number];
  return (high + 0.05) / (low + 0.05);
}
