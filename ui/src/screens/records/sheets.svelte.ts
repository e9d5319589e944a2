/** The sheets that were chosen and not kept yet; they stay while one looks at other screens. */

import type { Beside } from '../../lib/backend/backend';
import { desk } from '../../lib/backend/desk.svelte';
import type { DryRun } from '../../lib/backend/types/DryRun';
import type { Kept } from '../../lib/backend/types/Kept';
import type { SheetRows } from '../../lib/backend/types/SheetRows';

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
  #chosen: Chosen[] = [];
  #stop: AbortController | null = null;

  /** Reads files and shows what they hold; nothing is kept. */
  async choose(files: readonly File[]): Promise<void> {
    if (files.length === 0) return;
    await this.#during('Opening the files', async () => {
      this.#chosen = await Promise.all(
        files.map(async (file) => ({ name: file.name, bytes: new Uint8Array(await file.arrayBuffer()) })),
      );
      await this.#dryRun();
    });
  }

  /** Takes the demo's old notebook as if its files had been chosen. */
  async notebook(): Promise<void> {
    await this.#during('Opening the notebook', async () => {
      const names = await desk.ask({ place: 'records', ask: 'demo-notebook', file: null });
      const chosen: Chosen[] = [];
      for (const [file, name] of names.entries()) {
        const { bytes } = await desk.askForBytes({ place: 'records', ask: 'demo-notebook', file });
        if (bytes) chosen.push({ name, bytes });
      }
      this.#chosen = chosen;
      await this.#dryRun();
    });
  }

  /** Keeps what was shown. */
  async keep(): Promise<void> {
    await this.#during('Keeping them', async (beside) => {
      const names = this.#chosen.map((one) => one.name);
      this.kept = await desk.write({ place: 'records', ask: 'import', names }, { ...beside, attached: this.#bytes() });
      this.read = null;
      this.#chosen = [];
    });
  }

  /** Further rows of a table. */
  async rows(file: number, table: number, from: number, count: number): Promise<SheetRows> {
    const { name, bytes } = this.#chosen[file] ?? { name: '', bytes: new Uint8Array() };
    return desk.ask({ place: 'records', ask: 'sheet-rows', name, table, from, count }, { attached: [bytes.slice()] });
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
  }

  async #dryRun(): Promise<void> {
    const names = this.#chosen.map((one) => one.name);
    this.read = await desk.ask(
      { place: 'records', ask: 'dry-run', names },
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

  async #during(text: string, run: (beside: Beside) => Promise<void>): Promise<void> {
    this.failed = null;
    this.#stop = new AbortController();
    this.going = { text, part: null, since: performance.now() };
    try {
      await run(this.#beside());
    } catch (error) {
      this.failed = error;
    }
    this.going = null;
  }
}

export const sheets = new Sheets();
