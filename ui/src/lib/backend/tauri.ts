/** The shelf of the desktop shell: the same requests, answered by the native core. */

import { opened, type AnswerTo, type Backend, type Beside, type Hold, type Request, type WithBytes } from './backend';
import { machine, tell } from './machine';
import type { DeviceState } from './types/DeviceState';

/** One message: the request's length and text, then each attachment's length and bytes; lengths in four bytes. */
export function packed(request: string, attached: readonly Uint8Array[]): Uint8Array {
  const parts = [new TextEncoder().encode(request), ...attached];
  const out = new Uint8Array(parts.reduce((sum, part) => sum + 4 + part.length, 0));
  const view = new DataView(out.buffer);
  let at = 0;
  for (const part of parts) {
    view.setUint32(at, part.length, true);
    out.set(part, at + 4);
    at += 4 + part.length;
  }
  return out;
}

/** The answer's length and text, then its bytes where it has some. */
export function unpacked(reply: ArrayBuffer): { json: string; bytes: Uint8Array | null } {
  const length = new DataView(reply).getUint32(0, true);
  const json = new TextDecoder().decode(new Uint8Array(reply, 4, length));
  const rest = reply.slice(4 + length);
  return { json, bytes: rest.byteLength > 0 ? new Uint8Array(rest) : null };
}

class Desktop implements Backend {
  #last = 0;
  #progress = new Map<number, NonNullable<Beside['progress']>>();

  constructor() {
    machine?.hear((heard) => {
      if (heard.is === 'progress') this.#progress.get(heard.id)?.(heard.what, heard.done, heard.total);
    });
  }

  start(demo: boolean): Promise<DeviceState> {
    return this.ask({ place: 'device', ask: 'start', demo });
  }

  async ask<R extends Request>(request: R, beside: Beside = {}): Promise<AnswerTo<R>> {
    return (await this.askForBytes(request, beside)).is;
  }

  async askForBytes<R extends Request>(request: R, beside: Beside = {}): Promise<WithBytes<R>> {
    const number = ++this.#last;
    const stop = () => void tell('stop', { number });
    if (beside.progress) this.#progress.set(number, beside.progress);
    beside.signal?.addEventListener('abort', stop);
    try {
      const message = packed(JSON.stringify(request), beside.attached ?? []);
      const { json, bytes } = unpacked(await tell<ArrayBuffer>('ask', message, { number: String(number) }));
      return { is: opened<R>(json), bytes };
    } finally {
      this.#progress.delete(number);
      beside.signal?.removeEventListener('abort', stop);
    }
  }

  async useHere(): Promise<void> {
    // A desktop has one window.
  }

  watch(changed: (hold: Hold) => void): () => void {
    changed('here');
    return () => {};
  }
}

export function desktop(): Backend {
  return new Desktop();
}
