/**
 * The built screens from a server of the walk's own, which can be told to hand out a newer edition: the same screens under
 * another service worker, whose first page says so. What is asked of the hub is passed on to one.
 */

import { createServer, request } from 'node:http';
import { readFileSync, statSync } from 'node:fs';
import { extname, join, normalize } from 'node:path';

const BUILT = process.env.AIRSHELF_BUILT ?? join(import.meta.dirname, '../../dist');
const KINDS = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript',
  '.css': 'text/css',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.woff2': 'font/woff2',
  '.wasm': 'application/wasm',
  '.webmanifest': 'application/manifest+json',
};

function file(path) {
  const at = join(BUILT, normalize(path));
  try {
    return at.startsWith(BUILT) && statSync(at).isFile() ? readFileSync(at) : null;
  } catch {
    return null;
  }
}

export async function serve({ hub = null, port = 0 } = {}) {
  let edition = 1;
  const server = createServer((asked, answer) => {
    const path = decodeURIComponent(new URL(asked.url, 'http://here').pathname);
    if (hub && (path.startsWith('/api/') || path === '/health')) return pass(asked, answer, hub);
    const name = path === '/' ? '/index.html' : path;
    let body = file(name);
    if (body === null) return answer.writeHead(404).end();
    if (edition > 1 && name === '/index.html') {
      body = String(body).replace('<head>', `<head><meta name="edition" content="${edition}">`);
    }
    if (edition > 1 && name === '/sw.js') {
      body = String(body).replace(/("?url"?:"index\.html","?revision"?:")[^"]*/, `$1edition-${edition}`);
    }
    answer.writeHead(200, {
      'Content-Type': KINDS[extname(name)] ?? 'application/octet-stream',
      'Cache-Control': 'no-store',
    });
    answer.end(body);
  });
  await new Promise((done) => server.listen(port, '127.0.0.1', done));
  return {
    origin: `http://localhost:${server.address().port}`,
    newer: () => (edition += 1),
    end: () => {
      server.closeAllConnections();
      return new Promise((done) => server.close(done));
    },
  };
}

function pass(asked, answer, hub) {
  const to = new URL(asked.url, hub);
  const headers = { ...asked.headers, host: to.host };
  if (headers.origin) headers.origin = to.origin;
  const passed = request(to, { method: asked.method, headers }, (came) => {
    answer.writeHead(came.statusCode, came.headers);
    came.pipe(answer);
  });
  passed.on('error', () => answer.destroy());
  asked.pipe(passed);
}
