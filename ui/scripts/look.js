/**
 * Pictures of the gallery in both sizes and both modes, and what axe-core finds: `npm run look [page …]`.
 * The pictures land in `shots/`.
 */

import { mkdir, readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { createServer } from 'vite';
import { launch } from './browser.js';

const PAGES = ['sections', 'findings', 'entry', 'bench', 'shown', 'curves'];
const SIZES = { phone: { width: 360, height: 740 }, desk: { width: 1400, height: 900 } };
const asked = process.argv.slice(2).filter((word) => PAGES.includes(word));
const axe = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const shots = new URL('../shots/', import.meta.url);
await mkdir(shots, { recursive: true });

const server = await createServer({ server: { host: '127.0.0.1', port: 0 }, logLevel: 'error' });
await server.listen();
const origin = server.resolvedUrls.local[0];
const browser = await launch();
let wrong = 0;
try {
  for (const page of asked.length ? asked : PAGES) {
    for (const [size, viewport] of Object.entries(SIZES)) {
      for (const mode of ['light', 'dark']) {
        const context = await browser.newContext({
          viewport,
          colorScheme: mode,
          deviceScaleFactor: 1,
          hasTouch: size === 'phone',
          reducedMotion: 'reduce',
        });
        const tab = await context.newPage();
        tab.on('pageerror', (error) => complain(`${page}: ${error.message}`));
        tab.on('console', (line) => line.type() === 'error' && complain(`${page}: ${line.text()}`));
        await tab.goto(`${origin}gallery.html?show=${page}`);
        await tab.waitForSelector('h1');
        await tab.evaluate(() => document.fonts.ready);
        await tab.waitForTimeout(200);
        const wide = await tab.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
        if (wide > 0) complain(`${page} ${size}: ${wide} px wider than the screen`);
        await tab.screenshot({ path: path(`${page}-${size}-${mode}`), fullPage: true });
        if (size === 'phone' && mode === 'light') await twice(tab, page);
        if (page === 'entry') {
          await tab.getByRole('button', { name: 'Free height…' }).click();
          await tab.waitForTimeout(400);
          await tab.screenshot({ path: path(`sheet-${size}-${mode}`) });
          await check(tab, `sheet ${size} ${mode}`);
          await tab.keyboard.press('Enter');
          await tab.getByRole('button', { name: 'Put it on the shelf' }).click();
          await tab.waitForTimeout(400);
          await tab.screenshot({ path: path(`undo-${size}-${mode}`) });
        }
        if (page === 'curves') {
          await tab.locator('figure > svg').focus();
          for (let i = 0; i < 3; i++) await tab.keyboard.press('ArrowRight');
          await tab.waitForTimeout(100);
          await tab.screenshot({ path: path(`curves-read-${size}-${mode}`) });
        }
        await check(tab, `${page} ${size} ${mode}`);
        await context.close();
      }
    }
  }
} finally {
  await browser.close();
  await server.close();
}
process.exitCode = wrong ? 1 : 0;

function path(name) {
  return new URL(`${name}.png`, shots).pathname;
}

function complain(text) {
  wrong++;
  console.error(text);
}

/** Text of twice the size (WCAG 2.2, 1.4.4): nothing may stand out to the side. */
async function twice(tab, page) {
  await tab.evaluate(() => void (document.documentElement.style.fontSize = '200%'));
  await tab.waitForTimeout(200);
  const wide = await tab.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  if (wide > 0) complain(`${page} with text of twice the size: ${wide} px wider than the screen`);
  await tab.screenshot({ path: path(`${page}-twice`), fullPage: true });
  await tab.evaluate(() => void (document.documentElement.style.fontSize = ''));
  await tab.waitForTimeout(200);
}

async function check(tab, name) {
  await tab.evaluate(axe);
  const found = await tab.evaluate(() =>
    window.axe.run(document, {
      runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
    }),
  );
  for (const violation of found.violations) {
    complain(`${name}: ${violation.id}: ${violation.help}`);
    for (const node of violation.nodes.slice(0, 4))
      console.error(`    ${node.target.join(' ')}  ${node.failureSummary?.split('\n')[1] ?? ''}`);
  }
}
