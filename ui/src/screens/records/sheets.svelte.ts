/** The sheets that were chosen and not kept yet; they stay while one looks at other screens. */

import { Refused, type Beside } from '../../lib/backend/backend';
import { desk } from '../../lib/backend/desk.svelte';
import type { DryRun } from '../../lib/backend/types/DryRun';
import type { ColumnSaid } from '../../lib/backend/types/ColumnSaid';
import type { Kept } from '../../lib/backend/types/Kept';
import type { SheetRows } from '../../lib/backend/types/SheetRows';
import type { TableSaid } from '../../lib/backend/types/TableSaid';

interface Chosen {
  readonly name: string;
  readonly bytes: Uint8Array;
}

interface Going {
  readonly text: string;
  readonly part: number | null;
  readonly since: number;
}

const SAID: Record<string, string> = {
  reading: 'Reading the sheets',
  auditing: 'Looking for faults',
  showing: 'Setting the rows out',
  keeping: 'Keeping them',
};

class Sheets {
  read = $state.raw<DryRun | null>(null);
  kept = $state.raw<Kept | null>(null);
  going = $state.raw<Going | null>(null);
  failed = $state.raw<unknown>(null);
  /** Whether what goes on is the reading of sheets that are shown already. */
  again = $state(false);
  /** What was going on when it was stopped. */
  stopped = $state.raw<'reading' | 'keeping' | null>(null);
  /** What a person said of headers and columns. */
  #said: readonly TableSaid[] = [];
  #chosen: Chosen[] = [];
  #stop: AbortController | null = null;

  /** Reads files and shows what they hold; nothing is kept. */
  async choose(files: readonly File[]): Promise<void> {
    if (files.length === 0) return;
    await this.#during('Opening the files', 'reading', async () => {
      this.#chosen = await Promise.all(
        files.map(async (file) => ({ name: file.name, bytes: new Uint8Array(await file.arrayBuffer()) })),
      );
      this.#said = [];
      await this.#dryRun();
    });
  }

  /** Takes the demo's old notebook as if its files had been chosen. */
  async notebook(): Promise<void> {
    await this.#during('Opening the notebook', 'reading', async () => {
      const names = await desk.ask({ place: 'records', ask: 'demo-notebook', file: null });
      const chosen: Chosen[] = [];
      for (const [file, name] of names.entries()) {
        const { bytes } = await desk.askForBytes({ place: 'records', ask: 'demo-notebook', file });
        if (bytes) chosen.push({ name, bytes });
      }
      this.#chosen = chosen;
      this.#said = [];
      await this.#dryRun();
    });
  }

  /** Says what a column holds, and reads again. */
  async sayColumn(file: number, sheet: string | null, row: number, column: ColumnSaid): Promise<void> {
    const of = (said: TableSaid) => said.file === file && said.sheet === sheet && said.row === row;
    const before = this.#said.find(of)?.columns.filter((one) => one.column !== column.column) ?? [];
    const said = { file, sheet, row, heads: true, columns: [...before, column] };
    await this.#readAgain([...this.#said.filter((one) => !of(one)), said]);
  }

  /** Says which row is the header instead of another one, and reads again. */
  async sayHeader(file: number, sheet: string | null, instead: number | null, row: number): Promise<void> {
    const of = (said: TableSaid) => said.file === file && said.sheet === sheet && [instead, row].includes(said.row);
    const none = instead === null ? [] : [{ file, sheet, row: instead, heads: false, columns: [] }];
    const head = { file, sheet, row, heads: true, columns: [] };
    await this.#readAgain([...this.#said.filter((one) => !of(one)), ...none, head]);
  }

  /** Keeps what was shown. */
  async keep(): Promise<void> {
    await this.#during('Keeping them', 'keeping', async (beside) => {
      const names = this.#chosen.map((one) => one.name);
      this.kept = await desk.write(
        { place: 'records', ask: 'import', names, said: [...this.#said] },
        { ...beside, attached: this.#bytes() },
      );
      this.read = null;
      this.#chosen = [];
    });
  }

  /** Further rows of a table. */
  async rows(file: number, table: number, from: number, count: number): Promise<SheetRows> {
    const { name, bytes } = this.#chosen[file] ?? { name: '', bytes: new Uint8Array() };
    const said = this.#said.filter((one) => one.file === file);
    return desk.ask(
      { place: 'records', ask: 'sheet-rows', name, said, table, from, count },
      { attached: [bytes.slice()] },
    );
  }

  /** Stops what is going on; nothing of it is kept. */
  stop(): void {
    this.#stop?.abort();
  }

  /** Puts the chosen sheets away. */
  letGo(): void {
    this.#chosen = [];
    this.read = null;
    this.kept = null;
    this.failed = null;
    this.#said = [];
  }

  async #readAgain(said: readonly TableSaid[]): Promise<void> {
    const before = this.#said;
    this.again = true;
    await this.#during('Reading the sheets again', 'reading', async () => {
      this.#said = said;
      try {
        await this.#dryRun();
      } catch (error) {
        this.#said = before;
        throw error;
      }
    });
    this.again = false;
  }

  async #dryRun(): Promise<void> {
    const names = this.#chosen.map((one) => one.name);
    this.read = await desk.ask(
      { place: 'records', ask: 'dry-run', names, said: [...this.#said] },
      { ...this.#beside(), attached: this.#bytes() },
    );
    this.kept = null;
  }

  #bytes(): Uint8Array[] {
    return this.#chosen.map((one) => one.bytes.slice());
  }

  #beside(): Beside {
    const since = this.going?.since ?? performance.now();
    return {
      signal: this.#stop?.signal ?? new AbortController().signal,
      progress: (what: string, done: number, total: number) => {
        this.going = { text: SAID[what] ?? what, part: total > 1 ? done / total : null, since };
      },
    };
  }

  async #during(text: string, what: 'reading' | 'keeping', run: (beside: Beside) => Promise<void>): Promise<void> {
    this.failed = null;
    this.stopped = null;
    this.#stop = new AbortController();
    this.going = { text, part: null, since: performance.now() };
    try {
      await run(this.#beside());
    } catch (error) {
      if (error instanceof Refused && error.fault.code === 'stopped') this.stopped = what;
      else this.failed = error;
    }
    this.going = null;
  }
}

export const sheets = new Sheets();
