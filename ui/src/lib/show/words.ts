/** Words side by side, and what is said after a write. */

import { desk } from '../backend/desk.svelte';
import type { Changed } from '../backend/types/Changed';
import { undoLine } from './undo.svelte';

/** What there is of several things in one line. */
export function aside(...words: (string | null | undefined)[]): string {
  return words.filter(Boolean).join(' · ');
}

/** Says what was written, with the way back. */
export function said(text: string, changed: Changed | null): void {
  const change = changed?.change;
  if (change === null || change === undefined) return undoLine.say(text);
  undoLine.say(text, async () => {
    await desk.write({ place: 'entry', ask: 'undo', change });
  });
}
