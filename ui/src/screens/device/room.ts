/** How much room the browser gives, and whether it promised to keep what is there. */

export interface Room {
  readonly text: string;
  /** The browser promised not to clear it away. */
  readonly kept: boolean;
  /** A tab in which everything goes after seven days without a visit. */
  readonly sevenDays: boolean;
}

function size(bytes: number): string {
  const steps = [
    ['GB', 1e9],
    ['MB', 1e6],
    ['kB', 1e3],
  ] as const;
  const [unit, step] = steps.find(([, at]) => bytes >= at) ?? steps[2];
  return `${(bytes / step).toLocaleString('en-US', { maximumSignificantDigits: 3 })} ${unit}`;
}

/** Safari's rule holds in its tabs, not for apps on the home screen. */
function clearedAfterSevenDays(): boolean {
  const agent = navigator.userAgent;
  const webkit = /AppleWebKit/.test(agent) && !/Chrome|Chromium|Edg|Android/.test(agent);
  return webkit && !matchMedia('(display-mode: standalone)').matches;
}

export async function roomLeft(): Promise<Room | null> {
  const storage = (navigator as { storage?: StorageManager }).storage;
  if (!storage) return null;
  const { usage = 0, quota = 0 } = await storage.estimate();
  return {
    text: `${size(usage)} used of ${size(quota)} that the browser gives.`,
    kept: await storage.persisted(),
    sevenDays: clearedAfterSevenDays(),
  };
}

/** Asks the browser to keep what is there. */
export async function keep(): Promise<Room | null> {
  await navigator.storage.persist();
  return roomLeft();
}
