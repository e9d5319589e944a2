/** The five places, in the order in which they stand. */

import type { IconName } from './icons';
import { href, type Place } from './route';

export const PLACES: readonly { place: Place; name: string; icon: IconName; href: string }[] = [
  { place: 'shelf', name: 'Shelf', icon: 'shelf', href: href('shelf') },
  { place: 'bench', name: 'Bench', icon: 'bench', href: href('bench') },
  { place: 'findings', name: 'Findings', icon: 'findings', href: href('findings') },
  { place: 'records', name: 'Old records', icon: 'records', href: href('records') },
  { place: 'device', name: 'This device', icon: 'device', href: href('device') },
];
