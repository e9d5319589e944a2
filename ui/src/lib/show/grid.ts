/** What was measured of every lid on every filter on every base. */

export interface Cell {
  readonly row: string;
  readonly column: string;
  readonly layer: string;
  /** `2.3 %` */
  readonly text: string;
  /** `±0.6 %`, `3 fittings` */
  readonly note?: string | null;
  /** Measured here, carried over from elsewhere, or not measured but the next most useful run. */
  readonly state: 'measured' | 'predicted' | 'next';
  readonly href?: string | null;
}

export interface Side {
  readonly id: string;
  readonly text: string;
}

/** The cells of one layer, found by row and column. */
export function layer(cells: readonly Cell[], id: string): (row: string, column: string) => Cell | undefined {
  const found = new Map(cells.filter((cell) => cell.layer === id).map((cell) => [`${cell.row}\n${cell.column}`, cell]));
  return (row, column) => found.get(`${row}\n${column}`);
}

/** `7 of 12 measured`: how full a layer is. */
export function filled(cells: readonly Cell[], id: string, rows: number, columns: number): string {
  const measured = cells.filter((cell) => cell.layer === id && cell.state === 'measured').length;
  return `${measured} of ${rows * columns} measured`;
}
