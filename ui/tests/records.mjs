/** Old records: a sheet on an empty shelf from file to repair and back, and the demo's notebook. */

import { keepPicture } from './support/picture.mjs';
import { accessible } from './support/window.mjs';

/** One flow with a digit too many, one in words. */
const SHEET = `session;Loop night
range;300 CFM
run;date;purpose;baseline of;filter;lid;set pressure (inH2O);actual pressure (inH2O);flow (CFM);restraint
1;2024-05-18;baseline;bare;;;20;20.0;251.4;
2;2024-05-18;test;;PF-1;LD-1;20;20.0;2463;fastened
3;2024-05-18;test;;PF-1;LD-1;20;20.0;246.1;fastened
4;2024-05-18;test;;PF-2;LD-1;20;20.0;about the same;fastened
5;2024-05-18;baseline;bare;;;20;20.0;251.6;
`;

/** Columns whose headers say little: the flow stands under a word that nobody knows. */
const ODD = `Loop night at 20 inches of water
order,filter,lid,Wert,flow
1,F-1,L-1,131.9,9
2,F-2,L-1,125.1,9
`;

/** So many rows that reading them takes a while. */
function long() {
  const rows = Array.from(
    { length: 150_000 },
    (_, at) => `${at + 1};2024-05-18;test;PF-${at % 90};LD-1;20;${200 + (at % 50)}.1`,
  );
  return ['run;date;purpose;filter;lid;set pressure (inH2O);flow (CFM)', ...rows].join('\n');
}

async function begun(open, origin, size, demo) {
  const { context, page } = await open(size);
  await page.goto(`${origin}/#/records`);
  await page.getByRole('button', { name: demo ? 'Look around in the demo' : 'Begin my shelf' }).click();
  await page.getByRole('button', { name: 'Choose sheets' }).waitFor();
  return { context, page };
}

function choose(page, files) {
  return page
    .getByLabel('Sheets of old records')
    .setInputFiles(files.map(([name, text]) => ({ name, mimeType: 'text/csv', buffer: Buffer.from(text) })));
}

async function aSheet(open, origin, shot, ok, size) {
  const { context, page } = await begun(open, origin, size, false);
  const shown = (name) => shot(page, `records-${name}-${size}`);
  await accessible(page, ok, 'old records of an empty shelf');
  await shown('empty');

  await choose(page, [
    ['loop.csv', SHEET],
    ['letter.csv', 'dear friend\n'],
  ]);
  await page.getByRole('heading', { name: 'loop.csv' }).waitFor();
  const row = page.locator('tr', { hasText: '2463' });
  ok((await row.locator('small', { hasText: 'CFM' }).count()) > 0, 'a cell stands beside its reading');
  ok((await page.locator('tr.why').count()) > 0, 'a fault stands below its row');
  ok((await page.getByText('no table was found').count()) > 0, 'what is no table says so, and the other is read');
  await accessible(page, ok, 'a dry run');
  await shown('dry-run');
  await page.getByRole('button', { name: 'Put them away' }).click();
  ok((await page.getByText('Read in so far').count()) === 0, 'what was put away is not on the shelf');

  await choose(page, [['loop.csv', SHEET]]);
  await page.getByRole('button', { name: /^Keep \d/ }).click();
  await page.getByRole('heading', { name: 'What became of them' }).waitFor();
  await shown('kept');

  await page.getByRole('link', { name: 'See what is wrong with the records' }).click();
  const fault = page.locator('.faults > li', { hasText: '2463' }).first();
  await fault.waitFor();
  await accessible(page, ok, 'the audit');
  await shown('audit');
  await fault.getByRole('button', { name: /^Change the flow/ }).click();
  await page.getByRole('dialog').getByLabel('The flow').fill('fast');
  await page.keyboard.press('Enter');
  await page.getByRole('dialog').getByRole('alert').waitFor();
  await accessible(page, ok, 'typing another value');
  await shown('change');
  await page.keyboard.press('Escape');
  await fault.getByRole('button', { name: /^Make it 24\d/ }).click();
  await page.getByText('Repaired').waitFor();
  await page.waitForFunction(() => !document.querySelector('.faults')?.textContent.includes('“2463”'));
  ok(true, 'an accepted repair takes the fault away');

  const before = await page.locator('.faults > li').count();
  await page.getByRole('button', { name: 'Let it stand' }).first().click();
  await page.getByLabel('Why it is no fault').fill('Looked at, it is so.');
  await accessible(page, ok, 'letting a fault stand');
  await page.getByRole('dialog').getByRole('button', { name: 'It stands as it is' }).click();
  await page.waitForFunction((n) => document.querySelectorAll('.faults > li').length < n, before);
  ok(true, 'a fault that is let stand is gone');
  await page.getByRole('button', { name: /Undo|Take it back/ }).click();
  await page.waitForFunction((n) => document.querySelectorAll('.faults > li').length === n, before);
  ok(true, 'and comes back when that is undone');

  await page.goto(`${origin}/#/records`);
  await page.getByRole('link', { name: /Rows that could not be taken/ }).click();
  await page.locator('.raw', { hasText: 'about the same' }).waitFor();
  await accessible(page, ok, 'what could not be taken');
  await shown('aside');
  await putRight(page, ok, shown);
  await page
    .getByRole('button', { name: /^Put away/ })
    .first()
    .click();
  await page.getByRole('heading', { name: 'Nothing stands aside' }).waitFor();

  await page.goto(`${origin}/#/records`);
  await page.getByRole('button', { name: 'Photos of the page of loop.csv' }).click();
  await keepPicture(page.getByRole('dialog'), 'page.jpg');
  ok(await page.getByRole('dialog').getByText('Page', { exact: true }).first().isVisible(), 'a page has its photo');
  await page.keyboard.press('Escape');
  await page.getByRole('button', { name: 'Take back loop.csv' }).click();
  await page.getByText('Taken back: its rows are hidden').waitFor();
  await shown('taken-back');
  await context.close();
}

/** A row that could not be taken: refused, taken, and taken back. */
async function putRight(page, ok, shown) {
  await page.getByRole('button', { name: /^Put right: loop.csv, row 7/ }).click();
  const dialog = page.getByRole('dialog');
  const flow = dialog.getByLabel('I · flow (CFM)');
  ok((await flow.inputValue()) === 'about the same', 'the cells of a row stand beside their headers');
  await flow.fill('lots');
  await dialog.getByRole('button', { name: 'Take it again' }).click();
  await dialog.getByText(/still cannot be taken/).waitFor();
  ok((await flow.inputValue()) === 'lots', 'what still cannot be read says why, and what was typed stays');
  await accessible(page, ok, 'a row being put right');
  await shown('put-right');
  await flow.fill('246.9');
  await page.keyboard.press('Enter');
  await page.getByText(/^Row 7 of loop\.csv was taken: run 4 of/).waitFor();
  await page.getByRole('heading', { name: 'Nothing stands aside' }).waitFor();
  ok(true, 'a row that was put right is taken, and says what came of it');
  await accessible(page, ok, 'what came of a row that was put right');
  await shown('taken');
  await page.getByRole('button', { name: /Undo|Take it back/ }).click();
  await page.locator('.raw', { hasText: 'about the same' }).waitFor();
  ok(true, 'and stands aside again when that is undone');
}

/** What a person says of columns and headers, and the reading of a long sheet stopped. */
async function saying(open, origin, shot, ok, size) {
  const { context, page } = await begun(open, origin, size, false);
  const shown = (name) => shot(page, `records-${name}-${size}`);
  await choose(page, [['odd.csv', ODD]]);
  await page.getByText('Columns as they were understood').click();
  const wert = page.getByLabel('What stands in column D Wert');
  await wert.selectOption('flow');
  await page.locator('.columns li', { hasText: 'Wert' }).getByText('as you said').waitFor();
  await page.getByLabel('The unit of column D Wert').selectOption('L/s');
  await page.locator('td', { hasText: '131.9' }).locator('small', { hasText: 'CFM' }).waitFor();
  ok((await wert.inputValue()) === 'flow', 'a column holds what a person says, and its cells are read so');
  await page.getByLabel('What stands in column E flow').selectOption('');
  await page.locator('.columns li', { hasText: /^E/ }).getByText('as you said').waitFor();
  await accessible(page, ok, 'columns as a person said');
  await shown('columns');
  await page.getByRole('button', { name: /^Keep \d/ }).click();
  await page.getByText('2 rows were kept').waitFor();
  ok(true, 'and the import keeps them so');

  await choose(page, [['plain.csv', 'alpha,beta,gamma\n1,F-1,131.9\n2,F-2,125.1\n']]);
  await page.getByRole('heading', { name: 'Which row is the header?' }).waitFor();
  await accessible(page, ok, 'a sheet without a header that is known');
  await shown('no-header');
  await page.getByRole('button', { name: 'Put them away' }).click();

  if (size === 'phone') {
    await choose(page, [['long.csv', long()]]);
    await page.getByRole('button', { name: 'Cancel' }).click();
    await page.getByText('Nothing of these sheets is on the shelf.').waitFor();
    await accessible(page, ok, 'a sheet that was stopped');
    await shown('stopped');
    await page.getByText('odd.csv').waitFor();
    await choose(page, [['loop.csv', SHEET]]);
    await page.getByRole('heading', { name: 'loop.csv' }).waitFor();
    ok(true, 'reading one long sheet is stopped within it, and the screen goes on');
  }
  await context.close();
}

async function theNotebook(open, origin, shot, ok, size) {
  const { context, page } = await begun(open, origin, size, true);
  const shown = (name) => shot(page, `records-${name}-${size}`);
  await page.getByRole('button', { name: /old notebook/ }).click();
  await page.locator('section h2').nth(5).waitFor();
  await accessible(page, ok, 'the notebook before it is kept');
  await shown('notebook');
  await page.getByRole('button', { name: /^Keep \d/ }).click();
  await page.getByRole('heading', { name: 'What became of them' }).waitFor();
  await page.getByRole('link', { name: 'See what is wrong with the records' }).click();
  await page.locator('.faults > li').first().waitFor();
  await accessible(page, ok, 'the notebook’s faults');
  await shown('notebook-audit');
  await page.getByRole('radio', { name: /^With a mark/ }).check();
  await page.waitForFunction(() => !document.querySelector('.faults .block'));
  ok(/severity=warn/.test(page.url()), 'the chosen severity stands in the address');
  await page.goto(`${origin}/#/findings`);
  await page.getByText('old page').first().waitFor();
  ok((await page.getByText('old page').count()) > 3, 'the notebook’s pages are among the findings');
  await context.close();
}

export default async function ({ open, origin, shot, ok }) {
  await aSheet(open, origin, shot, ok, 'phone');
  await aSheet(open, origin, shot, ok, 'desk');
  await saying(open, origin, shot, ok, 'phone');
  await saying(open, origin, shot, ok, 'desk');
  await theNotebook(open, origin, shot, ok, 'phone');
  await theNotebook(open, origin, shot, ok, 'desk');
}
