/** What photos show. */

import type { PhotoRole } from '../backend/types/PhotoRole';

export const ROLES: readonly { readonly value: PhotoRole; readonly text: string }[] = [
  { value: 'face', text: 'Face' },
  { value: 'underside', text: 'Underside' },
  { value: 'neck', text: 'Neck' },
  { value: 'pleats', text: 'Pleats' },
  { value: 'label', text: 'Label' },
  { value: 'damage', text: 'Damage' },
  { value: 'as tested', text: 'As tested' },
  { value: 'page', text: 'Page' },
];
