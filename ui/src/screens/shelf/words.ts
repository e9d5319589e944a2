/** What the shelf's lists are called on its screens. */

import type { PartDimension } from '../../lib/backend/types/PartDimension';
import type { PartKind } from '../../lib/backend/types/PartKind';
import type { PartStatus } from '../../lib/backend/types/PartStatus';
import type { ServiceKind } from '../../lib/backend/types/ServiceKind';
import type { Source } from '../../lib/backend/types/Source';

export { aside, said } from '../../lib/show/words';

interface Named<T extends string> {
  readonly value: T;
  readonly text: string;
  readonly hint?: string;
}

export const KINDS: readonly Named<PartKind>[] = [
  { value: 'filter', text: 'Filter' },
  { value: 'lid', text: 'Lid' },
  { value: 'base', text: 'Base' },
  { value: 'spacer', text: 'Spacer' },
  { value: 'velocity stack', text: 'Velocity stack' },
  { value: 'stud', text: 'Stud' },
  { value: 'carburetor', text: 'Carburetor' },
  { value: 'other', text: 'Other' },
];

export const STATUSES: readonly Named<PartStatus>[] = [
  { value: 'owned', text: 'Owned' },
  { value: 'wanted', text: 'Wanted', hint: 'Seen somewhere, not bought.' },
  { value: 'lent', text: 'Lent' },
  { value: 'sold', text: 'Sold' },
  { value: 'scrapped', text: 'Scrapped' },
];

export const SOURCES: readonly Named<Source>[] = [
  { value: 'measured', text: 'Measured', hint: 'You held the rule to it.' },
  { value: 'stated', text: 'Stated', hint: 'By the seller, the box or a page.' },
  { value: 'estimated', text: 'Estimated', hint: 'Judged by eye.' },
];

export const SERVICES: readonly Named<ServiceKind>[] = [
  { value: 'washed', text: 'Washed' },
  { value: 'oiled', text: 'Oiled' },
  { value: 'fitted', text: 'Fitted' },
  { value: 'removed', text: 'Taken off' },
  { value: 'run', text: 'Run' },
  { value: 'damaged', text: 'Damaged' },
];

const DIMENSIONS: Readonly<Record<PartDimension, string>> = {
  OD: 'Outside diameter',
  ID: 'Inside diameter',
  height: 'Height',
  'pleat count': 'Pleat count',
  'pleat depth': 'Pleat depth',
  'pleat free height': 'Pleat free height',
  'neck bore': 'Neck bore',
  drop: 'Drop',
  'stud length': 'Stud length',
  register: 'Register',
  'media area': 'Media area, stated',
  mass: 'Mass',
};

export function dimensionText(dimension: string): string {
  return DIMENSIONS[dimension as PartDimension] ?? dimension;
}

/** Whether a dimension is a length, which has fractions and its units as keys. */
export function isLength(dimension: PartDimension): boolean {
  return !['pleat count', 'media area', 'mass'].includes(dimension);
}

/** The civil date here and now. */
export function today(): string {
  const now = new Date();
  const two = (n: number) => String(n).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}
