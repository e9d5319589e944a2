/** Chromium, as the scripts here and the tests of the project start it. */

import { existsSync } from 'node:fs';
import { chromium } from 'playwright-core';

/** `text` is the size of plain text that its user chose, in pixels; `film` is what its camera sees, a file. */
function options(text, film) {
  const executablePath = process.env.CHROMIUM ?? '/usr/bin/chromium';
  if (!existsSync(executablePath)) throw new Error(`no browser at ${executablePath}; name one in CHROMIUM`);
  return {
    executablePath,
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-background-networking',
      `--blink-settings=defaultFontSize=${text}`,
      ...(film
        ? [
            '--use-fake-ui-for-media-stream',
            '--use-fake-device-for-media-stream',
            `--use-file-for-fake-video-capture=${film}`,
          ]
        : []),
    ],
  };
}

/** Starts it. */
export function launch({ text = 16, film } = {}) {
  return chromium.launch(options(text, film));
}

/** Starts it with what earlier runs left in a folder. */
export function launchOn(profile, context) {
  return chromium.launchPersistentContext(profile, { ...options(16), ...context });
}
