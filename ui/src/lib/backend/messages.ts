/** What a page and its worker say to each other. */

export type ToWorker =
  | { do: 'start' }
  | { do: 'ask'; id: number; request: string; attached: Uint8Array[]; stop: Int32Array | null }
  | { do: 'let-go' }
  | { do: 'take-up' };

export type FromWorker =
  | { is: 'started' }
  | { is: 'let-go' }
  /** The store could not be opened: another window holds it, or the browser gives none. */
  | { is: 'not-started'; why: string; busy: boolean }
  | { is: 'progress'; id: number; what: string; done: number; total: number }
  | { is: 'answer'; id: number; json: string; bytes: Uint8Array | null }
  /** The core broke off; what was written stays, and it must be started again. */
  | { is: 'died'; id: number; why: string };
