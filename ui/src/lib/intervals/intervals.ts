/** What the interval bars are told. Text comes from Rust; numbers only say where ink stands on the axis. */

export interface IntervalRow {
  readonly id: string;
  readonly label: string;
  /** On the axis: the middle and the ends of the 95 % interval; null where only a value is known. */
  readonly value: number;
  readonly low: number | null;
  readonly high: number | null;
  /** Shared by all that cannot be told apart; null where no place can be given. */
  readonly place: string | null;
  /** `2.3 %` */
  readonly unitText: string;
  /** `1.9 to 2.7 %` */
  readonly intervalText?: string | null;
  /** The value in other units. */
  readonly altText?: string | null;
  /** What stands beside the percentage: `5.8 CFM`. */
  readonly flowText?: string | null;
  /** A quiet line: `3 fittings, taped`. */
  readonly note?: string | null;
}

/** The line that runs through all of them. */
export interface Baseline {
  readonly value: number;
  /** `bare carburetor` */
  readonly label: string;
  /** `251.4 CFM` */
  readonly text?: string | null;
}

/** A chosen pair: its difference, and the least that the bench could tell apart. */
export interface Pair {
  readonly from: string;
  readonly to: string;
  /** On the axis: how far apart, and from how far on it would be told apart. */
  readonly difference: number;
  readonly limit: number;
  /** `0.9 %`, `1.4 %` */
  readonly differenceText: string;
  readonly limitText: string;
  /** The sentence. */
  readonly verdict: string;
}
