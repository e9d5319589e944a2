/** The bench: from an empty shelf to a closed evening, on a phone and on a desk; and an evening of the demo. */

import { keepPicture } from './support/picture.mjs';
import { accessible, SIZES } from './support/window.mjs';

async function type(page, text) {
  for (const figure of text) {
    const name = figure === '.' ? 'Decimal point' : figure;
    await page.locator('.entry').getByRole('button', { name, exact: true }).click();
  }
}

/** Types a reading on the keypad, waits until it is shown back, and keeps it. */
async function read(page, flow) {
  await type(page, flow);
  const keep = page.locator('.entry').getByRole('button', { name: 'Keep' });
  await page.waitForFunction((button) => !button.disabled, await keep.elementHandle());
  // What stood there a figure ago may still be shown.
  await page.waitForFunction((typed) => document.querySelector('.entry .echo').innerText.startsWith(typed), flow);
  const echo = await page.locator('.entry .echo').innerText();
  await keep.click();
  await page.waitForFunction(() => document.querySelector('.entry input').value === '');
  return echo;
}

async function evening(open, origin, shot, ok, size) {
  const { context, page } = await open(size);
  await page.goto(`${origin}/#/bench`);
  await page.getByRole('button', { name: 'Begin my shelf' }).click();

  await page.getByRole('heading', { name: 'No evening yet' }).waitFor();
  await shot(page, `bench-empty-${size}`);
  await accessible(page, ok, 'an empty bench');
  await page.getByRole('link', { name: 'Put a bench in the shed' }).click();
  await page.getByLabel('Name').fill('Old Blue');
  await page.getByLabel('Its meter measures').selectOption('orifice in the same air');
  await page.getByRole('button', { name: 'Put it in the shed' }).click();
  await page.getByRole('button', { name: 'Add a range' }).click();
  await page.getByLabel('Full scale').fill('300 CFM');
  await page.getByRole('button', { name: 'Keep the range' }).click();
  await page.getByRole('button', { name: /300 CFM/ }).waitFor();
  await shot(page, `bench-equipment-${size}`);
  await accessible(page, ok, 'a bench');

  await page.goto(`${origin}/#/bench/new`);
  await page.getByText('A running inlet pulls in fingers').waitFor();
  await page.getByLabel('Set pressure').fill('20');
  await page.getByLabel('Air temperature, if known').fill('71');
  await page.reload();
  await page.getByLabel('Set pressure').waitFor();
  ok((await page.getByLabel('Set pressure').inputValue()) === '20', 'a half-filled evening survives a killed tab');
  await shot(page, `bench-new-${size}`);
  await accessible(page, ok, 'a new evening');
  await page.getByRole('button', { name: 'Begin', exact: true }).click();
  await page.locator('.chips').waitFor();
  await shot(page, `bench-begun-${size}`);
  await accessible(page, ok, 'an evening');

  const echo = await read(page, '277.4');
  ok(echo.startsWith('277.4 CFM at 20 inH2O'), `a reading is shown back: ${echo}`);
  await page.locator('.next', { hasText: 'Baseline due in 4 runs.' }).waitFor();

  await type(page, '2813');
  await page.locator('.next', { hasText: 'above the 300 CFM range' }).waitFor();
  ok(true, 'a fault is told as it is typed');
  await shot(page, `bench-fault-${size}`);
  await page.locator('.entry').getByRole('button', { name: 'Clear' }).click();

  await page.locator('button.on').click();
  await page.getByRole('heading', { name: 'What is on the bench' }).waitFor();
  await shot(page, `bench-put-on-${size}`);
  await accessible(page, ok, 'choosing what is on the bench');
  await page.keyboard.press('Escape');

  await page.getByRole('button', { name: 'On target' }).click();
  ok((await read(page, '277.0')).includes('the fitting before it'), 'the distance from its repeat is told');
  await page.locator('.at').getByRole('button', { name: 'Undo' }).click();
  await page.getByText('The reading is struck out again.').waitFor();

  await page.getByRole('button', { name: 'More' }).click();
  await shot(page, `bench-more-${size}`);
  await accessible(page, ok, 'what else there is');
  await page.getByRole('button', { name: 'Something happened' }).click();
  await page.getByRole('button', { name: 'Bumped' }).click();
  await shot(page, `bench-happened-${size}`);
  await page.getByRole('button', { name: 'Put it down' }).click();
  await page.getByText('the last reading is struck out').waitFor();

  if (size === 'phone') {
    const over = await page.evaluate(() => {
      const main = document.querySelector('main .body');
      return [document.documentElement.scrollHeight - innerHeight, main.scrollHeight - main.clientHeight];
    });
    ok(
      over.every((pixels) => pixels <= 0),
      `the evening never scrolls at 360x740 (${over})`,
    );
    const low = await page.evaluate(() =>
      [...document.querySelectorAll('.bench button')]
        .filter((one) => one.getClientRects().length && one.getBoundingClientRect().height < 56)
        .map((one) => one.innerText),
    );
    ok(low.length === 0, `every target is at least 56 px high (${low})`);
  }

  await page.getByRole('button', { name: 'More' }).click();
  await page.getByRole('button', { name: 'Close the evening' }).click();
  await page.getByRole('button', { name: 'Close it' }).waitFor();
  await shot(page, `bench-close-${size}`);
  await accessible(page, ok, 'closing');
  await page.getByRole('button', { name: 'Close it' }).click();
  await page.getByRole('link', { name: 'What it found' }).waitFor();
  await keepPicture(page.locator('section').filter({ hasText: 'Photos of the evening' }), 'evening.jpg');
  ok(true, 'an evening has photos');
  await page
    .getByRole('button', { name: /^Photos of run/ })
    .first()
    .click();
  await keepPicture(page.getByRole('dialog'), 'run.jpg');
  ok(await page.getByRole('dialog').getByText('As tested').first().isVisible(), 'a run has photos, as tested');
  await page.keyboard.press('Escape');
  await shot(page, `bench-closed-${size}`);
  await accessible(page, ok, 'a closed evening');
  ok((await page.locator('.reading.struck').count()) >= 1, 'what was struck out is still there');
  await context.close();
}

/** An evening on the demo's bench: an assembly put on by its parts, taught, and closed. */
async function demo(open, origin, shot, ok, size) {
  const { context, page } = await open(size);
  await page.goto(`${origin}/#/bench`);
  await page.getByRole('button', { name: /demo/ }).click();
  await page.getByRole('heading', { name: 'Closed' }).waitFor();
  await shot(page, `bench-demo-${size}`);
  await page
    .getByRole('link', { name: /QL-0517/ })
    .first()
    .click();
  await page.getByRole('link', { name: 'What it found' }).waitFor();
  await shot(page, `bench-demo-evening-${size}`);
  await accessible(page, ok, 'an evening of the demo');

  await page.goto(`${origin}/#/bench/new`);
  await page.getByLabel('Set pressure').fill('20');
  await page.getByRole('button', { name: 'Begin', exact: true }).click();
  await page.locator('.chips').waitFor();
  await read(page, '277.2');
  await page.locator('button.on').click();
  await page.getByRole('heading', { name: 'On it before' }).waitFor();
  await page.getByLabel('Find a part').fill('BS-2');
  await page.locator('.parts').getByRole('button', { name: /BS-2/ }).click();
  await page.getByLabel('Find a part').fill('PF-1');
  await page.locator('.parts').getByRole('button', { name: /PF-1/ }).click();
  await page.getByLabel('Find a part').fill('LD-2');
  await page.locator('.parts').getByRole('button', { name: /LD-2/ }).click();
  await shot(page, `bench-demo-put-on-${size}`);
  await page.getByRole('button', { name: 'Put it on' }).click();
  await page.locator('button.on', { hasText: 'BS-2 + PF-1 + LD-2' }).waitFor();

  await page.getByRole('button', { name: 'More' }).click();
  await page.getByRole('button', { name: 'Teach the bench' }).click();
  await page.locator('.foot').getByRole('button', { name: 'Begin' }).click();
  for (const flow of ['251.3', '250.9', '251.4', '251.1', '250.8', '251.2']) await read(page, flow);
  await page.getByText(/One fitting on this bench repeats to/).waitFor();
  await shot(page, `bench-demo-taught-${size}`);
  await accessible(page, ok, 'a bench that was taught');
  await page.locator('.foot').getByRole('button', { name: 'Done' }).click();
  await shot(page, `bench-demo-going-on-${size}`);
  await accessible(page, ok, 'an evening that goes on');
  ok(await page.locator('.next', { hasText: 'Baseline due now.' }).isVisible(), 'a baseline is due after six fittings');

  await page.getByRole('button', { name: 'More' }).click();
  await page.getByRole('button', { name: 'Close the evening' }).click();
  await page.getByText('There is no baseline after the last assembly').waitFor();
  ok(true, 'a missing end baseline is told before closing');
  await context.close();
}

export default async function bench({ open, origin, shot, ok }) {
  for (const size of Object.keys(SIZES)) {
    await evening(open, origin, shot, ok, size);
    await demo(open, origin, shot, ok, size);
  }
}
