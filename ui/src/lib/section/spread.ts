/** Labels beside a drawing: each as near as may be to what it names, none on another. */

export interface Wanted {
  /** Where its middle would best be. */
  readonly at: number;
  readonly height: number;
}

/** The middles, in the order given. They keep the order of what they name; if there is no room, they run past the end. */
export function spread(wanted: readonly Wanted[], from: number, to: number, gap: number): number[] {
  const order = wanted.map((_, i) => i).sort((a, b) => (wanted[a]?.at ?? 0) - (wanted[b]?.at ?? 0));
  const tops: number[] = [];
  let free = from;
  for (const i of order) {
    const { at, height } = wanted[i] ?? { at: 0, height: 0 };
    const top = Math.max(free, at - height / 2);
    tops[i] = top;
    free = top + height + gap;
  }
  let limit = to;
  for (const i of [...order].reverse()) {
    const height = wanted[i]?.height ?? 0;
    tops[i] = Math.min(tops[i] ?? 0, limit - height);
    limit = (tops[i] ?? 0) - gap;
  }
  const highest = order[0];
  const short = highest === undefined ? 0 : Math.max(0, from - (tops[highest] ?? 0));
  return tops.map((top, i) => top + short + (wanted[i]?.height ?? 0) / 2);
}
