/**
 * Every screen with text of twice the size, for eyes that need it, and without motion, for those whom it makes ill: nothing
 * is cut off, nothing stands out to the side, nothing moves.
 */

import { launch } from '../scripts/browser.js';

const SCREENS = [
  ['parts', '#/shelf', (page) => page.getByRole('link', { name: /^PF-1/ })],
  ['search', '#/shelf/search', (page) => page.getByRole('searchbox')],
  ['new-part', '#/shelf/new', (page) => page.getByLabel('Tag', { exact: true }), formOpened],
  ['part', (page) => linked(page, '#/shelf', /^PF-1/), (page) => page.locator('dl.sizes')],
  ['assemblies', '#/shelf/assemblies', (page) => page.locator('ul.assemblies li').first()],
  ['assembly', (page) => linked(page, '#/shelf/assemblies', /\+/), (page) => page.getByText('Will it fit?')],
  ['new-assembly', '#/shelf/assembly/new', (page) => page.getByRole('button', { name: /^Add a part/ })],
  ['vehicle', '#/shelf/vehicle/new', (page) => page.getByLabel('Name')],
  ['evenings', '#/bench', (page) => page.getByRole('heading', { name: 'Closed' })],
  ['bench', (page) => linked(page, '#/bench', /bench/i), (page) => page.getByLabel('Name')],
  ['evening-closed', (page) => linked(page, '#/bench', /QL-0517/), (page) => page.getByText('What it found')],
  ['evening-new', '#/bench/new', (page) => page.getByLabel('Set pressure'), evening],
  ['findings', '#/findings', (page) => page.locator('.gist p').first()],
  ['finding', (page) => linked(page, '#/findings', 'QL-0517'), (page) => page.locator('ol.rows > li').first(), tabs],
  ['records', '#/records', (page) => page.getByRole('button', { name: 'Choose sheets' }), notebook],
  ['audit', '#/records/audit', (page) => page.locator('.faults > li').first()],
  [
    'quarantine',
    '#/records/quarantine',
    (page) => page.getByRole('heading', { name: 'Nothing stands aside' }).or(page.locator('.raw').first()),
  ],
  ['device', '#/device', (page) => page.getByText('This is the demo')],
  ['pair', '#/device/pair', (page) => page.getByLabel('Digits')],
  ['conflicts', '#/device/conflicts', (page) => page.getByRole('heading', { name: 'Nothing to choose' })],
  ['restore', '#/device/restore', (page) => page.locator('input[type=file]').first()],
];

export default async function ({ open, origin, shot, ok }) {
  const browser = await launch({ text: 32 });
  try {
    await walk(browser, { open, origin, shot, ok });
  } finally {
    await browser.close();
  }
}

async function walk(browser, { open, origin, shot, ok }) {
  for (const size of ['phone', 'desk']) {
    const { context, page } = await open(size, { reducedMotion: 'reduce' }, browser);
    await page.addInitScript(() => {
      window.moved = [];
      for (const kind of ['animationstart', 'transitionrun']) {
        document.addEventListener(kind, ({ target }) => {
          for (const moving of target.getAnimations()) {
            const { duration, iterations } = moving.effect.getComputedTiming();
            if (duration * iterations > 1) window.moved.push(`${kind}: ${target.outerHTML.slice(0, 80)}`);
          }
        });
      }
    });
    await page.goto(`${origin}/#/shelf`);
    await page.getByRole('button', { name: 'Look around in the demo' }).waitFor();
    const seen = async (name) => {
      await shot(page, `large-${name}-${size}`, ['light']);
      const flaws = await cut(page);
      ok(flaws.length === 0, `text of twice the size, ${name}, ${size}: ${flaws.slice(0, 8).join('; ')}`);
      ok((await page.evaluate(() => window.moved.splice(0))).length === 0, `nothing moves on ${name}`);
    };
    await seen('welcome');
    await page.getByRole('button', { name: 'Look around in the demo' }).click();
    for (const [name, where, there, more] of SCREENS) {
      if (typeof where === 'string') await page.evaluate((hash) => (location.hash = hash), where);
      else await where(page);
      await there(page).waitFor({ state: 'attached' });
      await seen(name);
      await more?.(page, seen);
    }
    await context.close();
  }
}

async function linked(page, hash, name) {
  await page.evaluate((to) => (location.hash = to), hash);
  await page.locator('main').getByRole('link', { name }).first().click();
}

async function formOpened(page, seen) {
  await page.getByRole('radio', { name: 'Filter' }).check({ force: true });
  await page.getByRole('button', { name: /^Outside diameter/ }).waitFor();
  await seen('new-part-filter');
  await page.getByRole('button', { name: /^Outside diameter/ }).click();
  await page.keyboard.type('14');
  await page.getByText('14 in = 355.6 mm').waitFor();
  await seen('size');
  await page.getByRole('button', { name: 'Close' }).click();
  await page.getByRole('button', { name: 'Count the pleats' }).click();
  await page.getByRole('button', { name: 'Ten more' }).waitFor();
  await seen('pleats');
  await page.getByRole('button', { name: 'Close' }).click();
}

async function evening(page, seen) {
  await page.getByLabel('Set pressure').fill('20');
  await page.getByRole('button', { name: 'Begin', exact: true }).click();
  await page.locator('.chips').waitFor();
  await page.getByLabel('Flow', { exact: true }).fill('277.4');
  await page.locator('.entry .echo', { hasText: '277.4' }).waitFor();
  await seen('at-bench');
  await page.getByRole('button', { name: 'More' }).click();
  await page.getByRole('button', { name: 'Close the evening' }).waitFor();
  await seen('at-bench-more');
  await page.getByRole('button', { name: 'Close', exact: true }).click();
}

async function tabs(page, seen) {
  await page.getByRole('radio', { name: 'Table' }).check({ force: true });
  await page.getByRole('table').waitFor();
  await seen('finding-table');
  await page.getByRole('radio', { name: 'Lid × filter × base' }).check({ force: true });
  await page.locator('.grid').waitFor();
  await seen('finding-grid');
  await page.getByLabel('The engine to which it should matter').selectOption({ index: 1 });
  await page.getByRole('link', { name: /What it costs/ }).click();
  await page.locator('.draw').first().waitFor();
  await seen('engine');
}

async function notebook(page, seen) {
  await page.getByRole('button', { name: /old notebook/ }).click();
  await page.locator('section h2').nth(5).waitFor();
  await seen('dry-run');
  await page.getByRole('button', { name: /^Keep \d/ }).click();
  await page.getByRole('heading', { name: 'What became of them' }).waitFor();
  await seen('kept');
}

/** Words that cannot be read where they stand, and whether the page has to be pushed to the side. */
function cut(page) {
  return page.evaluate(() => {
    const flaws = new Set();
    const known = new Map();
    const look = (one) => {
      if (!known.has(one)) {
        const { overflowX, overflowY, clipPath, position, opacity } = getComputedStyle(one);
        known.set(one, { overflowX, overflowY, clipPath, position, opacity, edge: one.getBoundingClientRect() });
      }
      return known.get(one);
    };
    const root = document.documentElement;
    if (root.scrollWidth > root.clientWidth)
      flaws.add(`the page is ${root.scrollWidth - root.clientWidth} px too wide`);
    const words = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const range = document.createRange();
    while (words.nextNode()) {
      const text = words.currentNode;
      if (!text.data.trim() || !text.parentElement?.checkVisibility()) continue;
      range.selectNodeContents(text);
      const box = range.getBoundingClientRect();
      if (box.width === 0) continue;
      const told = `“${text.data.trim().slice(0, 30)}”`;
      // What scrolls along an axis shows everything along it, sooner or later.
      let [across, down] = [true, true];
      for (let around = text.parentElement; around && around !== document.body; around = around.parentElement) {
        const { overflowX, overflowY, clipPath, position, opacity, edge } = look(around);
        if (clipPath !== 'none' || opacity === '0' || around.localName === 'svg') break;
        const right = box.right > edge.right + 1 || box.left < edge.left - 1;
        // Letters reach a little beyond a tight line, and are seen all the same.
        const little = Math.max(2, 0.2 * Math.min(box.height, 60));
        const below = box.bottom > edge.bottom + little || box.top < edge.top - little;
        if (around.localName === 'button' && right) flaws.add(`${told} stands out of its button`);
        const scrolls = (how) => how === 'auto' || how === 'scroll';
        const hides = (how) => how === 'hidden' || how === 'clip';
        if (scrolls(overflowX)) across = false;
        if (scrolls(overflowY)) down = false;
        if (across && hides(overflowX) && right) flaws.add(`${told} is cut off`);
        if (down && hides(overflowY) && below) {
          flaws.add(`${told} is cut off below, by ${around.localName}.${around.className}`);
        }
        if (position === 'fixed') break;
      }
    }
    return [...flaws];
  });
}
