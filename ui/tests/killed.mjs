/** The tab killed, or the program in it broken off, while something is half entered: all is there and can be kept. */

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { kill } from './support/window.mjs';

const PHOTO = readFileSync(join(import.meta.dirname, '../public/icon-512.png'));

export default async function ({ open, origin, shot, ok }) {
  for (const size of ['phone', 'desk']) {
    await aPart(await open(size), { origin, ok, shot: (page, name) => shot(page, `killed-${name}-${size}`) });
  }
  await aReading(await open('phone'), { origin, ok, shot });
  await aPanic(await open('phone'), { origin, ok, shot });
}

/** The core panics in the middle of a write: another is started, shows what was kept, and takes what was not. */
async function aPanic({ context, page }, { origin, ok, shot }) {
  const put = async (tag) => {
    await page.goto(`${origin}/#/shelf/new`);
    await page.getByLabel('Tag', { exact: true }).fill(tag);
    await page.getByRole('radio', { name: 'Lid' }).check({ force: true });
    await page.getByRole('button', { name: 'Put it on the shelf' }).click();
  };
  await page.goto(`${origin}/#/shelf/new`);
  await page.getByRole('button', { name: 'Begin my shelf' }).click();
  await page.getByLabel('Tag', { exact: true }).waitFor();
  await put('QL-031');
  await page.getByRole('heading', { name: 'QL-031' }).waitFor();
  const [worker] = page.workers();
  const ended = worker.waitForEvent('close');
  await worker.evaluate(() => {
    crypto.getRandomValues = () => {
      throw new Error('out of dice');
    };
  });
  await put('QL-032');
  await ended;
  await page.getByText('The program was started again.').waitFor();
  ok(true, 'that the program broke off is told');
  await shot(page, 'killed-panic-phone');
  ok((await page.getByLabel('Tag', { exact: true }).inputValue()) === 'QL-032', 'the form is as it was');
  await page.getByRole('button', { name: 'Put it on the shelf' }).click();
  await page.getByRole('heading', { name: 'QL-032' }).waitFor();
  await page.goto(`${origin}/#/shelf`);
  await page.getByRole('link', { name: /^QL-031/ }).waitFor();
  ok((await page.getByRole('link', { name: /^QL-03/ }).count()) === 2, 'what was kept before and after is there, once');
  await context.close();
}

/** Waits until the form is shown again as it was left. */
async function reopened(context, address) {
  const page = await context.newPage();
  await page.goto(address);
  return page;
}

async function aPart({ context, page: first }, { origin, ok, shot }) {
  let page = first;
  const address = `${origin}/#/shelf/new`;
  await page.goto(address);
  await page.getByRole('button', { name: 'Begin my shelf' }).click();
  await page.getByLabel('Tag', { exact: true }).fill('QL-021');
  await page.getByRole('radio', { name: 'Filter' }).check({ force: true });
  await page.getByRole('button', { name: /^Outside diameter/ }).click();
  await page.keyboard.type('14');
  await page.keyboard.press('Enter');
  await page.getByRole('dialog').getByRole('heading', { name: 'Inside diameter' }).waitFor();
  await page.keyboard.press('Escape');
  await page.getByRole('dialog').waitFor({ state: 'detached' });
  await page.getByRole('button', { name: 'Count the pleats' }).click();
  for (let i = 0; i < 4; i++) await page.getByRole('button', { name: 'Ten more' }).click();
  await page.getByText('40 in a quarter, 160 all around').waitFor();

  await kill(page);
  page = await reopened(context, address);
  await page.getByText('What you had typed was kept.').waitFor();
  await page.getByRole('button', { name: 'Count the pleats' }).click();
  await page.getByText('40 in a quarter, 160 all around').waitFor();
  ok(true, 'a count of pleats survives a killed tab');
  await page.getByRole('button', { name: 'Take these' }).click();
  await page.locator('input[type=file][multiple]').setInputFiles([
    { name: 'face.png', mimeType: 'image/png', buffer: PHOTO },
    { name: 'label.png', mimeType: 'image/png', buffer: PHOTO },
  ]);
  await page.getByLabel('What label.png shows').selectOption('label');
  await page.getByText('safe here until then').waitFor();
  await page.getByRole('button', { name: /^Inside diameter/ }).click();
  await page.keyboard.type('12 1/4');
  await page.getByText('12-1/4 in = 311.15 mm').waitFor();

  await kill(page);
  page = await reopened(context, address);
  const keypad = page.getByRole('dialog');
  await keypad.getByText('12-1/4 in = 311.15 mm').waitFor();
  ok(true, 'a size that was on the keypad is on it again');
  await shot(page, 'keypad');
  await page.keyboard.press('Enter');
  await keypad.getByRole('heading', { name: 'Height' }).waitFor();
  await page.keyboard.press('Escape');
  await keypad.waitFor({ state: 'detached' });
  ok((await page.getByLabel('Tag', { exact: true }).inputValue()) === 'QL-021', 'its tag is there');
  ok(await page.getByRole('radio', { name: 'Filter' }).isChecked(), 'its kind is there');
  ok(await page.getByRole('button', { name: /^Outside diameter 14/ }).isVisible(), 'its sizes are there');
  await page.getByText('face.png', { exact: true }).waitFor();
  ok(
    (await page.getByLabel('What label.png shows').inputValue()) === 'label',
    'its photos and what they show are there',
  );
  await shot(page, 'form');

  await page.getByRole('button', { name: 'Put it on the shelf' }).click();
  await page.getByRole('heading', { name: 'QL-021' }).waitFor();
  await page.locator('.row-of img').first().waitFor();
  ok(await page.getByText('160', { exact: true }).first().isVisible(), 'what was restored is kept');
  await page.goto(address);
  await page.getByLabel('Tag', { exact: true }).waitFor();
  ok((await page.getByLabel('Tag', { exact: true }).inputValue()) === '', 'the next form is empty');
  ok((await page.getByText('face.png', { exact: true }).count()) === 0, 'and has no photo of the part before');

  // Photos chosen for a part that is there already.
  await page.goto(`${origin}/#/shelf`);
  await page.getByRole('link', { name: /^QL-021/ }).click();
  await page
    .locator('input[type=file][multiple]')
    .setInputFiles({ name: 'damage.png', mimeType: 'image/png', buffer: PHOTO });
  await page.getByText('safe here until then').waitFor();
  const part = page.url();
  await kill(page);
  page = await reopened(context, part);
  await page.getByText('damage.png', { exact: true }).waitFor();
  ok(true, 'photos chosen on a part’s page survive a killed tab');
  await context.close();
}

async function aReading({ context, page: first }, { origin, ok, shot }) {
  let page = first;
  await page.goto(`${origin}/#/bench/new`);
  await page.getByRole('button', { name: /demo/ }).click();
  await page.getByLabel('Set pressure').fill('20');
  await page.getByRole('button', { name: 'Begin', exact: true }).click();
  await page.locator('.chips').waitFor();
  await page.getByRole('button', { name: 'On target' }).click();
  for (const figure of ['2', '7', '7']) {
    await page.locator('.entry').getByRole('button', { name: figure, exact: true }).click();
  }
  await page.locator('.entry .echo', { hasText: '277.0 CFM at 20 inH2O' }).waitFor();
  const address = page.url();

  await kill(page);
  page = await reopened(context, address);
  await page.locator('.entry .echo', { hasText: '277.0 CFM at 20 inH2O' }).waitFor();
  const pressed = await page.getByRole('button', { name: 'On target' }).getAttribute('aria-pressed');
  ok(pressed === 'true', 'a reading half typed is there again, with its pressure');
  await shot(page, 'killed-reading-phone');
  await page.locator('.entry').getByRole('button', { name: 'Keep' }).click();
  await page.locator('.last', { hasText: '277' }).waitFor();
  ok(true, 'and is kept with one touch');

  await page.getByRole('button', { name: 'More' }).click();
  await page.getByRole('button', { name: 'Something happened' }).click();
  await page.getByLabel('What happened').fill('the hose slipped');
  await kill(page);
  page = await reopened(context, address);
  await page.getByRole('button', { name: 'More' }).click();
  await page.getByRole('button', { name: 'Something happened' }).click();
  ok(
    (await page.getByLabel('What happened').inputValue()) === 'the hose slipped',
    'words about what happened are there again',
  );
  await context.close();
}
