/**
 * Two devices on one hub: the same part changed on both while they are apart, the conflict listed and settled on one, both
 * the same in the end; the hub gone and back while they go on.
 */

import { Hub } from './support/hub.mjs';
import { reach } from './support/keyboard.mjs';

export default async function ({ open, accessible, shot, ok }) {
  const hub = await Hub.start();
  try {
    const phone = await paired(await open('phone'), hub, 'phone');
    const desk = await paired(await open('desk'), hub, 'desk');
    await apart({ phone, desk, hub, accessible, shot, ok });
    await hubGoneAndBack({ phone, desk, hub, shot, ok });
  } finally {
    await hub.end();
  }
}

async function paired({ context, page }, hub, name) {
  await page.goto(hub.url);
  await page.getByRole('button', { name: 'Begin my shelf' }).waitFor();
  await page.evaluate((to) => localStorage.setItem('airshelf.device-name', to), name);
  await page.goto(await hub.invite());
  await page.getByText('Together with the hub.').waitFor();
  await page.getByText('Nothing is on this device only.').waitFor();
  return { context, page };
}

async function go(page, hash) {
  await page.evaluate((to) => (location.hash = to), hash);
}

async function toPart(page, tag) {
  await go(page, '#/shelf');
  await page.getByRole('link', { name: new RegExp(`^${tag}`) }).click();
  await page.getByRole('heading', { name: tag }).waitFor();
}

async function putAt(page, place) {
  await page.getByRole('button', { name: 'Edit', exact: true }).click();
  const form = page.getByRole('dialog');
  await form.getByLabel('Place on the shelf').fill(place);
  await form.getByRole('button', { name: 'Keep' }).click();
  await form.waitFor({ state: 'detached' });
  await page.getByText(place).first().waitFor();
}

/** What the header says of changes that no other device has; on a desk the rail says it. */
const onlyHere = (page) => page.getByText(/\d+ not yet on another device/).locator('visible=true');

async function apart({ phone, desk, hub, accessible, shot, ok }) {
  for (const { page } of [phone, desk]) await toPart(page, 'PF-1');
  for (const { context } of [phone, desk]) await context.setOffline(true);
  await putAt(phone.page, 'nail 3');
  await putAt(desk.page, 'drawer 7');
  for (const { page } of [phone, desk]) await onlyHere(page).waitFor();
  ok(true, 'offline, a quiet mark says what is on this device only');
  await shot(phone.page, 'together-apart-phone');
  await shot(desk.page, 'together-apart-desk');

  for (const { context } of [phone, desk]) await context.setOffline(false);
  for (const { page } of [phone, desk]) await onlyHere(page).waitFor({ state: 'detached' });
  for (const { page } of [phone, desk]) {
    await go(page, '#/device');
    await page.getByRole('link', { name: /1 value was changed on two devices/ }).waitFor();
  }
  ok(true, 'both say that a value was changed on two devices');
  await shot(phone.page, 'together-conflict-told-phone');
  await phone.page.getByRole('link', { name: /changed on two devices/ }).click();
  const values = phone.page.locator('.values');
  await values.getByText('nail 3').waitFor();
  ok((await values.getByText('drawer 7').count()) === 1, 'both values stand side by side');
  ok((await values.getByText('from this device').count()) === 1, 'and who wrote them');
  await shot(phone.page, 'together-conflict-phone');
  await accessible(phone.page, 'a conflict');
  await go(desk.page, '#/device/conflicts');
  await desk.page.locator('.values').getByText('nail 3').waitFor();
  await shot(desk.page, 'together-conflict-desk');

  // By keyboard alone: the values stand in the order in which they show, the latest first.
  await reach(phone.page, 'This one stands', ok);
  const first = await phone.page.locator('.values > li').first().innerText();
  if (!first.includes('drawer 7')) await reach(phone.page, 'This one stands', ok);
  await phone.page.keyboard.press('Enter');
  for (const { page } of [phone, desk]) await page.getByRole('heading', { name: 'Nothing to choose' }).waitFor();
  for (const { page } of [phone, desk]) await toPart(page, 'PF-1');
  for (const { page } of [phone, desk]) await page.getByText('drawer 7').first().waitFor();
  // The drawings differ in scale only.
  const told = ({ page }) => page.locator('main .body > p, main dl.sizes').allInnerTexts();
  const [one, other] = await Promise.all([phone, desk].map(told));
  ok(one.length > 2 && one.join() === other.join(), `both show the same part in the end: ${one} and ${other}`);
  ok((await hub.says('part', 'show', 'PF-1')).place === 'drawer 7', 'and so does the hub');
  ok((await hub.says('conflicts', 'list')).conflicts.length === 0, 'and the hub has no conflict left');
}

async function hubGoneAndBack({ phone, desk, hub, shot, ok }) {
  await go(phone.page, '#/device');
  await hub.stop();
  await phone.page.getByText('The hub is out of reach.').waitFor();
  ok((await phone.page.getByRole('alert').count()) === 0, 'a hub that is gone is no error');
  await shot(phone.page, 'together-hub-gone-phone');
  await toPart(phone.page, 'PF-1');
  await putAt(phone.page, 'bin 12');
  await onlyHere(phone.page).waitFor();
  // Away and back, as a phone does in a pocket; there is still no hub.
  await phone.page.reload();
  await phone.page.getByText('bin 12').first().waitFor();
  await onlyHere(phone.page).waitFor();
  ok(true, 'without a hub everything works on, and opens again');

  await hub.begin();
  await onlyHere(phone.page).waitFor({ state: 'detached' });
  await desk.page.getByText('bin 12').first().waitFor();
  ok(true, 'when the hub is back, what was changed crosses by itself');
  await go(phone.page, '#/device');
  await phone.page.getByText('Together with the hub.').waitFor();
  await shot(phone.page, 'together-hub-back-phone');
}
