/** The main task of each place by keyboard alone: no pointer is used, and the focus can be seen at every stop. */

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { press, reach } from './support/keyboard.mjs';

const PHOTO = readFileSync(join(import.meta.dirname, '../public/icon-192.png'));
const SHEET = `session;Loop night
range;300 CFM
run;date;purpose;baseline of;filter;lid;set pressure (inH2O);actual pressure (inH2O);flow (CFM);restraint
1;2024-05-18;baseline;bare;;;20;20.0;251.4;
2;2024-05-18;test;;PF-1;LD-1;20;20.0;246.1;fastened
3;2024-05-18;baseline;bare;;;20;20.0;251.6;
`;

export default async function ({ open, origin, shot, ok }) {
  for (const size of ['desk', 'phone']) {
    const { context, page } = await open(size);
    await page.goto(origin);
    await page.getByRole('button', { name: 'Begin my shelf' }).waitFor();
    await press(page, 'Begin my shelf', ok);
    await page.getByRole('link', { name: 'Put the first part on the shelf' }).waitFor();
    await aPart(page, size, shot, ok);
    await aSheet(page, ok);
    await context.close();

    const demo = await open(size);
    await demo.page.goto(`${origin}/#/findings`);
    await demo.page.getByRole('button', { name: /demo/ }).waitFor();
    await press(demo.page, 'Look around in the demo', ok);
    await explain(demo.page, ok);
    await aReading(demo.page, ok);
    await demo.context.close();
  }
}

async function go(page, hash) {
  await page.evaluate((to) => (location.hash = to), hash);
}

async function choose(page, name, files, ok) {
  await reach(page, name, ok);
  const [chooser] = await Promise.all([page.waitForEvent('filechooser'), page.keyboard.press('Space')]);
  await chooser.setFiles(files);
}

async function aPart(page, size, shot, ok) {
  await press(page, 'Put the first part on the shelf', ok);
  await page.getByRole('heading', { name: 'A part arrives' }).waitFor();
  await reach(page, 'Tag', ok);
  await page.keyboard.type('QL-051');
  await reach(page, 'Filter', ok);
  await page.keyboard.press('ArrowRight');
  await page.getByRole('radio', { name: 'Lid' }).and(page.locator(':checked')).waitFor();
  await page.getByRole('button', { name: /^Outside diameter/ }).waitFor();
  await press(page, /^Outside diameter/, ok);
  await page.getByRole('dialog').waitFor();
  await shot(page, `keyboard-size-${size}`);
  await page.keyboard.type('14');
  await page.keyboard.press('Enter');
  await page.keyboard.press('Escape');
  await page.getByRole('dialog').waitFor({ state: 'detached' });
  await choose(page, 'Choose photos', { name: 'lid.png', mimeType: 'image/png', buffer: PHOTO }, ok);
  await page.getByText('lid.png', { exact: true }).waitFor();
  await press(page, 'Put it on the shelf', ok);
  await page.getByRole('heading', { name: 'QL-051' }).waitFor();
  await page.locator('.row-of img').first().waitFor();
  ok(true, 'a part arrives by keyboard');
  await press(page, /Photo/, ok);
  await page.getByRole('dialog').waitFor();
  await page.keyboard.press('Escape');
  await page.getByRole('dialog').waitFor({ state: 'detached' });
}

async function aSheet(page, ok) {
  await press(page, 'Old records', ok);
  await page.getByRole('button', { name: 'Choose sheets' }).waitFor();
  await choose(
    page,
    /Choose sheets|Sheets of old records/,
    { name: 'loop.csv', mimeType: 'text/csv', buffer: Buffer.from(SHEET) },
    ok,
  );
  await page.getByRole('heading', { name: 'loop.csv' }).waitFor();
  await page.getByRole('button', { name: /^Keep \d/ }).waitFor();
  await press(page, /^Keep \d/, ok);
  await page.getByRole('heading', { name: 'What became of them' }).waitFor();
  ok(true, 'an old sheet is read in by keyboard');
}

async function explain(page, ok) {
  await page.getByRole('link', { name: 'QL-0517' }).waitFor();
  await press(page, 'QL-0517', ok);
  await page.locator('ol.rows > li').first().waitFor();
  await reach(page, /^\d+\.\d\s%/, ok);
  await page.keyboard.press('Enter');
  await page.getByRole('button', { name: 'How it was computed' }).waitFor();
  await press(page, 'How it was computed', ok);
  await page.getByRole('dialog').getByText('loss against the baseline').waitFor();
  await page.keyboard.press('Escape');
  await page.getByRole('dialog').waitFor({ state: 'detached' });
  ok(true, 'a number is explained by keyboard');
}

async function aReading(page, ok) {
  await go(page, '#/bench/new');
  await page.getByLabel('Set pressure').waitFor();
  await reach(page, /^Set pressure/, ok);
  await page.keyboard.press('Control+A');
  await page.keyboard.type('20');
  await press(page, 'Begin', ok);
  await page.locator('.chips').waitFor();
  await reach(page, 'On target', ok);
  await page.keyboard.press('Space');
  await reach(page, 'Flow', ok);
  await page.keyboard.type('277.4');
  await page.locator('.entry .echo', { hasText: '277.4 CFM at 20 inH2O' }).waitFor();
  await page.keyboard.press('Enter');
  await page.getByText('277.4 CFM was kept.').waitFor();
  ok(true, 'a reading is typed and kept by keyboard');
  await press(page, /Undo/, ok);
  await page.getByText('The reading is struck out again.').waitFor();
  await press(page, 'More', ok);
  await page.getByRole('dialog').waitFor();
  await press(page, 'Close the evening', ok);
  await page.getByRole('button', { name: 'Close it' }).waitFor();
  await press(page, 'Close it', ok);
  await page.getByRole('link', { name: 'What it found' }).waitFor();
  ok(true, 'an evening is closed by keyboard');
}
