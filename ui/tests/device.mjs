/** This device: beginning, the demo, two windows, pairing by a link, offline, taking along and bringing back. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { launch } from '../scripts/browser.js';
import { film } from './support/camera.mjs';

/** Pairing with the camera: what a terminal draws is held before it. */
async function scanned({ origin, ok, shot, open, invitation }) {
  const folder = mkdtempSync(join(tmpdir(), 'airshelf-film-'));
  film(await invitation(), join(folder, 'camera.y4m'));
  const browser = await launch({ film: join(folder, 'camera.y4m') });
  try {
    const { page } = await open('phone', {}, browser);
    await page.goto(`${origin}/#/device/pair`);
    await page.getByRole('button', { name: 'Scan the picture' }).click();
    await page.waitForFunction(() => /^\d{8}$/.test(document.querySelector('input[inputmode=numeric]')?.value ?? ''));
    await shot(page, 'scanned-phone');
    await page.getByRole('button', { name: 'Pair', exact: true }).click();
    await page.getByText('Together with the hub.').waitFor();
    ok(true, 'a device pairs by the picture that a terminal draws, seen through its camera');
  } finally {
    await browser.close();
    rmSync(folder, { recursive: true });
  }
}

export default async function ({ origin, ok, shot, accessible, open, invite, invitation }) {
  for (const size of ['phone', 'desk']) {
    const { context, page } = await open(size);
    await page.goto(origin);
    await page.getByRole('button', { name: 'Begin my shelf' }).waitFor();
    await shot(page, `welcome-${size}`);
    await accessible(page, `welcome ${size}`);
    await page.getByRole('button', { name: 'Look around in the demo' }).click();
    await page.getByRole('navigation').first().waitFor();
    await page.goto(`${origin}/#/device`);
    await page.getByRole('heading', { name: 'This device' }).waitFor();
    await page.getByRole('button', { name: 'Check the shelf' }).click();
    await page.getByText('Everything is sound.').waitFor();
    await shot(page, `device-${size}`);
    await accessible(page, `device ${size}`);

    const second = await context.newPage();
    await second.goto(origin);
    await second.getByRole('button', { name: 'Use it here' }).click();
    await second.getByRole('navigation').first().waitFor();
    await page.getByRole('heading', { name: 'The shelf is open in another window' }).waitFor();
    await shot(page, `another-window-${size}`);
    await page.close();
    // The owner dies without letting go.
    await second.close();
    const third = await context.newPage();
    await third.goto(`${origin}/#/device`);
    await third.getByText('This is the demo').waitFor();
    ok(true, `${size}: a window opens what another left behind`);
    await context.close();
  }

  // Cold and offline: everything is there without a network.
  {
    const { context, page } = await open('phone');
    await page.goto(origin);
    await page.getByRole('button', { name: 'Begin my shelf' }).click();
    await page.getByRole('navigation').first().waitFor();
    await page.evaluate(() => navigator.serviceWorker.ready);
    await page.reload();
    await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
    await context.setOffline(true);
    await page.close();
    const cold = await context.newPage();
    await cold.goto(`${origin}/#/device`);
    await cold.getByText('This is your own shelf.').waitFor();
    ok(true, 'a cold start without a network');
    await context.close();
  }

  await scanned({ origin, ok, shot, open, invitation });

  // Pairing by the link: an empty shelf becomes part of the hub's.
  {
    const { context, page } = await open('phone');
    await page.goto(await invite());
    await page.getByText('Together with the hub.').waitFor();
    ok(!page.url().includes('pair='), 'the code stays in no address');
    await shot(page, 'paired-phone');
    await accessible(page, 'paired');
    await page.getByText('Nothing is on this device only.').waitFor();

    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: 'Save everything to a file' }).click(),
    ]);
    const file = await download.path();
    const other = await open('desk');
    await other.page.goto(`${origin}/#/device/restore`);
    await other.page.setInputFiles('input[type=file]', file);
    await other.page.getByRole('button', { name: 'Bring it back' }).click();
    await other.page.getByRole('heading', { name: 'Shelf', exact: true }).waitFor();
    await other.page.goto(`${origin}/#/device`);
    await other.page.getByRole('button', { name: 'Check the shelf' }).click();
    await other.page.getByText('Everything is sound.').waitFor();
    ok(true, 'what was saved comes back sound');
    await context.close();
  }
}
