// What is asked of a person on the way from an empty file to a station, in order: what nobody can hear is typed, everything
// else is moved. An answer in brackets is taken with Enter; it is a suggestion for the process, never for a device.
import { BOUNDED } from '../station/kinds.ts';
import type { VesselRole } from '../station/plant.ts';

export type Json = Record<string, unknown>;

/** Something to be typed. */
export interface Typed {
  readonly words: string;
  readonly suggested?: string;
  readonly put: (file: Json, answer: string) => void;
  readonly isDone: (file: Json) => boolean;
}

/** Something to be moved. */
export interface Moved {
  readonly id: string;
  readonly kind: 'contact' | 'reading' | 'relay';
  readonly words: string;
  /** What the entry has besides what is heard. */
  readonly entry: Json;
  /** What is to be typed for it: by key, what is asked. */
  readonly ask: readonly (readonly [key: string, words: string])[];
}

export const at = (file: Json, ...keys: readonly string[]): unknown =>
  keys.reduce<unknown>((here, key) => (here as Json | undefined)?.[key], file);

export function put(file: Json, keys: readonly string[], value: unknown): void {
  const last = keys.at(-1) ?? '';
  const here = keys.slice(0, -1).reduce<Json>((object, key) => {
    object[key] ??= {};
    return object[key] as Json;
  }, file);
  here[last] = value;
}

const typed = (words: string, keys: readonly string[], unit = '', suggested?: string): Typed => ({
  words,
  ...(suggested === undefined ? {} : { suggested }),
  isDone: (file) => at(file, ...keys) !== undefined,
  put: (file, answer) => {
    if (answer !== '') put(file, keys, withUnit(answer, unit));
  },
});
/** A number alone has the unit that was asked for. */
const withUnit = (answer: string, unit: string): string =>
  unit !== '' && /^[\d.,]+$/u.test(answer) ? `${answer.replace(',', '.')} ${unit}` : answer;

const NAMES: Readonly<Record<string, string>> = {
  fresh: 'the fresh vat',
  mixing: 'the mixing vat',
  system: 'the system',
};

export const OUTLINE: readonly Typed[] = [
  {
    words: 'How is the station called?',
    isDone: (file) => file.name !== undefined,
    put: (file, answer) => {
      const id = answer.toLowerCase().replaceAll(/[^a-z0-9]+/gu, '-');
      Object.assign(file, {
        format: 1,
        id: id.replaceAll(/^-|-$/gu, '') || 'station',
        name: answer || 'Station',
      });
      put(file, ['vessels', 'inlet'], { role: 'purified-water' });
      put(file, ['vessels', 'waste'], { role: 'waste' });
    },
  },
  ...(['fresh', 'mixing', 'system'] as const).map((role) => ({
    ...typed(`${NAMES[role]}: litres to the brim`, ['vessels', role, 'capacity'], 'L'),
    put: (file: Json, answer: string) => {
      if (answer !== '') put(file, ['vessels', role], { role, capacity: withUnit(answer, 'L') });
    },
  })),
  typed('the system: litres that it usually holds', ['vessels', 'system', 'volume'], 'L'),
];

interface Way {
  readonly route: string;
  readonly from: VesselRole | 'inlet';
  readonly to: VesselRole;
  readonly actuator: string;
  readonly kind: 'valve' | 'pump';
  readonly what: string;
}
const WAYS: readonly Way[] = [
  {
    route: 'refill',
    from: 'inlet',
    to: 'fresh',
    actuator: 'inlet-valve',
    kind: 'valve',
    what: 'the inlet valve',
  },
  {
    route: 'transfer',
    from: 'fresh',
    to: 'mixing',
    actuator: 'transfer-pump',
    kind: 'pump',
    what: 'the transfer pump',
  },
  {
    route: 'circulate',
    from: 'mixing',
    to: 'mixing',
    actuator: 'circulation-pump',
    kind: 'pump',
    what: 'the circulation pump',
  },
  {
    route: 'supply',
    from: 'mixing',
    to: 'system',
    actuator: 'supply-pump',
    kind: 'pump',
    what: 'the supply pump',
  },
  {
    route: 'drain',
    from: 'system',
    to: 'waste',
    actuator: 'drain-pump',
    kind: 'pump',
    what: 'the drain pump',
  },
];

export const WAYS_ASKED: readonly Typed[] = WAYS.map(({ route, from, to, actuator }) => ({
  words: `${route}: least and most flow in L/min, for example 4 6`,
  isDone: (file) => at(file, 'routes', route) !== undefined,
  put: (file, answer) => {
    if (answer === '') return;
    const [least = '', most = ''] = answer.split(/[\s-]+/u);
    const flow = { least: withUnit(least, 'L/min'), most: withUnit(most, 'L/min') };
    put(file, ['routes', route], { from, to, through: [actuator], flow });
  },
}));

const LIFT = 'and let it sink again';
const POSITIONS = { low: 'low', high: 'high', overflow: 'overflow' } as const;

export const MOVED: readonly Moved[] = [
  ...BOUNDED.flatMap((vessel) =>
    Object.values(POSITIONS).map(
      (position): Moved => ({
        id: `${vessel}-${position}`,
        kind: 'contact',
        words: `Lift the ${position} float of ${NAMES[vessel]} now, ${LIFT}.`,
        entry: { measures: 'float', vessel, position },
        ask: [['mark', 'litres in the vessel when it turns over']],
      }),
    ),
  ),
  {
    id: 'tray-leak',
    kind: 'contact',
    words: 'Wet the leak sensor now, and dry it again.',
    entry: { measures: 'leak' },
    ask: [['tray', 'which tray or floor it lies in']],
  },
  ...(['fresh', 'mixing'] as const).map(
    (vessel): Moved => ({
      id: `${vessel}-level`,
      kind: 'reading',
      words: `Change what the level sensor of ${NAMES[vessel]} sees now.`,
      entry: { measures: 'level', vessel },
      ask: [['uncertainty', 'how far off it may be, litres']],
    }),
  ),
  ...(['mixing', 'system'] as const).map(
    (vessel): Moved => ({
      id: `${vessel}-temperature`,
      kind: 'reading',
      words: `Warm the thermometer of ${NAMES[vessel]} in your hand now.`,
      entry: { measures: 'temperature', vessel },
      ask: [],
    }),
  ),
  {
    id: 'mixing-conductivity',
    kind: 'reading',
    words: 'Take the conductivity probe of the mixing vat out of its water now.',
    entry: { measures: 'conductivity', vessel: 'mixing' },
    ask: [
      [
        'compensatedTo',
        'to which temperature the probe compensates by itself, for example 25 degC; empty: it does not',
      ],
    ],
  },
  ...WAYS.map(
    ({ actuator, kind, what, route }): Moved => ({
      id: actuator,
      kind: 'relay',
      words: `Switch ${what} (${route}) on for a moment by its own page or button, and off again.`,
      entry: { kind },
      ask: [],
    }),
  ),
  ...WAYS.filter(({ route }) => route !== 'circulate').map(
    ({ route }): Moved => ({
      id: `${route}-meter`,
      kind: 'reading',
      words: `Let some water run through the meter of the ${route} now.`,
      entry: { measures: 'total', route },
      ask: [],
    }),
  ),
];

const capacity = (file: Json, vessel: string): number =>
  Number.parseFloat(String(at(file, 'vessels', vessel, 'capacity') ?? '0'));
const share = (file: Json, vessel: string, part: number) =>
  `${Math.round(10 * part * capacity(file, vessel)) / 10} L`;

/** @param file for what is suggested: shares of the vessels */
export const processOf = (file: Json): readonly Typed[] => [
  typed('salinity to be made', ['process', 'salinity', 'target'], 'PSU', '35 PSU'),
  typed('and how far off it may be', ['process', 'salinity', 'tolerance'], 'PSU', '0.5 PSU'),
  typed(
    'salinity that a kilogram of your salt makes of a kilogram of water, kg/kg',
    ['process', 'salt', 'yield'],
    'kg/kg',
    '0.85 kg/kg',
  ),
  typed(
    'the fresh vat is filled when it is below',
    ['process', 'refill', 'startBelow'],
    'L',
    share(file, 'fresh', 0.5),
  ),
  typed('and up to', ['process', 'refill', 'stopAt'], 'L', share(file, 'fresh', 0.8)),
  typed('litres of a batch', ['process', 'batch', 'contents'], 'L', share(file, 'mixing', 0.75)),
  typed('how long the salt dissolves', ['process', 'batch', 'dissolve'], 'min', '60 min'),
  typed('and rests before it is measured', ['process', 'batch', 'settle'], 'min', '10 min'),
  typed(
    'water changed a day, as a share of the system',
    ['process', 'exchange', 'system', 'perDay'],
    '%',
    '2 %',
  ),
  typed('and in one step', ['process', 'exchange', 'system', 'step'], 'L', share(file, 'system', 0.01)),
];
