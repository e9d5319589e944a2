/**
 * Walks through the screens in a real browser, against a real hub (AIRSHELF_ORIGIN), place by place. Every file beside
 * this one is a walk; with names as arguments only those.
 */

import { existsSync, mkdirSync, readdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { basename, join } from 'node:path';
import { launch } from '../scripts/browser.js';

const origin = process.env.AIRSHELF_ORIGIN ?? 'http://localhost:4173';
const shots = process.env.AIRSHELF_SHOTS ?? join(import.meta.dirname, '../shots');
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
mkdirSync(shots, { recursive: true });

export const SIZES = {
  phone: { viewport: { width: 360, height: 740 }, isMobile: true, hasTouch: true, deviceScaleFactor: 2 },
  desk: { viewport: { width: 1400, height: 900 } },
};

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

/** A picture of a page in both modes. */
async function shot(page, name) {
  for (const mode of ['light', 'dark']) {
    await page.emulateMedia({ colorScheme: mode });
    await page.waitForTimeout(50);
    await page.screenshot({ path: join(shots, `${name}-${mode}.png`) });
  }
  await page.emulateMedia({ colorScheme: 'light' });
}

/** Nobody is shut out of a page (WCAG 2.2 AA), and nothing stands out to its side. */
async function accessible(page, name) {
  await page.evaluate(axe);
  // What still moves has another contrast than what has come.
  await page.evaluate(() => Promise.allSettled(document.getAnimations().map((moving) => moving.finished)).then(() => null));
  const found = await page.evaluate(() =>
    window.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] }),
  );
  for (const violation of found.violations) {
    ok(false, `${name}: ${violation.id}: ${violation.nodes.map((node) => node.target.join(' ')).join(', ')}`);
  }
  ok(found.violations.length === 0, `${name} has no violations`);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  ok(wide <= 0, `${name}: nothing stands out to the side (${wide} px)`);
}

/** A page of its own, with an empty store, in one of the sizes; what breaks in it is a failure. */
async function open(browser, size) {
  const context = await browser.newContext(SIZES[size]);
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
try {
  for (const file of walks.sort()) {
    const name = basename(file, '.mjs');
    if (wanted.length > 0 && !wanted.includes(name)) continue;
    const before = performance.now();
    console.error(`  ${name}`);
    const walk = (await import(`./${file}`)).default;
    try {
      await walk({
        browser,
        origin,
        ok,
        shot,
        accessible,
        open: (size) => open(browser, size),
        invitation: process.env.AIRSHELF_INVITATION,
      });
    } catch (error) {
      ok(false, `${name} broke off: ${error.stack ?? error}`);
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
}
console.error(`  ${held} facts hold, ${failed} do not; pictures in ${existsSync(shots) ? shots : 'nowhere'}`);
process.exit(failed === 0 && held > 0 ? 0 : 1);
