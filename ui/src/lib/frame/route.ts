/**
 * Where one is: the part of the address behind `#`. A place that is named here has a screen; nothing else does.
 *
 * To add a screen, add its path to `PATHS` and its component to `screens.ts`.
 */

/** The five places of the app. */
export type Place = 'shelf' | 'bench' | 'findings' | 'records' | 'device';

/** Each screen's path. The first word is its place; `:name` stands for one part of the path. */
export const PATHS = {
  shelf: 'shelf',
  search: 'shelf/search',
  newPart: 'shelf/new',
  part: 'shelf/part/:id',
  editPart: 'shelf/part/:id/edit',
  assemblies: 'shelf/assemblies',
  newAssembly: 'shelf/assembly/new',
  assembly: 'shelf/assembly/:id',
  vehicle: 'shelf/vehicle/:id',
  bench: 'bench',
  newEvening: 'bench/new',
  benchEquipment: 'bench/equipment/:id',
  session: 'bench/evening/:id',
  findings: 'findings',
  finding: 'findings/evening/:id',
  engine: 'findings/engine/:id',
  records: 'records',
  record: 'records/file/:id',
  audit: 'records/audit',
  quarantine: 'records/quarantine',
  device: 'device',
  conflicts: 'device/conflicts',
  pair: 'device/pair',
  restore: 'device/restore',
} as const;

export type Screen = keyof typeof PATHS;

type ParamNames<P extends string> = P extends `${string}:${infer Name}/${infer Rest}`
  ? Name | ParamNames<Rest>
  : P extends `${string}:${infer Name}`
    ? Name
    : never;

/** What a screen's path needs to be told. */
export type Params<S extends Screen> = Record<ParamNames<(typeof PATHS)[S]>, string>;

/** What may stand behind a `?`: what was searched for, which tab is open. */
export type Query = Readonly<Record<string, string>>;

/** One screen with what it is about. */
export type Route = { [S in Screen]: { readonly screen: S; readonly query: Query } & Readonly<Params<S>> }[Screen];

type Rest<S extends Screen> =
  ParamNames<(typeof PATHS)[S]> extends never ? [query?: Query] : [params: Params<S>, query?: Query];

/** The address of a screen, for an `href`: `href('part', { id })`. */
export function href<S extends Screen>(screen: S, ...rest: Rest<S>): string {
  const path: string = PATHS[screen];
  const takes = path.includes(':');
  const params = (takes ? rest[0] : {}) as Record<string, string>;
  const query = (takes ? rest[1] : rest[0]) as Query | undefined;
  const filled = path.replace(/:(\w+)/g, (_, name: string) => encodeURIComponent(params[name] ?? ''));
  const asked = query ? new URLSearchParams(query).toString() : '';
  return `#/${filled}${asked ? `?${asked}` : ''}`;
}

/** The place that a screen is in. */
export function placeOf(screen: Screen): Place {
  return PATHS[screen].split('/')[0] as Place;
}

/**
 * The screen of an address, or null where it names none. A pairing link (`#pair=…&authority=…`) is the pairing screen,
 * with what the link says as its query.
 */
export function read(hash: string): Route | null {
  const text = hash.replace(/^#/, '');
  if (/^pair=/.test(text)) {
    return { screen: 'pair', query: Object.fromEntries(new URLSearchParams(text)) };
  }
  const [path = '', asked = ''] = text.replace(/^\//, '').split(/\?(.*)/s);
  const words = path.split('/').filter((word) => word !== '');
  if (words.length === 0) words.push('shelf');
  for (const screen of Object.keys(PATHS) as Screen[]) {
    const params = matched(PATHS[screen].split('/'), words);
    if (params) {
      return { screen, query: Object.fromEntries(new URLSearchParams(asked)), ...params } as unknown as Route;
    }
  }
  return null;
}

function matched(pattern: readonly string[], words: readonly string[]): Record<string, string> | null {
  if (pattern.length !== words.length) return null;
  const params: Record<string, string> = {};
  for (const [i, part] of pattern.entries()) {
    const word = decoded(words[i] ?? '');
    if (part.startsWith(':')) {
      if (!word) return null;
      params[part.slice(1)] = word;
    } else if (part !== word) return null;
  }
  return params;
}

function decoded(word: string): string {
  try {
    return decodeURIComponent(word);
  } catch {
    return word;
  }
}
