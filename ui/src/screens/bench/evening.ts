/** What is half done at the bench, and survives a killed tab. What it means is for Rust to say. */

import type { ChosenPart } from '../../lib/backend/types/ChosenPart';
import type { EveningPage } from '../../lib/backend/types/EveningPage';
import type { NewEvening } from '../../lib/backend/types/NewEvening';
import type { NewReading } from '../../lib/backend/types/NewReading';
import type { Offered } from '../../lib/backend/types/Offered';
import type { Purpose } from '../../lib/backend/types/Purpose';
import type { Restraint } from '../../lib/backend/types/Restraint';
import type { Service } from '../../lib/backend/types/Service';

/** What the next reading is taken on. */
export interface Setup {
  purpose: Purpose;
  parts: ChosenPart[];
  restraint: Restraint | null;
  service: Service | null;
  refitted: boolean;
  /** The range, where it is another than the evening's. */
  range: string | null;
  flow: string;
  held: NewReading['held'];
  /** While the bench is taught: how many runs there were before. */
  taught: number | null;
}

/** Fittings that teach a bench how it repeats. */
export const LESSONS = 6;

export const NOT_READ: NewReading['held'] = { how: 'not-read' };

/** The purposes, as somebody at a bench would say them. */
export const PURPOSES: readonly { purpose: Purpose; text: string; short: string; hint: string }[] = [
  { purpose: 'test', text: 'Test', short: 'Test', hint: 'The parts on the carburetor.' },
  {
    purpose: 'baseline',
    text: 'Baseline',
    short: 'Baseline',
    hint: 'The bare carburetor, or with its base: what losses are lost against.',
  },
  {
    purpose: 'sweep',
    text: 'Sweep',
    short: 'Sweep',
    hint: 'One of several pressures; the pressure is typed each time.',
  },
  {
    purpose: 'fixture leakage',
    text: 'Fixture leakage',
    short: 'Fixture leak',
    hint: 'The bench blanked off. It is taken off every reading.',
  },
  {
    purpose: 'closed-throttle leakage',
    text: 'Closed-throttle leakage',
    short: 'Throttle shut',
    hint: 'The carburetor with its throttle shut. A condition of the carburetor; it is never taken off.',
  },
  {
    purpose: 'check plate',
    text: 'Check plate',
    short: 'Check plate',
    hint: 'A plate of known flow in place of the carburetor. Choose the plate among the parts.',
  },
];

/** Leakage is read on a range of its own, with nothing fitted. */
export function isLeakage(purpose: Purpose): boolean {
  return purpose === 'fixture leakage' || purpose === 'closed-throttle leakage';
}

/** Whether something is taken off and fitted again between its readings. */
export function canRefit(purpose: Purpose): boolean {
  return purpose === 'test' || purpose === 'baseline' || purpose === 'sweep';
}

export const RESTRAINTS: readonly { value: Restraint; text: string; hint?: string }[] = [
  { value: 'fastened', text: 'Fastened', hint: 'By its own stud and nut.' },
  { value: 'taped', text: 'Taped', hint: 'Placed only where refitted repeats show that it repeats.' },
  { value: 'hand-held', text: 'Hand-held', hint: 'Keep fingers and sleeves away from the inlet. It gets no place.' },
  { value: 'none', text: 'Loose', hint: 'Nothing holds it: it can be drawn in. It gets no place.' },
  { value: 'lost', text: 'Came off', hint: 'Something came off during the run. It gets no place.' },
];

export const SERVICES: readonly { value: Service; text: string }[] = [
  { value: 'new', text: 'New' },
  { value: 'oiled', text: 'Oiled' },
  { value: 'dirty', text: 'Dirty' },
  { value: 'washed', text: 'Washed' },
];

/** An evening as it may begin. */
export function begun(offered: Offered): NewEvening {
  const bench = offered.benches.find((one) => one.id === offered.bench) ?? offered.benches[0];
  const range = bench?.ranges.find((one) => one.id === offered.range) ?? bench?.ranges.at(-1);
  const only = offered.items.length === 1 ? offered.items[0]?.id : undefined;
  return {
    name: offered.name,
    date: offered.date,
    bench: bench?.id ?? '',
    range: range?.id ?? '',
    item: offered.items.find((one) => one.id === offered.item)?.id ?? only ?? null,
    set_pressure: offered.set_pressure ?? '',
    air_temperature: '',
    barometer: '',
    humidity: '',
  };
}

/** An evening as it stands, to be changed. */
export function asIs(page: EveningPage): NewEvening {
  const [air_temperature, barometer, humidity] = page.air_written;
  return {
    name: page.name,
    date: page.date ?? '',
    bench: page.bench_id ?? '',
    range: page.range ?? '',
    item: page.item_id,
    set_pressure: page.set_pressure_written ?? '',
    air_temperature,
    barometer,
    humidity,
  };
}

/** What comes next where nothing was chosen: what the last reading was taken on; first of all a baseline. */
export function setUp(page: EveningPage): Setup {
  const on = page.standing;
  return {
    purpose: on?.purpose ?? 'baseline',
    parts: on?.parts ?? [],
    restraint: on?.restraint ?? 'fastened',
    service: on?.service ?? null,
    refitted: on === null,
    range: null,
    flow: '',
    held: NOT_READ,
    taught: null,
  };
}

/** The reading that is typed, as it is asked about and kept. */
export function reading(session: string, setup: Setup): NewReading {
  return {
    session,
    purpose: setup.purpose,
    parts: setup.parts.map((part) => part.id),
    restraint: setup.restraint,
    service: setup.service,
    refitted: setup.refitted,
    range: setup.range,
    flow: setup.flow,
    held: setup.held,
  };
}

/** What stands on the bench, by name. */
export function named(setup: Setup): string {
  switch (setup.purpose) {
    case 'fixture leakage':
      return 'The bench, blanked off';
    case 'closed-throttle leakage':
      return 'Carburetor, throttle shut';
    case 'check plate':
      return setup.parts[0]?.name ?? 'Check plate';
    default:
      return setup.parts.length > 0 ? setup.parts.map((part) => part.name).join(' + ') : 'Bare carburetor';
  }
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null;
}

export function isEvening(kept: unknown): kept is NewEvening {
  const texts = ['name', 'date', 'bench', 'range', 'set_pressure', 'air_temperature', 'barometer', 'humidity'];
  return isObject(kept) && texts.every((text) => typeof kept[text] === 'string') && 'item' in kept;
}

export function isSetup(kept: unknown): kept is Setup {
  return (
    isObject(kept) &&
    PURPOSES.some((one) => one.purpose === kept.purpose) &&
    Array.isArray(kept.parts) &&
    typeof kept.flow === 'string' &&
    typeof kept.refitted === 'boolean' &&
    isObject(kept.held) &&
    'taught' in kept
  );
}
