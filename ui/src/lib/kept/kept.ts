/**
 * Small things that outlive the window: half-filled forms, choices of this device. A browser keeps them itself; the
 * desktop's window keeps nothing, so its machine does.
 */

/** Where they lie; a browser's `localStorage` writes before the tab can die. */
export type Drawer = Pick<Storage, 'getItem' | 'setItem' | 'removeItem' | 'key' | 'length'>;

let other: Drawer | null = null;

/** Keeps them there from now on. */
export function keepIn(drawer: Drawer): void {
  other = drawer;
}

/** The drawer of this window; none where the browser forbids it. */
export function drawer(): Drawer | null {
  if (other) return other;
  try {
    return globalThis.localStorage ?? null;
  } catch {
    return null;
  }
}

/** What is kept under a name. */
export function kept(name: string): string | null {
  try {
    return drawer()?.getItem(name) ?? null;
  } catch {
    return null;
  }
}

/** Keeps a word, or with null none; says whether it could. */
export function keep(name: string, word: string | null): boolean {
  try {
    const into = drawer();
    if (word === null) into?.removeItem(name);
    else into?.setItem(name, word);
    return into !== null;
  } catch {
    // Full or refused: the screen goes on without.
    return false;
  }
}

/** A drawer whose content is written elsewhere, all of it with each change; one write at a time, the latest last. */
export class Distant implements Drawer {
  #words: Map<string, string>;
  #writing = false;
  #changed = false;

  constructor(
    words: Record<string, string>,
    readonly write: (words: Record<string, string>) => Promise<void>,
  ) {
    this.#words = new Map(Object.entries(words));
  }

  get length(): number {
    return this.#words.size;
  }

  key(at: number): string | null {
    return [...this.#words.keys()][at] ?? null;
  }

  getItem(name: string): string | null {
    return this.#words.get(name) ?? null;
  }

  setItem(name: string, word: string): void {
    if (this.#words.get(name) === word) return;
    this.#words.set(name, word);
    void this.#keep();
  }

  removeItem(name: string): void {
    if (this.#words.delete(name)) void this.#keep();
  }

  async #keep(): Promise<void> {
    this.#changed = true;
    if (this.#writing) return;
    this.#writing = true;
    while (this.#changed) {
      this.#changed = false;
      // Without room there, it is still on the screen, and the next change tries again.
      await this.write(Object.fromEntries(this.#words)).catch(() => {});
    }
    this.#writing = false;
  }
}
