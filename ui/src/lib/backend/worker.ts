/** The shelf in a browser: one window of an origin holds it, in a worker, by a lock that ends with the window. */

import {
  opened,
  Refused,
  type AnswerTo,
  type Backend,
  type Beside,
  type Hold,
  type Request,
  type WithBytes,
} from './backend';
import type { FromWorker, ToWorker } from './messages';
import type { DeviceState } from './types/DeviceState';

const LOCK = 'airshelf.shelf';
const CHANNEL = 'airshelf.windows';
/** A window that does not let go by then hangs, and the lock is taken from it. */
const LETTING_GO_MS = 4000;

interface Waiting {
  done: (reply: { json: string; bytes: Uint8Array | null }) => void;
  failed: (why: Error) => void;
  progress?: Beside['progress'];
  /** What was asked, to be asked again where the worker had not begun it when it was stopped. */
  ask: Extract<ToWorker, { do: 'ask' }>;
}

class Browser implements Backend {
  #worker: Worker | null = null;
  #hold: Hold = 'opening';
  #why: string | undefined;
  #watching = new Set<(hold: Hold, why?: string) => void>();
  #waiting = new Map<number, Waiting>();
  /** What is to be stopped as soon as the worker is at it. */
  #cancelled = new Set<number>();
  #opening: { done: () => void; failed: (why: Error) => void } | null = null;
  #last = 0;
  #demo = false;
  #release: (() => void) | null = null;
  #windows = new BroadcastChannel(CHANNEL);

  constructor() {
    this.#windows.onmessage = ({ data }) => {
      if (data === 'wanted' && this.#hold === 'here') this.#letGo();
    };
  }

  async start(demo: boolean): Promise<DeviceState> {
    this.#demo = demo;
    if (this.#hold !== 'here') {
      if (!(await this.#takeLock({ ifAvailable: true }))) {
        this.#become('elsewhere');
        throw elsewhere();
      }
      await this.#open();
    }
    return this.#opened();
  }

  async ask<R extends Request>(request: R, beside: Beside = {}): Promise<AnswerTo<R>> {
    return (await this.askForBytes(request, beside)).is;
  }

  async askForBytes<R extends Request>(request: R, beside: Beside = {}): Promise<WithBytes<R>> {
    if (this.#hold === 'elsewhere') throw elsewhere();
    const id = ++this.#last;
    const stop = stopper(beside.signal);
    const ask = { do: 'ask', id, request: JSON.stringify(request), attached: beside.attached ?? [], stop } as const;
    const cancel = () => this.#cancel(id);
    if (!stop) beside.signal?.addEventListener('abort', cancel);
    const reply = await new Promise<{ json: string; bytes: Uint8Array | null }>((done, failed) => {
      this.#waiting.set(id, { done, failed, progress: beside.progress, ask });
      this.#tell(ask);
    }).finally(() => beside.signal?.removeEventListener('abort', cancel));
    const is = opened<R>(reply.json);
    // A worker that has to be started again opens the shelf that is open now.
    if (request.place === 'device' && request.ask === 'begin') this.#demo = request.demo;
    return { is, bytes: reply.bytes };
  }

  async useHere(): Promise<void> {
    this.#become('opening');
    this.#windows.postMessage('wanted');
    const patience = AbortSignal.timeout(LETTING_GO_MS);
    const got = await this.#takeLock({ signal: patience }).catch(() => this.#takeLock({ steal: true }));
    if (!got) throw elsewhere();
    await this.#open();
    await this.#opened();
  }

  watch(changed: (hold: Hold, why?: string) => void): () => void {
    this.#watching.add(changed);
    changed(this.#hold, this.#why);
    return () => this.#watching.delete(changed);
  }

  #opened(): Promise<DeviceState> {
    return this.ask({ place: 'device', ask: 'start', demo: this.#demo });
  }

  /** Takes the lock and holds it until it is released, stolen, or the window ends. */
  #takeLock(options: LockOptions): Promise<boolean> {
    return new Promise((done, failed) => {
      navigator.locks
        .request(LOCK, options, (lock) => {
          done(lock !== null);
          return lock && new Promise<void>((release) => (this.#release = release));
        })
        .then(undefined, (error: unknown) => {
          failed(error);
          // Another window took it by force while this one hung.
          if (this.#hold === 'here') this.#lost();
        });
    });
  }

  async #open(): Promise<void> {
    this.#become('opening');
    this.#worker ??= this.#hire();
    try {
      await new Promise<void>((done, failed) => {
        this.#opening = { done, failed };
        this.#tell({ do: 'start' });
      });
    } catch (error) {
      this.#become('denied', String(error));
      throw error;
    }
    this.#become('here');
  }

  #hire(): Worker {
    const worker = new Worker(new URL('./core.worker.ts', import.meta.url), { type: 'module', name: 'airshelf' });
    worker.onmessage = ({ data }: MessageEvent<FromWorker>) => this.#hear(data);
    worker.onerror = (event) => this.#died(event.message);
    return worker;
  }

  #tell(message: ToWorker): void {
    this.#worker?.postMessage(message);
  }

  #hear(message: FromWorker): void {
    switch (message.is) {
      case 'started':
        this.#opening?.done();
        break;
      case 'not-started':
        this.#opening?.failed(new Error(message.why));
        break;
      case 'let-go':
        this.#release?.();
        this.#become('elsewhere');
        break;
      case 'progress':
        this.#waiting.get(message.id)?.progress?.(message.what, message.done, message.total);
        break;
      case 'answer':
        this.#waiting.get(message.id)?.done(message);
        this.#waiting.delete(message.id);
        for (const id of this.#cancelled) this.#cancel(id);
        break;
      case 'died':
        this.#died(message.why);
    }
  }

  /** The core broke off: what waits fails, and a new worker opens the shelf with everything that was written. */
  #died(why: string): void {
    this.#drop('the program broke off while it did this');
    if (this.#hold !== 'here') {
      this.#opening?.failed(new Error(why));
      return;
    }
    void this.#open()
      .then(() => this.#opened())
      .then(() => this.#become('here', `the program broke off and was started again: ${why}`))
      .catch((error: unknown) => this.#become('denied', String(error)));
  }

  /**
   * Stops what the worker is at where it shares no memory with this window: the worker ends, whatever it had not
   * committed is gone, and a new one goes on with what waits.
   */
  #cancel(id: number): void {
    const waiting = this.#waiting.get(id);
    if (!waiting || this.#hold !== 'here') return;
    // The oldest is the one at work; what stands behind it has its turn to be stopped.
    if ([...this.#waiting.keys()].some((other) => other < id)) {
      this.#cancelled.add(id);
      return;
    }
    this.#cancelled.delete(id);
    this.#waiting.delete(id);
    waiting.failed(stopped());
    this.#worker?.terminate();
    this.#worker = this.#hire();
    const left = [...this.#waiting.values()];
    const begun = new Promise<void>((done, failed) => {
      this.#opening = { done, failed };
      this.#tell({ do: 'start' });
    });
    const start = ++this.#last;
    const request = JSON.stringify({ place: 'device', ask: 'start', demo: this.#demo });
    this.#tell({ do: 'ask', id: start, request, attached: [], stop: null });
    for (const { ask } of left) this.#tell(ask);
    begun.then(
      () => this.#become('here'),
      (error: unknown) => {
        this.#drop(`the shelf could not be opened again: ${String(error)}`);
        this.#become('denied', String(error));
      },
    );
  }

  #letGo(): void {
    this.#become('elsewhere');
    this.#tell({ do: 'let-go' });
  }

  #lost(): void {
    this.#drop('another window took the shelf over');
    this.#become('elsewhere');
  }

  #drop(message: string): void {
    this.#worker?.terminate();
    this.#worker = null;
    for (const { failed } of this.#waiting.values()) failed(broken(message));
    this.#waiting.clear();
    this.#cancelled.clear();
  }

  #become(hold: Hold, why?: string): void {
    [this.#hold, this.#why] = [hold, why];
    for (const changed of this.#watching) changed(hold, why);
  }
}

/** A flag that the worker looks at while it works; none where the browser shares no memory. */
function stopper(signal?: AbortSignal): Int32Array | null {
  if (!signal || typeof SharedArrayBuffer === 'undefined') return null;
  const flag = new Int32Array(new SharedArrayBuffer(4));
  signal.addEventListener('abort', () => Atomics.store(flag, 0, 1));
  return flag;
}

function elsewhere(): Refused {
  return new Refused({
    code: 'shelf-exists',
    message: 'another window of this browser has the shelf open',
    hint: 'Use it there, or take it over here.',
  });
}

function stopped(): Refused {
  return new Refused({ code: 'stopped', message: 'stopped; nothing of it was kept', hint: null });
}

function broken(message: string): Refused {
  return new Refused({
    code: 'store',
    message,
    hint: 'Everything that was kept before is still there. Try again.',
  });
}

export function browser(): Backend {
  return new Browser();
}
