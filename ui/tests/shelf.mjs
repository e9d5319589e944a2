/**
 * The shelf's tasks, phone and desktop sized: a part arrives on an empty shelf, is found again by its sizes, is changed and
 * changed back; on the demo, parts with their evenings, assemblies with what fits, a new assembly.
 */

import { JPEG, keepPicture } from './support/picture.mjs';
import { accessible, SIZES } from './support/window.mjs';

export default async function shelf({ open, origin, shot, ok }) {
  for (const size of Object.keys(SIZES)) {
    const { context, page } = await open(size);
    /** A picture, and nobody shut out of what it shows. */
    const shown = async (what) => {
      await shot(page, `shelf-${what}-${size}`);
      await accessible(page, ok, `shelf, ${what}, ${size}`);
    };
    await arrival(page, { origin, ok, shot: shown });
    await demo(page, { ok, shot: shown });
    await context.close();
  }
}

const go = (page, hash) => page.evaluate((to) => (location.hash = to), hash);

async function arrival(page, { origin, ok, shot }) {
  await page.goto(origin);
  await page
    .getByRole('button', { name: /empty shelf|Begin|own shelf/i })
    .first()
    .click();
  await page.getByRole('link', { name: 'Put the first part on the shelf' }).waitFor();
  await shot('empty');
  await page.getByRole('link', { name: 'Put the first part on the shelf' }).click();
  await page.getByLabel('Tag', { exact: true }).fill('QL-014');
  await page.getByRole('radio', { name: 'Filter' }).check({ force: true });
  await page.getByRole('button', { name: /^Outside diameter/ }).click();
  const keypad = page.getByRole('dialog');
  await keypad.getByRole('button', { name: '1', exact: true }).click();
  await keypad.getByRole('button', { name: '4', exact: true }).click();
  await keypad.getByText('14 in = 355.6 mm').waitFor();
  await shot('keypad');
  ok(true, 'a size is shown back in both unit systems');
  await keypad.getByRole('button', { name: 'Next' }).click();
  await page.keyboard.type('12');
  await page.keyboard.press('Enter');
  await page.keyboard.type('2 15/16');
  await keypad.getByText('74.61', { exact: false }).waitFor();
  await page.keyboard.press('Enter');
  await page.keyboard.press('Escape');
  await page.keyboard.press('Escape');
  // A killed tab: everything typed is there again.
  await page.reload();
  await page.getByText('What you had typed was kept.').waitFor();
  ok(
    (await page.getByLabel('Tag', { exact: true }).inputValue()) === 'QL-014',
    'a half filled form survives a killed tab',
  );
  await page.getByRole('button', { name: 'Count the pleats' }).click();
  for (let i = 0; i < 5; i++) await page.getByRole('button', { name: 'Ten more' }).click();
  await page.getByRole('button', { name: 'One more' }).click();
  await page.getByText('51 in a quarter, 204 all around').waitFor();
  await page.getByRole('button', { name: /^Depth, place 1/ }).click();
  for (const depth of ['0.9', '0.95', '1', '2.5', '2.5', '2.5']) {
    await page.getByRole('dialog').getByRole('textbox').fill(depth);
    await page.keyboard.press('Enter');
  }
  await page.getByText(/of media, both flanks/).waitFor();
  await shot('pleats');
  ok(true, 'the media area grows with what is counted and measured');
  await page.getByRole('button', { name: 'Take these' }).click();
  await page
    .locator('input[type=file][multiple]')
    .setInputFiles({ name: 'face.jpg', mimeType: 'image/jpeg', buffer: JPEG });
  await shot('new');
  await page.getByRole('button', { name: 'Put it on the shelf' }).click();
  await page.getByRole('heading', { name: 'QL-014' }).waitFor();
  await page.getByText('Media area', { exact: true }).waitFor();
  await page.locator('img').first().waitFor();
  await shot('part-new');
  ok(true, 'a part has its photo, its sizes and the area of its media');

  await page.getByRole('button', { name: 'Edit', exact: true }).click();
  await page.getByRole('dialog').getByLabel('Place on the shelf').fill('nail 3');
  await page.getByRole('dialog').getByRole('button', { name: 'Keep' }).click();
  await page.getByText('nail 3').first().waitFor();
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.getByText('nail 3').first().waitFor({ state: 'detached' });
  ok(true, 'an edit is taken back by the line that told of it');

  await page.getByRole('button', { name: 'It was changed…' }).click();
  await page.getByRole('dialog').getByLabel('What was changed').fill('a radius of clay');
  await page.getByRole('dialog').getByRole('button', { name: 'Keep' }).click();
  await page.getByText('a radius of clay').waitFor();
  await keepPicture(page.locator('main'), 'clay.jpg');
  await page.getByText('Before', { exact: true }).waitFor();
  ok((await page.locator('.sides img').count()) === 2, 'a revision is shown before and after');
  await shot('before-and-after');

  await go(page, '#/shelf/new');
  await page.getByLabel('Tag', { exact: true }).fill('QL-015');
  await page.getByRole('radio', { name: 'Filter' }).check({ force: true });
  await page.getByRole('button', { name: /^Outside diameter/ }).click();
  await page.keyboard.type('14');
  await page.keyboard.press('Enter');
  await page.keyboard.type('12');
  await page.keyboard.press('Enter');
  await page.keyboard.press('Escape');
  await page.keyboard.press('Escape');
  await page.getByText('Perhaps on the shelf already').waitFor();
  ok(await page.getByRole('link', { name: 'QL-014' }).isVisible(), 'what is alike is shown while sizes are typed');

  await go(page, '#/shelf/search');
  await page.getByRole('searchbox').fill('14 x 2-15/16');
  await page.getByText('Looking for OD 14 in').waitFor();
  await page.getByRole('link', { name: /QL-014/ }).waitFor();
  await shot('search');
  ok(true, 'a part is found by its sizes');
}

async function demo(page, { ok, shot }) {
  await page.evaluate(() => localStorage.setItem('airshelf.demo', 'yes'));
  await go(page, '#/device');
  await page.reload();
  await page.getByRole('button', { name: 'Look around in the demo' }).click();
  await page.getByText('This is the demo').waitFor();
  await go(page, '#/shelf');
  await page.evaluate(() => sessionStorage.clear());
  await page.getByRole('link', { name: /^PF-2/ }).waitFor();
  await shot('parts');
  await page.getByRole('searchbox').fill('11 x 3');
  await page.getByRole('heading', { name: 'Nearest tested' }).waitFor();
  await shot('nearest');
  ok(true, 'the nearest tested parts stand with their results');
  await page.getByRole('link', { name: /^PF-1/ }).last().click();
  await page.getByText('loss of flow against the baseline', { exact: false }).first().waitFor();
  await shot('part');
  ok((await page.locator('.evening').count()) > 1, 'a part shows every evening it was in');
  await go(page, '#/shelf/assemblies');
  await page.locator('ul.assemblies li').first().waitFor();
  await shot('assemblies');
  await page.locator('ul.assemblies a').first().click();
  await page.getByRole('heading', { name: 'Will it fit?' }).waitFor();
  await page.getByLabel('Goes under the hood of').selectOption({ index: 1 });
  await page.getByText(/Hood: /).waitFor();
  await shot('assembly');
  ok(true, 'an assembly is held against a vehicle');
  await go(page, '#/shelf/assembly/new');
  for (const tag of ['BS-2', 'PF-2', 'LD-1', 'ST-1']) {
    await page.getByRole('button', { name: /^Add a part/ }).click();
    await page.getByRole('dialog').getByRole('searchbox').fill(tag);
    await page
      .getByRole('dialog')
      .getByRole('button', { name: new RegExp(`^${tag}`) })
      .click();
  }
  await page.getByText(/It stands 2.42 in over the register/).waitFor();
  await shot('assembly-new');
  ok(true, 'a stack is drawn and measured as it grows');
  await page.getByRole('button', { name: 'Keep this assembly' }).click();
  await page.getByRole('heading', { name: 'Will it fit?' }).waitFor();
  await go(page, '#/shelf/vehicle/new');
  await page.getByLabel('Name').fill(`van ${Date.now()}`);
  await page.getByLabel('From the register to the hood').fill('4-1/2');
  await page.getByText('4-1/2 in = 114.3 mm').waitFor();
  await shot('vehicle');
  await page.getByRole('button', { name: 'Keep', exact: true }).press('Enter');
  ok(true, 'a vehicle is added');
}
