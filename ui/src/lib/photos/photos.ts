/** Photos on their way to the shelf: chosen, with what they show; kept one by one. */

import { desk } from '../backend/desk.svelte';
import type { PhotoRole } from '../backend/types/PhotoRole';
import { keepChosen } from '../entry/chosen';
import { said } from '../show/words';

export interface Picked {
  readonly file: File;
  readonly role: PhotoRole | null;
}

/** The form in which photos of something are chosen. */
export const photosOf = (subject: string): string => `photos.${subject}`;

/**
 * Keeps photos of something; each is no longer a draft once it is kept, so that whatever breaks off loses none. `left` is told
 * what is still to come. Gives the reasons for those that are no photos.
 */
export async function keepPhotos(
  subject: string,
  picked: readonly Picked[],
  left?: (picked: Picked[]) => void,
): Promise<string[]> {
  const refused: string[] = [];
  await keepChosen(photosOf(subject), picked);
  for (const [at, { file, role }] of picked.entries()) {
    const attached = [new Uint8Array(await file.arrayBuffer())];
    const names = [file.name];
    const is = await desk.write({ place: 'shelf', ask: 'add-photos', subject, role, names }, { attached });
    const rest = picked.slice(at + 1);
    await keepChosen(photosOf(subject), rest);
    left?.(rest);
    refused.push(...is.refused);
    if (is.kept) said(`${file.name} was kept.`, is.changed);
  }
  return refused;
}
