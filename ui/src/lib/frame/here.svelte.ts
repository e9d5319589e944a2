/** The screen that is shown now; going elsewhere and back; where a page was scrolled to. */

import { tick } from 'svelte';
import { href, read, type Query, type Route, type Screen, type Params } from './route';

const SCROLLS = 'airshelf.scroll';
/** How long a page that is still filling may take until it is as tall as it was. */
const FILLING_MS = 1500;
/** A page that measures itself first moves a little in its first frames. */
const SETTLED_FRAMES = 8;

class Here {
  /** The screen, or null where the address names none. */
  route = $state.raw<Route | null>({ screen: 'shelf', query: {} });
  /** How many screens of ours lie behind this one. */
  behind = $state(0);

  #path = '';

  /** Follows the address from now on; gives what ends it. */
  start(): () => void {
    history.scrollRestoration = 'manual';
    this.#arrive(false);
    const moved = () => this.#arrive(true);
    const scrolled = () => keepScroll(this.behind, window.scrollY);
    window.addEventListener('popstate', moved);
    window.addEventListener('scroll', scrolled, { passive: true });
    return () => {
      window.removeEventListener('popstate', moved);
      window.removeEventListener('scroll', scrolled);
    };
  }

  /** Goes to an address that `href` made. */
  go(address: string): void {
    if (address !== location.hash) location.hash = address;
  }

  /** Goes to an address without leaving this one behind. */
  replace(address: string): void {
    // Another page begins at its top.
    if (address.split('?')[0] !== this.#path) keepScroll(this.behind, 0);
    history.replaceState(history.state, '', address);
    this.#arrive(true);
  }

  /** Goes back, or to `otherwise` where nothing of ours is behind. */
  back(otherwise: string): void {
    if (this.behind > 0) history.back();
    else this.replace(otherwise);
  }

  /** Whether the shown screen is that one. */
  at<S extends Screen>(screen: S): boolean {
    return this.route?.screen === screen;
  }

  #arrive(moved: boolean): void {
    const state = history.state as { behind?: number } | null;
    const known = typeof state?.behind === 'number';
    const behind = known ? (state?.behind ?? 0) : moved ? this.behind + 1 : 0;
    if (!known) {
      history.replaceState({ behind }, '');
      keepScroll(behind, 0);
    }
    const path = location.hash.split('?')[0] ?? '';
    const elsewhere = moved && path !== this.#path;
    this.#path = path;
    this.behind = behind;
    this.route = read(location.hash);
    if (elsewhere) void this.#settle(behind);
    else void restore(behind);
  }

  /** Puts the page where it was, and those who listen at its heading. */
  async #settle(behind: number): Promise<void> {
    await tick();
    document.querySelector<HTMLElement>('h1')?.focus({ preventScroll: true });
    await restore(behind);
  }
}

function scrolls(): Record<string, number> {
  try {
    return JSON.parse(sessionStorage.getItem(SCROLLS) ?? '{}') as Record<string, number>;
  } catch {
    return {};
  }
}

function keepScroll(behind: number, top: number): void {
  try {
    sessionStorage.setItem(SCROLLS, JSON.stringify({ ...scrolls(), [behind]: Math.round(top) }));
  } catch {
    // Without a place to keep it, a page begins at its top.
  }
}

async function restore(behind: number): Promise<void> {
  const top = scrolls()[behind] ?? 0;
  const until = performance.now() + FILLING_MS;
  const hash = location.hash;
  let touched = false;
  let settled = 0;
  const touch = () => (touched = true);
  for (const kind of ['wheel', 'pointerdown', 'keydown']) {
    window.addEventListener(kind, touch, { once: true, passive: true });
  }
  await tick();
  while (!touched && location.hash === hash) {
    window.scrollTo(0, top);
    settled = Math.abs(window.scrollY - top) < 2 ? settled + 1 : 0;
    if (settled > SETTLED_FRAMES || performance.now() > until) break;
    await new Promise(requestAnimationFrame);
  }
  for (const kind of ['wheel', 'pointerdown', 'keydown']) window.removeEventListener(kind, touch);
}

export const here = new Here();

export { href, type Query, type Params };
