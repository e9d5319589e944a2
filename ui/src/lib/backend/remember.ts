/** Small things that this browser remembers for itself: nothing is lost where it refuses to. */

function place(): Storage | null {
  try {
    return globalThis.localStorage ?? null;
  } catch {
    return null;
  }
}

export function remembered(name: string): string | null {
  try {
    return place()?.getItem(name) ?? null;
  } catch {
    return null;
  }
}

export function remember(name: string, text: string): void {
  try {
    place()?.setItem(name, text);
  } catch {
    // Full or refused: it is asked for again next time.
  }
}
