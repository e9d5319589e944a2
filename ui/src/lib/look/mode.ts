/** Bright or dark: as the system says, unless somebody chose. */

import { keep, kept } from '../kept/kept';

export type Mode = 'system' | 'bright' | 'dark';

const KEY = 'airshelf.mode';

export function chosenMode(): Mode {
  const mode = kept(KEY);
  return mode === 'bright' || mode === 'dark' ? mode : 'system';
}

/** Shows a mode; it is kept where the browser lets us. */
export function chooseMode(mode: Mode): void {
  show(mode);
  keep(KEY, mode === 'system' ? null : mode);
}

/** To be called once, before anything is drawn. */
export function startMode(): void {
  show(chosenMode());
}

function show(mode: Mode): void {
  const root = document.documentElement;
  if (mode === 'system') delete root.dataset.mode;
  else root.dataset.mode = mode;
  for (const meta of document.querySelectorAll<HTMLMetaElement>('meta[name="theme-color"]')) {
    meta.dataset.system ??= meta.content;
    meta.content = mode === 'system' ? meta.dataset.system : getComputedStyle(root).getPropertyValue('--paper').trim();
  }
}
