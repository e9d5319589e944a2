/** Curves as numbers: what a chart of lines needs besides the drawing of it. */

export interface CurvePoint {
  readonly x: number;
  readonly y: number;
  /** The 95 % interval, where there is one. */
  readonly low?: number | null;
  readonly high?: number | null;
  /** The value with its unit: `251.4 CFM`. */
  readonly text: string;
  /** The same in the other system of units. */
  readonly other?: string | null;
}

export interface CurveSeries {
  readonly id: string;
  readonly label: string;
  readonly points: readonly CurvePoint[];
}

export interface Span {
  readonly from: number;
  readonly to: number;
}

/** What all points and their intervals take up. */
export function spans(series: readonly CurveSeries[], withZero: boolean): { x: Span; y: Span } {
  const points = series.flatMap((one) => one.points);
  const span = (values: readonly number[], zero: boolean): Span => {
    const known = values.filter(Number.isFinite);
    const all = zero ? [...known, 0] : known;
    if (all.length === 0) return { from: 0, to: 1 };
    const [from, to] = [Math.min(...all), Math.max(...all)];
    return from === to ? { from: from - Math.abs(from || 1) * 0.1, to: to + Math.abs(to || 1) * 0.1 } : { from, to };
  };
  return {
    x: span(
      points.map((p) => p.x),
      false,
    ),
    y: span(
      points.flatMap((p) => [p.y, p.low ?? p.y, p.high ?? p.y]),
      withZero,
    ),
  };
}

/** Every x at which some curve has a point, in order. */
export function stops(series: readonly CurveSeries[]): number[] {
  return [...new Set(series.flatMap((one) => one.points.map((p) => p.x)))].sort((a, b) => a - b);
}

/** The stop that is nearest to x. */
export function nearest(all: readonly number[], x: number): number | null {
  return all.reduce<number | null>(
    (best, stop) => (best === null || Math.abs(stop - x) < Math.abs(best - x) ? stop : best),
    null,
  );
}

/** A span made `factor` times as wide around `center`, never wider than the whole and never outside it. */
export function zoomed(span: Span, whole: Span, factor: number, center: number): Span {
  const full = whole.to - whole.from;
  const width = Math.min(full, Math.max(full / 50, (span.to - span.from) * factor));
  const share = (center - span.from) / (span.to - span.from);
  const from = Math.min(whole.to - width, Math.max(whole.from, center - share * width));
  return { from, to: from + width };
}

/** A span moved, as far as the whole reaches. */
export function moved(span: Span, whole: Span, by: number): Span {
  const width = span.to - span.from;
  const from = Math.min(whole.to - width, Math.max(whole.from, span.from + by));
  return { from, to: from + width };
}
