/** The shared axis of a set of intervals: where a value stands between its ends, and which round values it names. */

import { scaleLinear } from 'd3-scale';

export interface Axis {
  readonly from: number;
  readonly to: number;
}

/** Where a value stands, from 0 to 1; beyond the ends it stays at the end. */
export function at(axis: Axis, value: number): number {
  const part = (value - axis.from) / (axis.to - axis.from);
  return Number.isFinite(part) ? Math.min(1, Math.max(0, part)) : 0;
}

/** Whether a value lies outside, so that its end is drawn open. */
export function beyond(axis: Axis, value: number): boolean {
  return value < axis.from || value > axis.to;
}

/** An axis that holds all values with a little air at both ends; it never collapses. */
export function around(values: readonly number[]): Axis {
  const known = values.filter(Number.isFinite);
  if (known.length === 0) return { from: 0, to: 1 };
  const [low, high] = [Math.min(...known), Math.max(...known)];
  const air = (high - low) * 0.06 || Math.abs(high) * 0.05 || 1;
  return { from: low - air, to: high + air };
}

/** Round values on the axis, about as many as asked for. */
export function rounds(axis: Axis, about: number): number[] {
  return scaleLinear([axis.from, axis.to], [0, 1]).ticks(about);
}

/** Round values as written: all with the same decimals, a true minus. */
export function written(values: readonly number[]): string[] {
  const step = values.length > 1 ? Math.abs((values[1] ?? 0) - (values[0] ?? 0)) : 1;
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  return values.map((value) => {
    const text = Math.abs(value).toLocaleString('en-US', {
      minimumFractionDigits: decimals,
      maximumFractionDigits: decimals,
    });
    return value < 0 && Number(text.replace(/,/g, '')) !== 0 ? `−${text}` : text;
  });
}
