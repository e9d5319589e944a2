/**
 * The one way from the screens to the shelf. What stands behind it, a worker with the Rust core or the desktop shell,
 * is known in this folder only. Nothing is computed here: a request goes out and its answer comes back.
 */

import type { Answer } from './types/Answer';
import type { DeviceState } from './types/DeviceState';
import type { Fault } from './types/Fault';
import type { Request } from './types/Request';

export type { Request };

/** The answer to a request, by the names that both carry. */
export type AnswerTo<R extends Request> = Extract<Answer, { place: R['place']; ask: R['ask'] }>['is'];

/** What goes beside a request. */
export interface Beside {
  /** Bytes that the request speaks of, in their order. */
  attached?: Uint8Array[];
  /** Told how far long work is: what is done, how much of it, of how much. */
  progress?: (what: string, done: number, total: number) => void;
  /** Stops long work where the browser allows it. */
  signal?: AbortSignal;
}

/** An answer with the bytes that were asked for. */
export interface WithBytes<R extends Request> {
  is: AnswerTo<R>;
  bytes: Uint8Array | null;
}

/** A request that was refused; nothing was changed. */
export class Refused extends Error {
  constructor(readonly fault: Fault) {
    super(fault.message);
    this.name = 'Refused';
  }
}

/** Who holds the shelf of this browser. */
export type Hold =
  /** This window. */
  | 'here'
  /** Nobody yet; it is being opened. */
  | 'opening'
  /** Another window. */
  | 'elsewhere'
  /** Nobody: the browser gives no place to keep it, or it cannot be opened. */
  | 'denied';

export interface Backend {
  /** Opens what there is to open; the state says which shelf that is, if any. */
  start(demo: boolean): Promise<DeviceState>;
  ask<R extends Request>(request: R, beside?: Beside): Promise<AnswerTo<R>>;
  askForBytes<R extends Request>(request: R, beside?: Beside): Promise<WithBytes<R>>;
  /** Takes the shelf over from another window. */
  useHere(): Promise<void>;
  /** Calls back when the shelf goes to another window, comes here, or its worker had to be started again. */
  watch(changed: (hold: Hold, why?: string) => void): () => void;
}

/** What crosses back from a shell: `{"ok": …}` or `{"fault": …}`. */
export function opened<R extends Request>(json: string): AnswerTo<R> {
  const outcome = JSON.parse(json) as { ok?: Answer; fault?: Fault };
  if (outcome.fault) throw new Refused(outcome.fault);
  return (outcome.ok as unknown as { is: AnswerTo<R> }).is;
}

/** The backend of the shell that these screens run in. */
export async function connect(): Promise<Backend> {
  if ('__TAURI_INTERNALS__' in window) return (await import('./tauri')).desktop();
  return (await import('./worker')).browser();
}
