/**
 * Together with a hub: the core says what to fetch, this fetches it. An exchange runs after a change, on the hub's news,
 * and when the network comes back; it never stands in the way of a reading. On the desktop the machine does all that by
 * itself, and says how it goes.
 */

import { keep, kept } from '../kept/kept';
import { Refused, type AnswerTo } from './backend';
import { desk } from './desk.svelte';
import { machine } from './machine';
import type { Fetch } from './types/Fetch';
import type { Fetched } from './types/Fetched';
import type { SyncReport } from './types/SyncReport';

/** Changes that come close together cross together. */
const GATHER_MS = 400;
/** How long until a hub that did not answer is called again. */
const CALL_AGAIN_MS = 15_000;
const NAME = 'airshelf.device-name';

export type Going = 'alone' | 'together' | 'exchanging' | 'out-of-reach' | 'not-understood' | 'refused';

/** Fetches what the core asks for. */
async function carry(fetchOf: Fetch, body: Uint8Array | null): Promise<{ fetched: Fetched; body: Uint8Array }> {
  try {
    const response = await fetch(fetchOf.url, {
      method: fetchOf.method,
      headers: fetchOf.headers,
      body: fetchOf.method === 'GET' ? null : (body as Uint8Array<ArrayBuffer> | null),
      cache: 'no-store',
    });
    const came = new Uint8Array(await response.arrayBuffer());
    const fetched = { status: response.status, content_range: response.headers.get('content-range') };
    return { fetched, body: came };
  } catch {
    return { fetched: { status: null, content_range: null }, body: new Uint8Array() };
  }
}

class Together {
  going = $state<Going>('alone');
  report = $state.raw<SyncReport | null>(null);
  /** Why the last exchange broke off. */
  failed = $state.raw<unknown>(null);
  #wanted = false;
  #running: Promise<void> | null = null;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #listening: AbortController | null = null;
  #hub: string | null = null;
  /** Whether something came back to the last question. */
  #answered = false;
  /** Ends the wait until the hub is called again. */
  #wake: (() => void) | undefined;

  constructor() {
    machine?.hear((heard) => {
      if (heard.is !== 'together') return;
      [this.going, this.report] = [heard.going, heard.report];
      this.failed = heard.fault && new Refused(heard.fault);
    });
  }

  /** Follows the shelf: whenever it changes, or is paired or parted. */
  follow(): void {
    if (machine) return;
    void desk.changes;
    const hub = desk.state?.hub?.url ?? null;
    if (hub !== this.#hub) {
      this.#hub = hub;
      this.#listening?.abort();
      this.going = hub ? 'together' : 'alone';
      if (hub) void this.#listen(hub);
    }
    if (hub && desk.hold === 'here' && (desk.state?.shelf?.only_here ?? 0) > 0) this.soon();
  }

  /** The network is there again: nothing waits any longer. */
  back(): void {
    this.#wake?.();
    void this.now();
  }

  get deviceName(): string {
    const usual = machine ? 'desktop' : /Mobi/.test(navigator.userAgent) ? 'phone' : 'browser';
    return kept(NAME) ?? usual;
  }

  set deviceName(name: string) {
    keep(NAME, name);
  }

  /** Pairs with the hub at an address by the digits that it shows, and the authority that its link names. */
  async pair(url: string, code: string, authority: string | null): Promise<void> {
    if (machine) {
      await machine.pair(authority ? `${url}/#authority=${authority}` : url, code, this.deviceName);
      await desk.refresh();
      return;
    }
    const asked = await desk.askForBytes({ place: 'device', ask: 'pair', url, code, name: this.deviceName });
    const { fetched, body } = await carry(asked.is, asked.bytes);
    desk.state = await desk.ask({ place: 'device', ask: 'paired', fetched }, { attached: [body] });
    desk.changes += 1;
    await this.now();
  }

  async part(): Promise<void> {
    desk.state = await desk.ask({ place: 'device', ask: 'part' });
    await machine?.exchange(true);
    desk.changes += 1;
  }

  /** An exchange a little later, with whatever else changes until then. */
  soon(): void {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.now(), GATHER_MS);
  }

  /** An exchange now; one that is running goes on, and another follows it. */
  async now(): Promise<void> {
    if (machine) return machine.exchange();
    this.#wanted = true;
    this.#running ??= this.#run().finally(() => (this.#running = null));
    await this.#running;
  }

  async #run(): Promise<void> {
    while (this.#wanted && desk.state?.hub) {
      this.#wanted = false;
      // A hub that is out of reach is called quietly, over and over; that is nothing to be told each time.
      if (this.going !== 'out-of-reach' && this.going !== 'not-understood') this.going = 'exchanging';
      try {
        await this.#exchange();
        this.failed = null;
        this.going = 'together';
      } catch (error) {
        this.failed = error;
        const code = (error as { fault?: { code: string } }).fault?.code;
        const refused = code !== undefined && code !== 'unreachable';
        this.going = refused ? 'refused' : this.#answered ? 'not-understood' : 'out-of-reach';
        if (!refused) {
          clearTimeout(this.#timer);
          this.#timer = setTimeout(() => void this.now(), CALL_AGAIN_MS);
        }
      }
    }
  }

  async #exchange(): Promise<void> {
    let fetched: Fetched | null = null;
    let body: Uint8Array = new Uint8Array();
    const before = this.report;
    this.#answered = false;
    for (;;) {
      const step: {
        is: AnswerTo<{ place: 'device'; ask: 'step'; fetched: null; name: null }>;
        bytes: Uint8Array | null;
      } = await desk.askForBytes(
        { place: 'device', ask: 'step', fetched, name: this.deviceName },
        { attached: [body] },
      );
      this.report = step.is.report;
      if (!step.is.fetch) break;
      ({ fetched, body } = await carry(step.is.fetch, step.bytes));
      this.#answered = fetched.status !== null;
    }
    const { received = 0, photos_received = 0, thumbnails_received = 0, joined = false } = this.report ?? {};
    if (received + photos_received + thumbnails_received > 0 || joined || before === null) await desk.refresh();
    else desk.state = await desk.ask({ place: 'device', ask: 'state' });
  }

  /** Hears the hub's news until it is another hub's turn; a line that is lost is called again. */
  async #listen(hub: string): Promise<void> {
    while (this.#hub === hub) {
      const stop = (this.#listening = new AbortController());
      try {
        const live = await desk.ask({ place: 'device', ask: 'live' });
        const response = await fetch(live.url, { headers: live.headers, signal: stop.signal, cache: 'no-store' });
        // What changed while nobody listened.
        if (response.ok) void this.now();
        const lines = response.body?.pipeThrough(new TextDecoderStream()).getReader();
        for (let got = await lines?.read(); got && !got.done; got = await lines?.read()) {
          if (got.value.includes('event: changed') || got.value.includes('event:changed')) void this.now();
        }
      } catch {
        // Out of reach is ordinary; what is only here is counted on the screen.
      }
      if (stop.signal.aborted) return;
      void this.now();
      await new Promise<void>((done) => {
        this.#wake = done;
        setTimeout(done, CALL_AGAIN_MS);
      });
    }
  }
}

export const together = new Together();
