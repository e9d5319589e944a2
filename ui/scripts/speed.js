/**
 * How quick the screens are at a quarter of the processor, on the demo with 20,000 parts more and an evening of 500 runs:
 * `speed.js ORIGIN SHELF.zip`. Each figure stands beside a peer that this browser took for something plain in the same
 * run; on a busy machine only how the two compare means something. Ends with 1 where a goal is missed.
 */

import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createServer, connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { launchOn } from './browser.js';
import { watched } from './speed.page.js';

const [hub, shelf] = process.argv.slice(2);
const SLOWDOWN = 4;
const WAIT = 300_000;
const MB = 1_000_000;

/** All that goes from the hub to the browser, on its way counted. */
function counting() {
  const open = new Set();
  let bytes = 0;
  const server = createServer((browser) => {
    const far = connect(Number(new URL(hub).port), '127.0.0.1');
    for (const end of [browser, far]) {
      open.add(end);
      end.on('error', () => end.destroy()).on('close', () => open.delete(end));
    }
    far.on('data', (part) => (bytes += part.length));
    browser.pipe(far).pipe(browser);
  });
  return {
    listen: () => new Promise((done) => server.listen(0, '127.0.0.1', () => done(server.address().port))),
    bytes: () => bytes,
    cut: () => {
      for (const end of open) end.destroy();
      return new Promise((done) => server.close(done));
    },
  };
}

const results = [];

/** A figure beside its peer, and whether it keeps to its goal. */
function tell(what, value, unit, goal, peer) {
  const shown = (number) => (unit === 'MB' ? number.toFixed(3) : number.toFixed(0).padStart(5));
  const missed = value > goal;
  results.push(missed);
  const beside = peer ? `; ${peer.what} ${shown(peer.value)} ${unit}` : '';
  console.log(`  ${what.padEnd(44)} ${shown(value)} ${unit}, goal ${goal}${missed ? ' MISSED' : ''}${beside}`);
}

async function start(profile) {
  const context = await launchOn(profile, { viewport: { width: 360, height: 740 } });
  await context.addInitScript(watched);
  const page = context.pages()[0] ?? (await context.newPage());
  const slow = await context.newCDPSession(page);
  const throttle = (rate) => slow.send('Emulation.setCPUThrottlingRate', { rate });
  return { context, page, throttle };
}

/** What the worker took is counted again for each part of the slowdown that the browser spares it. */
let spared = 0;
const whole = ({ ms, worker }) => ms + spared * worker;

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

async function main() {
  const profile = mkdtempSync(join(tmpdir(), 'airshelf-speed-'));
  const line = counting();
  const origin = `http://localhost:${await line.listen()}`;
  try {
    await prepare(profile, origin, line);
    await line.cut();
    await measure(profile, origin);
  } finally {
    rmSync(profile, { recursive: true, force: true, maxRetries: 20, retryDelay: 200 });
  }
}

async function prepare(profile, origin, line) {
  const { context, page } = await start(profile);
  try {
    await fill(page, origin, line);
  } finally {
    await context.close();
  }
}

async function fill(page, origin, line) {
  await page.goto(origin);
  await page.getByRole('button').first().waitFor({ timeout: WAIT });
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => null));
  await page.waitForTimeout(1000);
  tell('first load, everything for offline, packed', line.bytes() / MB, 'MB', 1.5);
  await page.goto(`${origin}/#/device/restore`);
  await page.locator('input[type=file]').setInputFiles({
    name: 'shelf.zip',
    mimeType: 'application/zip',
    buffer: readFileSync(shelf),
  });
  await page.getByRole('button', { name: 'Bring it back' }).click();
  await page.locator('ul.parts li').first().waitFor({ timeout: WAIT });
}

async function measure(profile, origin) {
  const { context, page, throttle } = await start(profile);
  try {
    await figures(page, origin, throttle);
  } finally {
    await context.close();
  }
}

async function figures(page, origin, throttle) {
  await page.goto(origin);
  await throttle(SLOWDOWN);
  const slowed = await page.evaluate((rate) => window.speed.workerSlowedBy(rate), SLOWDOWN);
  spared = Math.max(0, SLOWDOWN / Math.max(1, slowed) - 1);
  console.log(`  (the browser slows a worker ${slowed.toFixed(1)} x; its time counts ${(1 + spared).toFixed(1)} x)`);

  const colds = [];
  const plain = [];
  for (let n = 0; n < 5; n += 1) {
    await page.goto('about:blank');
    const before = performance.now();
    await page.goto(`${origin}/icon.svg`);
    plain.push(performance.now() - before);
    await page.goto('about:blank');
    await page.goto(`${origin}/#/shelf`, { waitUntil: 'commit' });
    colds.push(await page.evaluate((wait) => window.speed.whenShown('ul.parts a', 20, wait), WAIT));
  }
  tell('cold start without a network', median(colds.map(whole)), 'ms', 2000, {
    what: 'an icon of the same origin',
    value: median(plain),
  });

  await page.goto(`${origin}/#/shelf/search`);
  const field = page.getByRole('searchbox');
  await field.waitFor({ timeout: WAIT });
  const keys = [];
  const peers = [];
  for (const text of ['ZZ-0123', 'paper filter', 'marl', '14 x 3', 'PF-2']) {
    await field.fill('');
    await page.waitForTimeout(500);
    for (const letter of text) {
      const answered = page.evaluate(() => window.speed.keystroke());
      await field.press(letter === ' ' ? 'Space' : letter);
      const key = await answered;
      keys.push({ text, ...key });
      peers.push(await page.evaluate((json) => window.speed.echo(json), key.json));
      await page.waitForTimeout(50);
    }
  }
  const worst = keys.reduce((a, b) => (whole(a) > whole(b) ? a : b));
  const echo = { what: 'a worker that only echoes', value: median(peers) };
  tell('a keystroke of a search, median', median(keys.map(whole)), 'ms', 50, echo);
  tell(`a keystroke of a search, worst (“${worst.text}”)`, whole(worst), 'ms', 50, echo);

  await page.goto(`${origin}/#/bench`);
  const evening = page.getByRole('link', { name: /LONG-1/ });
  await evening.waitFor({ timeout: WAIT });
  const opened = page.evaluate((wait) => window.speed.whenShownAfterClick('ol.runs > li', 10, wait), WAIT);
  await evening.click();
  const long = await opened;
  const static_ = await page.evaluate(() => window.speed.plainList('ol.runs'));
  tell('opening an evening of 500 runs', whole(long), 'ms', 200, { what: 'its list as plain HTML', value: static_ });

  await walk(page);
  const tasks = await page.evaluate(() => window.speed.longTasks());
  const longest = Math.max(0, ...tasks.map((task) => task.ms));
  const longer = tasks.filter((task) => task.ms > 50).sort((a, b) => b.ms - a.ms);
  for (const task of longer.slice(0, 12)) {
    console.log(`    ${task.ms.toFixed(0)} ms at once on ${task.at}`);
  }
  tell('longest that the screen stood still', longest, 'ms', 50);
}

/** Every place once, and back; one that is not reached is told, and missed. */
async function walk(page) {
  const see = async (what, ...selectors) => {
    try {
      for (const selector of selectors) await page.locator(selector).first().waitFor({ timeout: 60_000 });
    } catch (error) {
      results.push(true);
      console.log(`    ${what} was not reached: ${error.message.split('\n')[0]}`);
    }
    await page.waitForTimeout(800);
  };
  const go = async (hash, ...selectors) => {
    await page.evaluate((to) => (location.hash = to), hash);
    await see(hash, ...selectors);
  };
  const follow = async (selector, what, ...selectors) => {
    await page
      .locator(selector)
      .first()
      .click({ timeout: 60_000 })
      .catch(() => null);
    await see(what, ...selectors);
  };
  await page.evaluate(() => sessionStorage.clear());
  await go('#/shelf', 'ul.parts a');
  await follow('ul.parts a', 'a part', 'h2');
  await go('#/shelf/assemblies', 'ul.assemblies a');
  await follow('ul.assemblies a', 'an assembly', 'h2');
  await go('#/shelf/new', 'input');
  await go('#/bench', 'a[href*="#/bench/evening/"]');
  await go('#/findings', 'a[href*="#/findings/evening/"]');
  await follow('a[href*="#/findings/evening/"]', 'what an evening showed', 'main figure, main table');
  await go('#/records', 'h2');
  await go('#/records/audit', '.faults li');
  await go('#/device', 'h2');
  await go('#/shelf', 'ul.parts a');
}

await main();
process.exit(results.some(Boolean) ? 1 : 0);
