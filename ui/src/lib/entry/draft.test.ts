import { expect, test } from 'vitest';
import { draftOf, drafts, dropDraft, keepDraft } from './draft';
import type { Drawer } from '../kept/kept';

function drawer(full = false): Drawer {
  const kept = new Map<string, string>();
  return {
    get length() {
      return kept.size;
    },
    key: (i) => [...kept.keys()][i] ?? null,
    getItem: (name) => kept.get(name) ?? null,
    setItem: (name, text) => {
      if (full) throw new DOMException('full', 'QuotaExceededError');
      kept.set(name, text);
    },
    removeItem: (name) => void kept.delete(name),
  };
}

interface Form {
  tag: string;
}
const fits = (kept: unknown): kept is Form =>
  typeof kept === 'object' && kept !== null && typeof (kept as Form).tag === 'string';

test('a draft comes back as it was, with its time', () => {
  const into = drawer();
  expect(keepDraft('part', { tag: 'AF-7 “tall”' }, 1234, into)).toBe(true);
  expect(draftOf('part', fits, into)).toEqual({ kept: { tag: 'AF-7 “tall”' }, at: 1234 });
  expect(drafts(into)).toEqual(['part']);
});

test('a draft that was thrown away is gone', () => {
  const into = drawer();
  keepDraft('part', { tag: 'A' }, 1, into);
  dropDraft('part', into);
  expect(draftOf('part', fits, into)).toBeNull();
  expect(drafts(into)).toEqual([]);
});

test('a draft that the form no longer takes is not forced on it', () => {
  const into = drawer();
  keepDraft('part', { name: 'A' }, 1, into);
  expect(draftOf('part', fits, into)).toBeNull();
  into.setItem('airshelf.draft.part', '{"kept":');
  expect(draftOf('part', fits, into)).toBeNull();
});

test('a full drawer is said, not thrown', () => {
  expect(keepDraft('part', { tag: 'A' }, 1, drawer(true))).toBe(false);
});

test('what others keep beside is no draft', () => {
  const into = drawer();
  into.setItem('airshelf.mode', 'dark');
  keepDraft('run', { tag: 'B' }, 1, into);
  expect(drafts(into)).toEqual(['run']);
});
