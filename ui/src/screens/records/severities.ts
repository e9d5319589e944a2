/** How much a fault matters, in words. */

export const SEVERITIES = {
  block: { one: 'Kept out', many: 'Kept out of comparisons' },
  warn: { one: 'With a mark', many: 'Marked or widened' },
  inform: { one: 'To know', many: 'To know' },
} as const;

export type Severity = keyof typeof SEVERITIES;
