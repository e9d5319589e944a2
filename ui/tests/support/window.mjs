/** Windows of a browser: their sizes, whether everybody can use what they show, and how one of them dies. */

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

export const SIZES = {
  phone: { viewport: { width: 360, height: 740 }, isMobile: true, hasTouch: true, deviceScaleFactor: 2 },
  desk: { viewport: { width: 1400, height: 900 } },
};

/** Nothing moves any more. */
export async function still(page) {
  await page.evaluate(async () => {
    const endless = (moving) => moving.effect?.getComputedTiming().iterations === Infinity;
    const moving = document.getAnimations().filter((one) => !endless(one));
    await Promise.allSettled(moving.map((one) => one.finished));
  });
}

/** Nobody is shut out of what is shown (axe, WCAG 2.2 AA and its best practices), and nothing stands out to the side. */
export async function accessible(page, ok, name) {
  await page.evaluate(AXE);
  // What still moves has another contrast than what has come.
  await still(page);
  const found = await page.evaluate(async () => {
    const { violations } = await window.axe.run(document, { resultTypes: ['violations'] });
    return violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.html.slice(0, 120)).join(' | ')}`);
  });
  ok(found.length === 0, `${name}: no accessibility violations (${found.join('; ')})`);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  ok(wide <= 0, `${name}: nothing stands out to the side (${wide} px)`);
}

/** The window's process dies, as a tab does that the system kills: nothing in it is told beforehand. */
export async function kill(page) {
  const session = await page.context().newCDPSession(page);
  const died = page.waitForEvent('crash');
  session.send('Page.crash').catch(() => {});
  await died;
  await page.close().catch(() => {});
}
