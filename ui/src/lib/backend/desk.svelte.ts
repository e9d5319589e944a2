/** The open shelf as the screens see it: who holds it, how it stands, and the one way to ask it. */

import {
  connect,
  Refused,
  type AnswerTo,
  type Backend,
  type Beside,
  type Hold,
  type Request,
  type WithBytes,
} from './backend';
import { keep, kept } from '../kept/kept';
import { machine } from './machine';
import type { DeviceState } from './types/DeviceState';

const DEMO = 'airshelf.demo';

class Desk {
  hold = $state<Hold>('opening');
  /** What became of the store, where there is something to say. */
  why = $state<string | undefined>();
  state = $state.raw<DeviceState | null>(null);
  /** Grows with every change of the shelf; what is derived from it is asked again. */
  changes = $state(0);
  #backend: Promise<Backend> | null = null;

  /** Opens the shelf that was open last. */
  async start(): Promise<void> {
    this.#backend ??= connect();
    const backend = await this.#backend;
    backend.watch((hold, why) => {
      [this.hold, this.why] = [hold, why];
      if (hold === 'here') this.changes += 1;
    });
    // What another program, an import or a hub writes shows without being asked for.
    machine?.hear((heard) => heard.is === 'changed' && this.state?.shelf && void this.refresh());
    await this.#open(kept(DEMO) === 'yes');
  }

  /** Opens the own shelf or the demo, where there is one. */
  async open(demo: boolean): Promise<void> {
    keep(DEMO, demo ? 'yes' : 'no');
    await this.#open(demo);
  }

  /** Makes an empty shelf, or the demo, and opens it. */
  async begin(demo: boolean, beside?: Beside): Promise<void> {
    this.state = await this.ask({ place: 'device', ask: 'begin', demo }, beside);
    keep(DEMO, demo ? 'yes' : 'no');
    this.changes += 1;
  }

  async useHere(): Promise<void> {
    await (await this.#backend)?.useHere();
    await this.refresh();
  }

  async ask<R extends Request>(request: R, beside?: Beside): Promise<AnswerTo<R>> {
    return (await this.#ready()).ask(request, beside);
  }

  async askForBytes<R extends Request>(request: R, beside?: Beside): Promise<WithBytes<R>> {
    return (await this.#ready()).askForBytes(request, beside);
  }

  /** Asks for something that changes the shelf; whatever is shown of it is asked again. */
  async write<R extends Request>(request: R, beside?: Beside): Promise<AnswerTo<R>> {
    const answer = await this.ask(request, beside);
    await this.refresh();
    return answer;
  }

  /** Looks again how the shelf stands, after something changed it. */
  async refresh(): Promise<void> {
    this.state = await this.ask({ place: 'device', ask: 'state' });
    this.changes += 1;
  }

  async #open(demo: boolean): Promise<void> {
    try {
      this.state = await (await this.#ready()).start(demo);
      this.changes += 1;
    } catch (error) {
      if (this.hold === 'here') throw error;
    }
  }

  #ready(): Promise<Backend> {
    return (this.#backend ??= connect());
  }
}

export const desk = new Desk();

/** What went wrong, as `Fault.svelte` shows it. */
export function told(error: unknown): { happened: string; hint: string | null; details: string | null } {
  if (error instanceof Refused) {
    const { code, message, hint } = error.fault;
    return { happened: message, hint, details: code };
  }
  return { happened: 'Something broke off in this program.', hint: 'Try again.', details: String(error) };
}
