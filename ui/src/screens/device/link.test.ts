import { expect, test } from 'vitest';
import { linkOf } from './link';

test('a link is an address with digits behind it', () => {
  expect(linkOf('https://shed.local:7654/#pair=12345678&authority=ab')).toEqual({
    url: 'https://shed.local:7654',
    code: '12345678',
    authority: 'ab',
  });
});

test('a bare address has no digits', () => {
  expect(linkOf(' https://shed.local:7654/ ')).toEqual({ url: 'https://shed.local:7654', code: '', authority: null });
});
