/**
 * Walks through the screens in a real browser, against a real hub, place by place. Every file beside
 * this one is a walk; with names as arguments only those.
 */

import { existsSync, mkdirSync, readdirSync } from 'node:fs';
import { basename, join } from 'node:path';
import { launch } from '../scripts/browser.js';
import { Hub } from './support/hub.mjs';
import { accessible, SIZES, still } from './support/window.mjs';

const shots = process.env.AIRSHELF_SHOTS ?? join(import.meta.dirname, '../shots');
/** A slow machine is no fault: every wait is for something, and only what never comes takes this long. */
const PATIENCE_MS = 60_000;
mkdirSync(shots, { recursive: true });

let failed = 0;
let held = 0;

/** A fact that must hold. */
function ok(condition, fact) {
  if (condition) {
    held += 1;
    return;
  }
  failed += 1;
  console.error(`  not so: ${fact}`);
}

/** What of an error's lines helps: not how often a click was tried. */
function telling(line, at) {
  return at < 8 || /\.mjs:\d/.test(line);
}

/** A picture of a page, in both modes. */
async function shot(page, name, modes = ['light', 'dark']) {
  await still(page);
  for (const mode of modes) {
    await page.emulateMedia({ colorScheme: mode });
    await page.waitForFunction((now) => matchMedia(`(prefers-color-scheme: ${now})`).matches, mode);
    await still(page);
    await page.screenshot({ path: join(shots, `${name}-${mode}.png`) });
  }
  await page.emulateMedia({ colorScheme: 'light' });
}

/** A page of its own, with an empty store, in one of the sizes; what breaks in it is a failure. */
async function open(size, also = {}, into = browser) {
  const context = await into.newContext({ ...SIZES[size], ...also });
  context.setDefaultTimeout(PATIENCE_MS);
  const page = await context.newPage();
  page.on('pageerror', (error) => ok(false, `${page.url()}: ${error.message}`));
  page.on('console', (message) => {
    if (message.type() === 'error' && /Content Security Policy|violates/.test(message.text()))
      ok(false, message.text());
  });
  return { context, page };
}

const wanted = process.argv.slice(2);
const walks = readdirSync(import.meta.dirname).filter((name) => name.endsWith('.mjs') && name !== 'run.mjs');
const browser = await launch();
const hub = await Hub.start();
/** Where the screens come from: the hub, unless they are worked on and another server has them. */
const origin = process.env.AIRSHELF_ORIGIN ?? hub.url;
try {
  for (const file of walks.sort()) {
    const name = basename(file, '.mjs');
    if (wanted.length > 0 && !wanted.includes(name)) continue;
    const before = performance.now();
    console.error(`  ${name}`);
    const walk = (await import(`./${file}`)).default;
    try {
      await walk({
        origin,
        ok,
        shot,
        accessible: (page, name) => accessible(page, ok, name),
        open,
        invite: () => hub.invite(),
        invitation: () => hub.invitation(),
      });
    } catch (error) {
      ok(
        false,
        `${name} broke off: ${String(error.stack ?? error)
          .split('\n')
          .filter(telling)
          .join('\n')}`,
      );
      for (const [at, page] of browser
        .contexts()
        .flatMap((context) => context.pages())
        .entries()) {
        await page.screenshot({ path: join(shots, `${name}-broke-off-${at}.png`) }).catch(() => {});
      }
    }
    for (const context of browser.contexts()) await context.close();
    console.error(`    ${((performance.now() - before) / 1000).toFixed(1)} s`);
  }
} finally {
  await browser.close();
  await hub.end();
}
console.error(`  ${held} facts hold, ${failed} do not; pictures in ${existsSync(shots) ? shots : 'nowhere'}`);
process.exit(failed === 0 && held > 0 ? 0 : 1);
