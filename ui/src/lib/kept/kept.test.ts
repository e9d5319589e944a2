import { expect, test } from 'vitest';
import { Distant } from './kept';

test('what changes while a write is under way is written after it, and the latest is last', async () => {
  const written: Record<string, string>[] = [];
  let done: () => void = () => {};
  const drawer = new Distant({ kept: 'before' }, (words) => {
    written.push(words);
    return new Promise((resolve) => (done = resolve));
  });
  expect(drawer.getItem('kept')).toBe('before');
  for (const word of ['1', '1-', '1-1/8']) drawer.setItem('neck', word);
  expect(written).toEqual([{ kept: 'before', neck: '1' }]);
  done();
  await Promise.resolve().then(() => Promise.resolve());
  expect(written.at(-1)).toEqual({ kept: 'before', neck: '1-1/8' });
  expect(written).toHaveLength(2);
});

test('a write that fails loses nothing that is held, and the next change tries again', async () => {
  let tries = 0;
  const drawer = new Distant({}, () => (++tries === 1 ? Promise.reject(new Error('no room')) : Promise.resolve()));
  drawer.setItem('a', '1');
  await new Promise((later) => setTimeout(later));
  expect(drawer.getItem('a')).toBe('1');
  drawer.setItem('b', '2');
  expect(tries).toBe(2);
});
