/** Findings: on an empty shelf and on the demo, on a phone and on a desk. */

import { accessible } from './support/window.mjs';

async function begun(open, origin, size, demo) {
  const { context, page } = await open(size);
  await page.goto(`${origin}/#/findings`);
  await page.getByRole('button', { name: demo ? 'Look around in the demo' : 'Begin my shelf' }).click();
  return { context, page };
}

async function nothingYet(open, origin, shot, ok) {
  const { context, page } = await begun(open, origin, 'phone', false);
  await page.getByRole('heading', { name: 'Nothing was tested yet' }).waitFor();
  await accessible(page, ok, 'findings without any evening');
  await shot(page, 'findings-empty-phone');
  await page.getByRole('link', { name: 'Read an old page in' }).click();
  await page.getByRole('button', { name: 'Choose sheets' }).waitFor();
  await context.close();
}

async function anEvening(open, origin, shot, ok, size) {
  const { context, page } = await begun(open, origin, size, true);
  const shown = (name) => shot(page, `findings-${name}-${size}`);
  await page.getByRole('link', { name: 'QL-0517' }).waitFor();
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
  await context.close();
}

async function aSweep(open, origin, shot, ok) {
  const { context, page } = await begun(open, origin, 'phone', true);
  await page.getByRole('link', { name: /^QL-/ }).first().waitFor();
  const links = await page.getByRole('link', { name: /^QL-/ }).evaluateAll((all) => all.map((one) => one.href));
  let found = false;
  for (const link of links) {
    await page.goto(link);
    await page.reload();
    await page.locator('.asked').waitFor();
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

export default async function ({ open, origin, shot, ok }) {
  await nothingYet(open, origin, shot, ok);
  await anEvening(open, origin, shot, ok, 'phone');
  await anEvening(open, origin, shot, ok, 'desk');
  await aSweep(open, origin, shot, ok);
}
