/** What a program on a machine of its own can do beside answering requests; there is none in a browser. */

import { Channel, invoke } from '@tauri-apps/api/core';
import { Distant, keepIn } from '../kept/kept';
import { Refused } from './backend';
import type { Heard } from './desktop/Heard';
import type { HubShown } from './desktop/HubShown';
import type { WayIn } from './desktop/WayIn';
import type { Fault } from './types/Fault';

class Machine {
  #hearing = new Set<(heard: Heard) => void>();

  /** Takes over what was kept when the window was closed, and listens. To be called once, before anything is drawn. */
  async begin(): Promise<void> {
    const line = new Channel<Heard>((heard) => this.#hearing.forEach((hears) => hears(heard)));
    keepIn(new Distant(await tell<Record<string, string>>('kept'), (words) => tell('keep', { words })));
    await tell('hear', { line });
  }

  /** Calls with all news from now on. */
  hear(hears: (heard: Heard) => void): () => void {
    this.#hearing.add(hears);
    return () => this.#hearing.delete(hears);
  }

  /** Pairs the own shelf with the hub of a link. */
  pair(link: string, code: string, name: string): Promise<void> {
    return tell('pair', { link, code, name });
  }

  /** Exchanges now; `anew` after the hub was parted from. */
  exchange(anew = false): Promise<void> {
    return tell('exchange', { anew });
  }

  /** Saves everything where a person says; null where nobody did. */
  saveEverything(): Promise<string | null> {
    return tell('save_everything');
  }

  /** The files that were just dropped on the window. */
  async dropped(): Promise<File[]> {
    const [names, ...bytes] = parts(await tell<ArrayBuffer>('dropped'));
    const said = JSON.parse(new TextDecoder().decode(names)) as string[];
    return said.map((name, at) => new File([bytes[at] ?? new Uint8Array()], name));
  }

  hub(): Promise<HubShown> {
    return tell('hub');
  }

  hubOn(lan: boolean): Promise<HubShown> {
    return tell('hub_on', { lan });
  }

  hubOff(): Promise<HubShown> {
    return tell('hub_off');
  }

  hubInvite(): Promise<WayIn> {
    return tell('hub_invite');
  }

  hubRevoke(device: string): Promise<HubShown> {
    return tell('hub_revoke', { device });
  }
}

/** What stands one behind the other, each behind its length. */
function parts(reply: ArrayBuffer): Uint8Array<ArrayBuffer>[] {
  const view = new DataView(reply);
  const found: Uint8Array<ArrayBuffer>[] = [];
  for (let at = 0; at < reply.byteLength;) {
    const length = view.getUint32(at, true);
    found.push(new Uint8Array(reply, at + 4, length));
    at += 4 + length;
  }
  return found;
}

/** Gives a command; a fault comes as one. */
export async function tell<T>(
  command: string,
  told: Record<string, unknown> | Uint8Array = {},
  headers: Record<string, string> = {},
): Promise<T> {
  try {
    return await invoke<T>(command, told, { headers });
  } catch (error) {
    if (typeof error === 'object' && error !== null && 'code' in error && 'message' in error) {
      throw new Refused(error as Fault);
    }
    throw error;
  }
}

/** The machine of the desktop; null in a browser. */
export const machine: Machine | null = '__TAURI_INTERNALS__' in globalThis ? new Machine() : null;
