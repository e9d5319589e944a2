/** Chromium, as the scripts here and the tests of the project start it. */

import { existsSync } from 'node:fs';
import { chromium } from 'playwright-core';

/** Starts it; `text` is the size of plain text that its user chose, in pixels. */
export function launch({ text = 16 } = {}) {
  const executablePath = process.env.CHROMIUM ?? '/usr/bin/chromium';
  if (!existsSync(executablePath)) throw new Error(`no browser at ${executablePath}; name one in CHROMIUM`);
  return chromium.launch({
    executablePath,
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-background-networking',
      `--blink-settings=defaultFontSize=${text}`,
    ],
  });
}
