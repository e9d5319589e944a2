/**
 * Files that are dropped on the window: photos go to what is open for them, everything else is a sheet of old records. On
 * the desktop the machine says so, in a browser the page hears of it.
 */

import { machine } from '../backend/machine';
import { undoLine } from '../show/undo.svelte';

type Takes = (files: File[]) => void;

let photosTo: Takes | null = null;

/** Whoever can take photos says so while it is on the screen. */
export function takePhotos(take: Takes): () => void {
  photosTo = take;
  return () => {
    if (photosTo === take) photosTo = null;
  };
}

/** Follows what is dropped where no screen has taken it; `sheets` takes what is no photo. */
export function followDrops(sheets: Takes): () => void {
  const over = (event: DragEvent) => {
    if (event.dataTransfer?.types.includes('Files')) event.preventDefault();
  };
  const dropped = (event: DragEvent) => {
    const files = [...(event.dataTransfer?.files ?? [])];
    if (event.defaultPrevented || files.length === 0) return;
    event.preventDefault();
    hand(files, sheets);
  };
  const deaf = machine?.hear(async (heard) => {
    if (heard.is === 'dropped') hand(await machine?.dropped(), sheets);
  });
  window.addEventListener('dragover', over);
  window.addEventListener('drop', dropped);
  return () => {
    window.removeEventListener('dragover', over);
    window.removeEventListener('drop', dropped);
    deaf?.();
  };
}

function hand(files: readonly File[] = [], sheets: Takes): void {
  const { photos, others } = sorted(files);
  if (photos.length > 0 && photosTo) photosTo(photos);
  else if (photos.length > 0) undoLine.say('Open what the photos are of, and drop them there.');
  if (others.length > 0) sheets(others);
}

/** Photos, and all else. */
export function sorted(files: readonly File[]): { photos: File[]; others: File[] } {
  const isPhoto = (file: File) => file.type.startsWith('image/') || /\.(jpe?g|png|webp|heic)$/i.test(file.name);
  return { photos: files.filter(isPhoto), others: files.filter((file) => !isPhoto(file)) };
}
