/** Which neighbors share a place, so that a bracket can hold them together. */

export interface Shared {
  /** Whether this row names the place: the first of those who share it. */
  readonly first: boolean;
  readonly last: boolean;
  /** How many share it, itself included. */
  readonly of: number;
}

/** For each row, in the order shown; a blank place is nobody's. */
export function shared(places: readonly (string | null)[]): Shared[] {
  return places.map((place, i) => {
    if (place === null) return { first: true, last: true, of: 1 };
    let from = i;
    while (from > 0 && places[from - 1] === place) from--;
    let to = i;
    while (to < places.length - 1 && places[to + 1] === place) to++;
    return { first: from === i, last: to === i, of: to - from + 1 };
  });
}
