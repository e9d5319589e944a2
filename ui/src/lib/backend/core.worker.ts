/** The Rust core in its worker. One request at a time, in the order they come. */

import init, { Core } from './module/airshelf_wasm';
import module from './module/airshelf_wasm_bg.wasm?url';
import type { FromWorker, ToWorker } from './messages';

/** How long another window's handles may take until they are let go. */
const RETRY_MS = 2000;

/** This worker; the types of the screens know windows only. */
interface Scope {
  postMessage(message: FromWorker, moved: Transferable[]): void;
  onmessage: ((event: MessageEvent<ToWorker>) => void) | null;
}

const scope = self as unknown as Scope;
let core: Core | null = null;

function say(message: FromWorker, moved: Transferable[] = []): void {
  scope.postMessage(message, moved);
}

function pause(ms: number): Promise<void> {
  return new Promise((done) => setTimeout(done, ms));
}

async function open(): Promise<void> {
  const until = performance.now() + RETRY_MS;
  try {
    await init({ module_or_path: module });
    for (;;) {
      try {
        if (core) await core.take_up();
        else core = await Core.start();
        return say({ is: 'started' });
      } catch (error) {
        const busy = /NoModificationAllowed|createSyncAccessHandle|busy/i.test(String(error));
        if (!busy || performance.now() > until) return say({ is: 'not-started', why: String(error), busy });
        await pause(100);
      }
    }
  } catch (error) {
    say({ is: 'not-started', why: String(error), busy: false });
  }
}

function answer(message: Extract<ToWorker, { do: 'ask' }>): void {
  const { id, request, attached, stop } = message;
  if (!core) return say({ is: 'died', id, why: 'the shelf is not open' });
  const progress = (what: string, done: number, total: number): boolean => {
    say({ is: 'progress', id, what, done, total });
    return !stop || Atomics.load(stop, 0) === 0;
  };
  try {
    const reply = core.ask(request, attached, progress);
    const bytes = reply.bytes ?? null;
    const json = reply.json;
    reply.free();
    say({ is: 'answer', id, json, bytes }, bytes ? [bytes.buffer] : []);
  } catch (error) {
    say({ is: 'died', id, why: String(error) });
  }
}

let line: Promise<void> = Promise.resolve();

scope.onmessage = ({ data }) => {
  line = line.then(async () => {
    if (data.do === 'ask') return answer(data);
    if (data.do === 'let-go') {
      core?.let_go();
      return say({ is: 'let-go' });
    }
    await open();
  });
};
