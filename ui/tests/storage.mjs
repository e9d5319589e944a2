/** A browser that gives no place to keep a shelf, or no more room: told plainly, and nothing that was kept is lost. */

import { randomBytes } from 'node:crypto';
import { deflateSync } from 'node:zlib';

export default async function ({ open, origin, accessible, shot, ok }) {
  for (const size of ['phone', 'desk']) {
    await refused(await open(size, { serviceWorkers: 'block' }), size, { origin, accessible, shot, ok });
    await full(await open(size), size, { origin, accessible, shot, ok });
  }
}

/** The file system of the origin is refused, as private windows and some settings do. */
async function refused({ context, page }, size, { origin, accessible, shot, ok }) {
  await page.route('**/core.worker*', async (route) => {
    const response = await route.fetch();
    const refuse =
      'navigator.storage.getDirectory = () => Promise.reject(new DOMException("It was denied.", "SecurityError"));';
    await route.fulfill({ response, body: `${refuse}\n${await response.text()}` });
  });
  // Where a site may keep nothing, even asking for the small places breaks off.
  await page.addInitScript(() => {
    for (const place of ['localStorage', 'sessionStorage', 'indexedDB']) {
      Object.defineProperty(window, place, {
        get() {
          throw new DOMException('It was denied.', 'SecurityError');
        },
      });
    }
  });
  await page.goto(`${origin}/#/shelf/new`);
  await page.getByText('This browser gives no place to keep a shelf.').waitFor();
  ok(await page.getByText('Open this address in an ordinary window').isVisible(), 'what to do is told');
  await page.getByText('Details').click();
  await page.getByText(/denied/).waitFor();
  await shot(page, `storage-refused-${size}`);
  await accessible(page, `storage refused, ${size}`);
  await page.unroute('**/core.worker*');
  await page.getByRole('button', { name: 'Try again' }).click();
  await page.getByRole('button', { name: 'Begin my shelf' }).waitFor();
  ok(true, 'once it is allowed, trying again is enough');
  await context.close();
}

/** A picture of noise, of about so many bytes. */
function noise(bytes) {
  const side = Math.ceil(Math.sqrt(bytes / 3));
  const rows = Buffer.concat(Array.from({ length: side }, () => Buffer.concat([Buffer.of(0), randomBytes(side * 3)])));
  const chunk = (kind, body) => {
    const all = Buffer.concat([Buffer.from(kind), body]);
    const around = Buffer.alloc(8);
    around.writeUInt32BE(body.length, 0);
    around.writeUInt32BE(crc(all), 4);
    return Buffer.concat([around.subarray(0, 4), all, around.subarray(4)]);
  };
  const head = Buffer.alloc(13);
  head.writeUInt32BE(side, 0);
  head.writeUInt32BE(side, 4);
  head.set([8, 2, 0, 0, 0], 8);
  const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  return Buffer.concat([
    signature,
    chunk('IHDR', head),
    chunk('IDAT', deflateSync(rows, { level: 0 })),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}

/** CRC-32 (ISO 3309), as PNG asks for it. */
function crc(bytes) {
  let sum = ~0;
  for (const byte of bytes) {
    sum ^= byte;
    for (let bit = 0; bit < 8; bit++) sum = (sum >>> 1) ^ (sum & 1 ? 0xedb88320 : 0);
  }
  return ~sum >>> 0;
}

/** The browser's quota is used up, by its own count. */
async function full({ context, page }, size, { origin, accessible, shot, ok }) {
  await page.goto(`${origin}/#/shelf/new`);
  await page.getByRole('button', { name: 'Begin my shelf' }).click();
  await page.getByLabel('Tag', { exact: true }).fill('QL-041');
  await page.getByRole('button', { name: 'Put it on the shelf' }).click();
  await page.getByRole('heading', { name: 'QL-041' }).waitFor();
  await page.evaluate(() => navigator.serviceWorker.ready);

  const quota = await context.newCDPSession(page);
  const { usage } = await quota.send('Storage.getUsageAndQuota', { origin });
  await quota.send('Storage.overrideQuotaForOrigin', { origin, quotaSize: usage + 100_000 });
  await page
    .locator('input[type=file][multiple]')
    .setInputFiles({ name: 'noise.png', mimeType: 'image/png', buffer: noise(2_000_000) });
  await page.getByText('There is no room to keep these until then').waitFor();
  ok(true, 'photos that are only on the screen say so');
  await page.getByRole('button', { name: 'Keep the photo' }).click();
  const fault = page.getByRole('alert');
  await fault.getByText(/disk is full/i).waitFor();
  ok((await page.getByText('noise.png', { exact: true }).count()) > 0, 'what was chosen is still there');
  await shot(page, `storage-full-${size}`);
  await accessible(page, `storage full, ${size}`);

  await quota.send('Storage.overrideQuotaForOrigin', { origin });
  await page.getByRole('button', { name: 'Keep the photo' }).click();
  await page.locator('.row-of img').first().waitFor();
  ok(true, 'with room again it is kept');
  await page.goto(`${origin}/#/device`);
  await page.getByRole('button', { name: 'Check the shelf' }).click();
  await page.getByText('Everything is sound.').waitFor();
  ok(true, 'and the shelf is sound');
  await context.close();
}
