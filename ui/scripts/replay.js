/**
 * Puts to the browser's module what was put to the native app: `replay.js FOLDER`, where `native.json` and `bytes/` stand
 * as the project's tests wrote them. Leaves `module.json` and more bytes beside; `tests/src/same` compares them.
 */

import { createHash } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { join } from 'node:path';
import { launch } from './browser.js';

const folder = process.argv[2];
const lines = JSON.parse(readFileSync(join(folder, 'native.json'), 'utf8'));
const answers = [];
const bindings = join(import.meta.dirname, '../src/lib/backend/module');

const files = {
  '/': ['text/html', () => '<!doctype html><title>replay</title>'],
  '/worker.js': ['text/javascript', () => readFileSync(join(import.meta.dirname, 'replay.worker.js'))],
  '/airshelf_wasm.js': ['text/javascript', () => readFileSync(join(bindings, 'airshelf_wasm.js'))],
  '/airshelf_wasm_bg.wasm': ['application/wasm', () => readFileSync(join(bindings, 'airshelf_wasm_bg.wasm'))],
};

function body(request) {
  return new Promise((done) => {
    const parts = [];
    request.on('data', (part) => parts.push(part)).on('end', () => done(Buffer.concat(parts)));
  });
}

async function answer(request, response) {
  const [, what, name] = request.url.split('/');
  if (request.method === 'GET') {
    const [type, read] = files[request.url] ?? [
      'application/octet-stream',
      () => readFileSync(join(folder, 'bytes', name)),
    ];
    return response.setHeader('content-type', type).end(read());
  }
  const came = await body(request);
  if (what === 'json') answers[name] = { json: came.toString(), bytes: null };
  if (what === 'bytes') {
    answers[name].bytes = createHash('sha256').update(came).digest('hex');
    writeFileSync(join(folder, 'bytes', answers[name].bytes), came);
  }
  response.end();
}

/** The requests from one that comes to a device of its own up to the next such. */
function* devices() {
  const starts = lines.flatMap((line, at) => (line.fresh ? [at] : []));
  for (const [which, from] of starts.entries()) {
    const to = starts[which + 1] ?? lines.length;
    yield lines.slice(from, to).map(({ request, attached }, at) => ({ turn: from + at, request, attached }));
  }
}

const server = createServer((request, response) => {
  answer(request, response).catch((error) => response.writeHead(500).end(String(error)));
});
await new Promise((done) => server.listen(0, '127.0.0.1', done));
const browser = await launch();
try {
  for (const asked of devices()) {
    const context = await browser.newContext();
    const page = await context.newPage();
    await page.goto(`http://localhost:${server.address().port}/`);
    const broke = await page.evaluate(
      (asked) =>
        new Promise((done) => {
          const worker = new Worker('/worker.js', { type: 'module' });
          worker.onmessage = ({ data }) => done(data);
          worker.onerror = ({ message }) => done(message);
          worker.postMessage(asked);
        }),
      asked,
    );
    if (broke) throw new Error(broke);
    await context.close();
  }
} finally {
  await browser.close();
  server.close();
}
writeFileSync(join(folder, 'module.json'), JSON.stringify(answers));
