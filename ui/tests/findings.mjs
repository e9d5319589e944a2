/** Findings: on an empty shelf and on the demo, on a phone and on a desk, bright and dark. */

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const SIZES = { phone: { width: 360, height: 740 }, desk: { width: 1400, height: 900 } };

async function accessible(page, ok, what) {
  await page.evaluate(AXE);
  const found = await page.evaluate(async () => {
    // What still moves has another contrast than what has come.
    await Promise.allSettled(document.getAnimations().map((moving) => moving.finished));
    const { violations } = await window.axe.run(document, { resultTypes: ['violations'] });
    return violations.map((one) => `${one.id}: ${one.nodes[0]?.html.slice(0, 120)}`);
  });
  ok(found.length === 0, `${what}: no accessibility violations (${found.join('; ')})`);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  ok(wide <= 0, `${what}: nothing stands out to the side (${wide} px)`);
}

async function begun(browser, origin, size, mode, demo) {
  const context = await browser.newContext({ viewport: SIZES[size], colorScheme: mode });
  const page = await context.newPage();
  const errors = [];
  page.on('pageerror', (error) => errors.push(error.message));
  await page.goto(`${origin}/#/findings`);
  await page.getByRole('button', { name: demo ? 'Look around in the demo' : 'Begin my shelf' }).click();
  return { context, page, errors };
}

async function nothingYet(browser, origin, shot, ok) {
  const { context, page, errors } = await begun(browser, origin, 'phone', 'light', false);
  await page.getByRole('heading', { name: 'Nothing was tested yet' }).waitFor();
  await accessible(page, ok, 'findings without any evening');
  await shot(page, 'findings-empty-phone');
  await page.getByRole('link', { name: 'Read an old page in' }).click();
  await page.getByRole('button', { name: 'Choose sheets' }).waitFor();
  ok(errors.length === 0, `no error on an empty shelf (${errors.join('; ')})`);
  await context.close();
}

async function anEvening(browser, origin, shot, ok, size, mode) {
  const { context, page, errors } = await begun(browser, origin, size, mode, true);
  const shown = (name) => shot(page, `findings-${name}-${size}-${mode}`);
  await page.getByRole('link', { name: 'QL-0517' }).waitFor({ timeout: 60_000 });
  await page.locator('.gist p').first().waitFor();
  ok((await page.locator('.evenings > li').count()) === 8, 'the demo has eight evenings');
  await accessible(page, ok, 'the list of evenings');
  await shown('list');

  await page.getByRole('link', { name: 'QL-0517' }).click();
  await page.locator('ol.rows > li').first().waitFor();
  ok((await page.locator('ol.rows > li').count()) === 8, 'eight assemblies have their intervals');
  await accessible(page, ok, 'an evening');
  await shown('evening');

  const rows = page.locator('ol.rows > li');
  await rows.nth(0).getByRole('button').first().click();
  await rows.nth(7).getByRole('button').first().click();
  const verdict = page.locator('.intervals .pair');
  await verdict.waitFor();
  ok(/flows .* than .*: the bench c/s.test(await verdict.innerText()), 'a chosen pair has its verdict');
  await verdict.scrollIntoViewIfNeeded();
  await shown('pair');

  await rows.nth(0).locator('.value button').click();
  await page.getByRole('button', { name: 'How it was computed' }).click();
  const chain = page.getByRole('dialog');
  await chain.getByText('loss against the baseline').waitFor();
  ok((await chain.locator('details').count()) > 1, 'each fitting has its chain');
  await accessible(page, ok, 'how a number was computed');
  await shown('chain');
  await page.keyboard.press('Escape');

  await page.getByRole('radio', { name: 'Table' }).check();
  await page.getByRole('table').waitFor();
  await accessible(page, ok, 'the table');
  await shown('table');
  await page.getByRole('radio', { name: 'Lid × filter × base' }).check();
  await page.locator('.grid').waitFor();
  await accessible(page, ok, 'lid × filter × base');
  await shown('grid');

  const without = page.getByLabel('A difference that does not matter');
  await without.fill('a lot');
  await without.press('Enter');
  await page.getByText('`a lot` is no percentage').waitFor();
  await without.fill('1.5');
  await without.press('Enter');
  await page.getByText('Pairs in words').click();
  await page.getByText('that was stated not to matter').first().waitFor();
  ok(/without=1.5/.test(page.url()), 'what was asked stands in the address');

  await page.getByLabel('The engine to which it should matter').selectOption({ index: 1 });
  await page.locator('.pairs').getByText('rpm').first().waitFor();
  await page.getByRole('link', { name: /What it costs/ }).click();
  await page.getByRole('heading', { name: 'What it costs the engine' }).waitFor();
  await page.locator('.draw').first().waitFor();
  ok(/[Pp]uls/.test(await page.locator('main').innerText()), 'pulsation is said not to be modeled');
  await accessible(page, ok, 'the engine over its speeds');
  await shown('engine');
  ok(errors.length === 0, `no error on the way (${errors.join('; ')})`);
  await context.close();
}

async function aSweep(browser, origin, shot, ok) {
  const { context, page } = await begun(browser, origin, 'phone', 'light', true);
  await page.getByRole('link', { name: /^QL-/ }).first().waitFor({ timeout: 60_000 });
  const links = await page.getByRole('link', { name: /^QL-/ }).evaluateAll((all) => all.map((one) => one.href));
  let found = false;
  for (const link of links) {
    await page.goto(link);
    await page.reload();
    await page.locator('.asked').waitFor({ timeout: 60_000 });
    if ((await page.getByRole('heading', { name: 'Sweeps' }).count()) === 0) continue;
    found = true;
    await page.getByRole('heading', { name: 'Sweeps' }).scrollIntoViewIfNeeded();
    ok((await page.getByText('grow with the flow').count()) > 0, 'a sweep is told in words');
    await accessible(page, ok, 'a sweep');
    await shot(page, 'findings-sweep-phone');
    break;
  }
  ok(found, 'one of the demo’s evenings swept an assembly');
  await context.close();
}

export default async function ({ browser, origin, shot, ok }) {
  await nothingYet(browser, origin, shot, ok);
  await anEvening(browser, origin, shot, ok, 'phone', 'light');
  await anEvening(browser, origin, shot, ok, 'desk', 'dark');
  await aSweep(browser, origin, shot, ok);
}
