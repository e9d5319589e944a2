/** The module, with the clock and the chance of `tests/src/same/steady.rs`. */

import init, { Core } from '/airshelf_wasm.js';

const NOON_MS = 1_763_985_600_000;
const MASK = (1n << 64n) - 1n;
let turn = 0;
let streams = new Map();

Date.now = () => NOON_MS + 1000 * turn;
Date.prototype.getTimezoneOffset = () => 0;
crypto.getRandomValues = (out) => {
  const bytes = new Uint8Array(out.buffer, out.byteOffset, out.byteLength);
  let stream = streams.get(bytes.length) ?? (BigInt(turn) << 16n) | BigInt(bytes.length);
  for (let at = 0; at < bytes.length; at += 8) {
    stream = (stream + 0x9e3779b97f4a7c15n) & MASK;
    let z = stream;
    z = ((z ^ (z >> 30n)) * 0xbf58476d1ce4e5b9n) & MASK;
    z = ((z ^ (z >> 27n)) * 0x94d049bb133111ebn) & MASK;
    z ^= z >> 31n;
    for (let byte = 0; byte < 8 && at + byte < bytes.length; byte += 1)
      bytes[at + byte] = Number((z >> BigInt(8 * byte)) & 0xffn);
  }
  streams.set(bytes.length, stream);
  return out;
};

async function bytes(name) {
  return new Uint8Array(await (await fetch(`/bytes/${name}`)).arrayBuffer());
}

async function run(asked) {
  await init({ module_or_path: '/airshelf_wasm_bg.wasm' });
  const core = await Core.start();
  for (const { turn: now, request, attached } of asked) {
    [turn, streams] = [now, new Map()];
    const beside = await Promise.all(attached.map(bytes));
    const reply = core.ask(request, beside, () => true);
    await fetch(`/json/${now}`, { method: 'POST', body: reply.json });
    if (reply.bytes) await fetch(`/bytes/${now}`, { method: 'POST', body: reply.bytes });
    reply.free();
  }
}

self.onmessage = ({ data }) =>
  run(data).then(
    () => self.postMessage(null),
    (error) => self.postMessage(String(error.stack ?? error)),
  );
