/** Draws the PNG icons from `public/icon.svg`: `npm run icons`. They are committed, so that a build needs no browser. */

import { readFile, writeFile } from 'node:fs/promises';
import { launch } from './browser.js';

const folder = new URL('../public/', import.meta.url);
/** What the desktop's package puts into the system's menu. */
const desktop = new URL('../../src-tauri/icons/', import.meta.url);
const svg = await readFile(new URL('icon.svg', folder), 'utf8');
/** Without its round corners: the system cuts its own. */
const square = svg.replace(' rx="96"', '');
/** Within the inner 80 %, which every mask leaves (W3C, Web App Manifest, "safe zone"). */
const masked = square.replace('<g id="drawing"', '<g id="drawing" transform="translate(51.2 51.2) scale(0.8)"');

const browser = await launch();
try {
  for (const [name, drawing, size, into = folder] of [
    ['icon-192.png', svg, 192],
    ['icon-512.png', svg, 512],
    ['icon-maskable-512.png', masked, 512],
    ['apple-touch-icon.png', square, 180],
    ['32x32.png', svg, 32, desktop],
    ['128x128.png', svg, 128, desktop],
    ['256x256.png', svg, 256, desktop],
  ]) {
    const page = await browser.newPage({ viewport: { width: size, height: size } });
    await page.setContent(`<style>body{margin:0}svg{display:block;width:${size}px;height:${size}px}</style>${drawing}`);
    await writeFile(new URL(name, into), await page.screenshot({ omitBackground: true }));
    await page.close();
  }
} finally {
  await browser.close();
}
