/**
 * What is half filled in survives a killed tab: every change of a form is kept at once, under the form's name, until it is
 * kept for good or thrown away. Only words that people typed belong here; photos have a place of their own.
 */

import { drawer } from '../kept/kept';

const PREFIX = 'airshelf.draft.';

export interface Draft<T> {
  readonly kept: T;
  /** When it was last touched, in milliseconds since 1970. */
  readonly at: number;
}

/** Keeps a form as it stands; says whether it could. */
export function keepDraft<T>(form: string, kept: T, at = Date.now(), into = drawer()): boolean {
  try {
    into?.setItem(PREFIX + form, JSON.stringify({ kept, at } satisfies Draft<T>));
    return into !== null;
  } catch {
    // Full or refused: the form is still on the screen.
    return false;
  }
}

/** What was kept of a form, or null. `fits` says whether it is still what the form takes: the app may be newer. */
export function draftOf<T>(form: string, fits: (kept: unknown) => kept is T, from = drawer()): Draft<T> | null {
  try {
    const draft = JSON.parse(from?.getItem(PREFIX + form) ?? 'null') as Draft<unknown> | null;
    if (draft === null || typeof draft.at !== 'number' || !fits(draft.kept)) return null;
    return { kept: draft.kept, at: draft.at };
  } catch {
    return null;
  }
}

/** Throws a draft away: it was kept for good, or nobody wants it. */
export function dropDraft(form: string, from = drawer()): void {
  try {
    from?.removeItem(PREFIX + form);
  } catch {
    // It is offered once more than needed.
  }
}

/** The names of all forms that have a draft. */
export function drafts(from = drawer()): string[] {
  if (!from) return [];
  const names: string[] = [];
  for (let i = 0; i < from.length; i++) {
    const name = from.key(i);
    if (name?.startsWith(PREFIX)) names.push(name.slice(PREFIX.length));
  }
  return names.sort();
}
