/**
 * A newer edition of the screens offered while a form is half filled: never forced, and nothing is lost either way. Screens
 * and a hub of different ages: what one does not know of the other is told, and nothing breaks off.
 */

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { serve } from './support/served.mjs';

const PHOTO = readFileSync(join(import.meta.dirname, '../public/icon-192.png'));

export default async function ({ open, accessible, invite, shot, ok }) {
  for (const size of ['phone', 'desk']) {
    const served = await serve();
    try {
      await halfFilled(await open(size), served, {
        accessible,
        ok,
        shot: (page, name) => shot(page, `${name}-${size}`),
      });
    } finally {
      await served.end();
    }
  }
  await ofAnotherAge(await open('phone'), await invite(), { shot, ok });
}

const offer = (page) => page.getByRole('complementary', { name: 'A newer version' });
const edition = (page) => page.locator('meta[name=edition]').getAttribute('content');
const look = (page) => page.evaluate(async () => (await navigator.serviceWorker.ready).update());

async function fill(page, tag) {
  await page.getByLabel('Tag', { exact: true }).fill(tag);
  await page.getByRole('radio', { name: 'Lid' }).check({ force: true });
  await page.getByRole('button', { name: /^Outside diameter/ }).click();
  await page.keyboard.type('14');
  await page.keyboard.press('Enter');
  await page.keyboard.press('Escape');
  await page.getByRole('dialog').waitFor({ state: 'detached' });
  await page
    .locator('input[type=file][multiple]')
    .setInputFiles({ name: `${tag}.png`, mimeType: 'image/png', buffer: PHOTO });
  await page.getByText('safe here until then').waitFor();
}

async function holds(page, tag, ok, when) {
  ok((await page.getByLabel('Tag', { exact: true }).inputValue()) === tag, `${when}: the tag is there`);
  ok(await page.getByRole('button', { name: /^Outside diameter 14/ }).isVisible(), `${when}: the size is there`);
  ok(await page.getByText(`${tag}.png`, { exact: true }).isVisible(), `${when}: the photo is there`);
}

async function keep(page, tag) {
  await page.getByRole('button', { name: 'Put it on the shelf' }).click();
  await page.getByRole('heading', { name: tag }).waitFor();
  await page.locator('.row-of img').first().waitFor();
}

async function halfFilled({ context, page }, served, { accessible, ok, shot }) {
  const form = `${served.origin}/#/shelf/new`;
  await page.goto(form);
  await page.getByRole('button', { name: 'Begin my shelf' }).click();
  // A page that is loaded again before its shelf is made begins anew.
  await page.getByLabel('Tag', { exact: true }).waitFor();
  await page.evaluate(() => navigator.serviceWorker.ready);
  await page.reload();
  await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
  await page.getByLabel('Tag', { exact: true }).waitFor();
  await fill(page, 'QL-031');

  await page.evaluate(() => (window.unmoved = true));
  served.newer();
  await look(page);
  await offer(page).waitFor();
  ok(await page.evaluate(() => window.unmoved === true), 'an update is offered, and the page stays as it is');
  await holds(page, 'QL-031', ok, 'while it is offered');
  await shot(page, 'update-offered');
  await accessible(page, 'an update offered');
  await offer(page).getByRole('button', { name: 'Later' }).click();
  await offer(page).waitFor({ state: 'detached' });
  await keep(page, 'QL-031');
  ok(await page.evaluate(() => window.unmoved === true), 'put off, the form is kept by the screens that were there');

  await page.goto(form);
  await page.reload();
  await page.getByLabel('Tag', { exact: true }).waitFor();
  await fill(page, 'QL-032');
  await offer(page).waitFor();
  await offer(page).getByRole('button', { name: 'Use it now' }).click();
  await page.locator('meta[name=edition]').waitFor({ state: 'attached' });
  ok((await edition(page)) === '2', 'the newer screens are used when somebody says so');
  await page.getByText('What you had typed was kept.').waitFor();
  await page.getByText('safe here until then').waitFor();
  await holds(page, 'QL-032', ok, 'after the update');
  await keep(page, 'QL-032');
  ok((await offer(page).count()) === 0, 'and nothing more is offered');
  await page.goto(`${served.origin}/#/shelf`);
  for (const tag of ['QL-031', 'QL-032']) await page.getByRole('link', { name: new RegExp(`^${tag}`) }).waitFor();
  await context.close();
}

/** A hub of another age, as its answers would look. */
async function ofAnotherAge({ context, page }, invitation, { shot, ok }) {
  const hello = '**/api/sync/hello';
  const again = () => page.getByRole('button', { name: 'Exchange now' }).click();
  const refuses = (status, body) =>
    page.route(hello, (route) =>
      route.fulfill({ status, contentType: 'application/json', body: JSON.stringify(body) }),
    );
  // The worker that keeps the screens passes what goes to the hub on by itself, past any route of a test.
  await page.goto(invitation);
  await page.getByText('Together with the hub.').waitFor();
  await page.getByText('Nothing is on this device only.').waitFor();

  await page.route(hello, async (route) => {
    const response = await route.fetch();
    const welcome = await response.json();
    await route.fulfill({ response, json: { ...welcome, attic: { dust: 3 }, nights: [1, 2] } });
  });
  await again();
  await page.getByText('Together with the hub.').waitFor();
  ok((await page.getByRole('alert').count()) === 0, 'fields that these screens do not know are no fault');
  await page.unroute(hello);

  await refuses(426, {
    fault: { code: 'too-old', message: 'these screens are too old for me', hint: 'Load them again.' },
  });
  await again();
  await page.getByText('the hub says: these screens are too old for me').waitFor();
  await page.getByText('Load them again.').waitFor();
  ok(true, 'what a newer hub refuses is told in its words');
  await shot(page, 'update-newer-hub-phone');
  await page.unroute(hello);

  await refuses(404, { nothing: true });
  await again();
  await page.getByText(/it answers 404/).waitFor();
  ok(true, 'an older hub without that question is told plainly');
  await page.unroute(hello);

  await refuses(200, { shelf: 7 });
  await again();
  await page.getByText(/its answer cannot be read/).waitFor();
  ok(true, 'an answer of another form breaks nothing off');
  await page.unroute(hello);

  await again();
  await page.getByText('Together with the hub.').waitFor();
  ok((await page.getByRole('alert').count()) === 0, 'and all is well once they understand each other');
  await context.close();
}
