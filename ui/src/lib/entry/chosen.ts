/**
 * Files that were chosen in a form and not yet kept for good survive a killed tab too: beside the draft of its words, under
 * the same name, in the browser's own database, which takes whole files.
 */

import { machine } from '../backend/machine';
import { createStore, del, get, set, type UseStore } from 'idb-keyval';

/** A file with whatever was said of it. */
export interface Chosen {
  readonly file: File;
}

let shelf: UseStore | undefined;
const files = () => (shelf ??= createStore('airshelf.drafts', 'files'));
/** One after the other, so that the last choice is the one that stays. */
let line: Promise<unknown> = Promise.resolve();

function next<T>(what: () => Promise<T>): Promise<T> {
  const done = line.then(what, what);
  line = done.catch(() => undefined);
  return done;
}

/** Keeps what is chosen now; says whether there was room for it. The desktop's window keeps nothing: there, files that were
 * chosen are where they lie. */
export function keepChosen(form: string, chosen: readonly Chosen[]): Promise<boolean | null> {
  if (machine) return Promise.resolve(null);
  return next(async () => {
    try {
      await (chosen.length > 0 ? set(form, [...chosen], files()) : del(form, files()));
      return true;
    } catch {
      // Full or refused: they are still on the screen, which says so.
      return false;
    }
  });
}

/** What was chosen in a form before. */
export function chosenIn<C extends Chosen>(form: string): Promise<C[]> {
  if (machine) return Promise.resolve([]);
  return next(async () => {
    try {
      const held = await get<C[]>(form, files());
      return Array.isArray(held) ? held.filter((one) => one?.file instanceof File) : [];
    } catch {
      return [];
    }
  });
}
