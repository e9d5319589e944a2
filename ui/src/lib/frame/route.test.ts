import { expect, test } from 'vitest';
import { href, PATHS, placeOf, read, type Screen } from './route';

test('every address that is made is read back as the same screen', () => {
  for (const screen of Object.keys(PATHS) as Screen[]) {
    const names = [...PATHS[screen].matchAll(/:(\w+)/g)].map((m) => m[1] ?? '');
    const params = Object.fromEntries(names.map((name) => [name, `a/b ?#&%é ${name}`]));
    const make = href as (screen: Screen, ...rest: unknown[]) => string;
    const made = names.length ? make(screen, params, { q: '14 x 3, neck 5-1/8"' }) : make(screen, { q: '14 x 3' });
    const back = read(made);
    expect(back, made).toMatchObject({ screen, ...params });
    expect(back?.query.q).toMatch(/^14 x 3/);
  }
});

test('a fixed word goes before a name that could be anything', () => {
  expect(read('#/shelf/assembly/new')?.screen).toBe('newAssembly');
  expect(read('#/shelf/assembly/0190')).toMatchObject({ screen: 'assembly', id: '0190' });
});

test('nothing behind the hash is the shelf', () => {
  for (const hash of ['', '#', '#/', '#/shelf', '#shelf/']) expect(read(hash)?.screen, hash).toBe('shelf');
});

test('an address that names no screen is none', () => {
  for (const hash of ['#/nowhere', '#/shelf/part', '#/shelf/part/1/2', '#/shelf/part/%20/edit/x', '#main']) {
    expect(read(hash), hash).toBeNull();
  }
});

test('a broken escape is taken as it stands', () => {
  expect(read('#/shelf/part/100%')).toMatchObject({ screen: 'part', id: '100%' });
});

test("the hub's pairing link leads to pairing, with its code and the authority's mark", () => {
  const route = read('#pair=12345678&authority=AB12');
  expect(route).toEqual({ screen: 'pair', query: { pair: '12345678', authority: 'AB12' } });
  expect(placeOf('pair')).toBe('device');
});
