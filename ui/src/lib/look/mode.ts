/** Bright or dark: as the system says, unless somebody chose. */

export type Mode = 'system' | 'bright' | 'dark';

const KEY = 'airshelf.mode';

export function chosenMode(): Mode {
  try {
    const kept = localStorage.getItem(KEY);
    return kept === 'bright' || kept === 'dark' ? kept : 'system';
  } catch {
    return 'system';
  }
}

/** Shows a mode; it is kept where the browser lets us. */
export function chooseMode(mode: Mode): void {
  show(mode);
  try {
    if (mode === 'system') localStorage.removeItem(KEY);
    else localStorage.setItem(KEY, mode);
  } catch {
    // A browser that keeps nothing still shows it now.
  }
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
