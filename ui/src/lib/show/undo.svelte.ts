/** The one line that says what was just done, and takes it back. Drawn by `UndoLine.svelte`, once. */

/** Long enough to read and reach it with a glove (WCAG 2.2, 2.2.1: it also stays while touched or focused). */
const SHOWN_MS = 10_000;

export interface Done {
  readonly text: string;
  /** Takes it back; absent where nothing can be. */
  readonly undo?: (() => void | Promise<void>) | undefined;
}

class UndoLine {
  done = $state.raw<Done | null>(null);
  #timer: ReturnType<typeof setTimeout> | undefined;

  /** Says what was done; the line before it goes. */
  say(text: string, undo?: Done['undo']): void {
    this.done = { text, undo };
    this.letGo();
  }

  /** Stays as long as somebody is at it. */
  hold(): void {
    clearTimeout(this.#timer);
  }

  letGo(): void {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.dismiss(), SHOWN_MS);
  }

  dismiss(): void {
    clearTimeout(this.#timer);
    this.done = null;
  }

  async undo(): Promise<void> {
    const done = this.done;
    this.dismiss();
    await done?.undo?.();
  }
}

export const undoLine = new UndoLine();
