// What an exploration has shown, for whoever sits in front of it: what was looked at, what held, what only hardware can
// hold, and what to read before believing more than was shown.
import type { Plant } from '../../station/plant.ts';
import { ABSTRACTED } from './abstraction.ts';
import { isOpen, type Proof, type Told, type ToldAccident } from './proof.ts';
import { COARSE_BOUNDS } from './water.ts';

/** In what the coarse station is like the real one, and why what holds on it says something about that. */
export const RELATION: readonly string[] = [
  'the same core, rows and phases; every vessel, route, heater, sensor, actuator, contactor and policy of the file',
  'a vessel holds about a dozen units, a route moves one in a tick of one minute; marks keep their order',
  'a tick is longer than the short waits of the core and of the devices: what a real station does in seconds takes a tick here',
  'assumed: floats turn over within their tolerance, flows stay between least and most, a device counts its lease if the file says so',
];

/** What the coarse station has no counterpart for; `prove` says it every time. */
export const NO_COUNTERPART: readonly string[] = [
  'amounts between two marks, and slow leaks: a route moves whole units, and a fault below a unit a minute does not exist',
  'errors within what the file says of an instrument: coarse instruments are exact unless they lie',
  'what happens within one tick: bounces, pulses at a start, the order of messages, two commands crossing each other',
  'water that cools by itself, evaporates or swells with salt',
  'time of day, a wrong clock, a batch that grows old',
];

/** A property and the accidents that break it. */
const PROPERTIES: readonly { readonly words: string; readonly broken: (key: string) => boolean }[] = [
  { words: 'nothing runs over a brim', broken: (key) => key.startsWith('spilled') },
  {
    words: 'a hose that comes off loses no more than its bound',
    broken: (key) => key.startsWith('on the floor'),
  },
  { words: 'no pump runs dry beyond its bound', broken: (key) => key.startsWith('dry') },
  {
    words: 'no heater is on without water, and no vat gets too hot',
    broken: (key) => key.startsWith('heater') || key.startsWith('too hot'),
  },
  { words: 'nothing is delivered outside tolerance', broken: (key) => key.startsWith('wrong water') },
  { words: 'no water takes a way that no route names', broken: (key) => key.startsWith('crossed') },
  { words: "a trip is left only by a person's request", broken: (key) => key.startsWith('trip left') },
  {
    words: 'an `on` leaves only under a whole lease, with the link up and a target allowed',
    broken: (key) => key.startsWith('on without a lease'),
  },
  { words: 'salt that was confirmed is not asked for again', broken: (key) => key.startsWith('salt asked') },
  {
    words: 'while all is well nothing trips, no alarm comes, and no batch waits for somebody who looks',
    broken: (key) => key.includes(' without a fault'),
  },
  { words: 'the core answers every event', broken: (key) => key.startsWith('the core threw') },
];
const LIVENESS = 'from every place with healthy devices, tripped or not, a ready batch can be reached';

/** @param seconds how long it took; absent where nobody measured */
export function proofText(plant: Plant, proof: Proof, seconds?: number): string {
  const pace = Math.round(proof.transitions / Math.max(seconds ?? 1, 0.001));
  return `${[
    ...heading(plant, proof),
    ...(seconds === undefined
      ? []
      : [`  took                  ${seconds.toFixed(0)} s, ${counted(pace)} ticks a second`]),
    '',
    ...properties(proof),
    '',
    ...capped(proof),
    ...gaps(proof),
    ...counterexamples(proof),
    ...limits(),
  ].join('\n')}\n`;
}

function heading(
  plant: Plant,
  { pieces, ground, singles, pairs, places, transitions, odds }: Proof,
): string[] {
  const whole = singles.filter(({ complete }) => complete).length;
  const deepest = Math.max(ground.depth, ...singles.map(({ depth }) => depth));
  return [
    `${plant.name} (${plant.id}): the real core on a coarse station, every place that can be reached`,
    ...(pieces > 1 ? [`the core takes each tick in ${pieces} steps`] : []),
    '',
    `  while all is well     ${counted(ground.places)} places, ${counted(ground.transitions)} ticks, deepest ${ground.depth}`,
    `  single faults         ${counted(singles.length)}, each begun at every tick and mended at every later one; ${counted(whole)} to the end`,
    ...(pairs.length > 0
      ? [
          `  two faults at once    ${counted(pairs.length)} pairs, one there from the start, to a depth of ${leastDepth(pairs)} ticks at least`,
        ]
      : []),
    `  in all                ${counted(places)} places, ${counted(transitions)} ticks, deepest ${deepest}`,
    `  two places taken for one: odds below ${odds.toExponential(0)} (fingerprints of 64 bits)`,
  ];
}

const leastDepth = (runs: readonly Told[]): number => Math.min(...runs.map(({ depth }) => depth));

function properties({ ground, singles }: Proof): string[] {
  const runs = [ground, ...singles];
  const all = runs.flatMap(({ accidents }) => firstOfEach(accidents));
  const open = all.filter(({ gap }) => gap === null);
  const lines = PROPERTIES.map(({ words, broken }) => {
    const bad = open.filter(({ key }) => broken(key)).length;
    const explained = all.filter(({ key, gap }) => gap !== null && broken(key)).length;
    return verdictLine(words, bad, explained);
  });
  const lost = runs.filter(({ stranded }) => stranded.tripped + stranded.untripped > 0).length;
  const bounded = singles.filter(({ complete }) => !complete).length;
  const title = `With one fault at a time, mended or not${bounded > 0 ? ` (${bounded} of them looked at to a bound only, see below)` : ''}`;
  return [title, ...lines, verdictLine(LIVENESS, lost, 0)];
}

/** One accident of each kind in a run; one that no gap explains stands before those that one does. */
function firstOfEach(accidents: readonly ToldAccident[]): readonly ToldAccident[] {
  const found = new Map<string, ToldAccident>();
  for (const accident of accidents)
    if (accident.gap === null || !found.has(accident.key)) found.set(accident.key, accident);
  return [...found.values()];
}

function verdictLine(words: string, bad: number, explained: number): string {
  const hardware = explained > 0 ? ` (but for ${explained} that only hardware can hold)` : '';
  return bad > 0
    ? `  NO    ${words}: broken under ${bad} fault${bad === 1 ? '' : 's'}`
    : `  held  ${words}${hardware}`;
}

function capped({ singles }: Proof): string[] {
  const runs = singles.filter(({ complete }) => !complete);
  if (runs.length === 0) return [];
  const lines = runs.map(
    ({ defects, depth, places }) =>
      `  ${defects.join(' + ').padEnd(38)} ${String(depth).padStart(4)} ticks from the beginning, ${counted(places)} places`,
  );
  return [
    'Looked at to this depth only: what lies anew at every tick, and remains so many places',
    ...lines,
    '  beyond it harm was not looked for; whether a batch can become ready again was not judged at all',
    '',
  ];
}

function gaps({ singles, pairs }: Proof): string[] {
  const alone = byGap(singles.flatMap(({ accidents }) => accidents));
  const together = byGap(pairs.flatMap(({ accidents }) => accidents));
  const section = (title: string, found: ReadonlyMap<string, ToldAccident[]>): string[] =>
    found.size === 0 ? [] : [title, ...[...found].flatMap(([, accidents]) => gapLines(accidents)), ''];
  return [
    ...section('What no software can hold here: one failure is enough', alone),
    ...section('What no software can hold here: two failures together', together),
  ];
}

function byGap(accidents: readonly ToldAccident[]): ReadonlyMap<string, ToldAccident[]> {
  const found = new Map<string, ToldAccident[]>();
  for (const accident of accidents) {
    if (accident.gap === null) continue;
    found.set(accident.gap, [...(found.get(accident.gap) ?? []), accident]);
  }
  return found;
}

function gapLines(accidents: readonly ToldAccident[]): string[] {
  const lines = accidents.map(({ key, defects }) => `        ${defects.join(' + ')}: ${key}`);
  return [`  ${accidents[0]?.gap}`, ...new Set(lines), `      To close the gap: ${accidents[0]?.fit}`];
}

function counterexamples({ ground, singles, pairs }: Proof): string[] {
  const told = new Set<string>();
  const lines: string[] = [];
  for (const run of [ground, ...singles, ...pairs]) {
    for (const accident of run.accidents) {
      if (accident.gap !== null || told.has(accident.key)) continue;
      told.add(accident.key);
      lines.push(
        `  ${accident.words}`,
        `  under ${run.defects.join(' + ') || 'no fault at all'}${others(accident, [...singles, ...pairs])}`,
        ...accident.trace.map(indent),
        '',
      );
    }
    if (!isOpen(run) || run.strandedTrace.length === 0 || told.has('stranded')) continue;
    told.add('stranded');
    lines.push(
      `  no batch can become ready any more`,
      `  after ${run.defects.join(' + ')}`,
      ...run.strandedTrace.map(indent),
      '',
    );
  }
  return lines.length === 0 ? [] : ['Counterexamples, each the shortest of its kind', ...lines];
}

function others(accident: ToldAccident, runs: readonly Told[]): string {
  const same = runs.filter(({ accidents }) =>
    accidents.some(({ key, gap }) => key === accident.key && gap === null),
  );
  return same.length > 1 ? `, and ${same.length - 1} more` : '';
}

function limits(): string[] {
  return [
    'How the coarse station relates to the real one',
    ...RELATION.map((words) => `  ${words}`),
    '',
    'What this does not say',
    ...ABSTRACTED.map(({ what, how }) => `  ${what}: ${how}`),
    ...NO_COUNTERPART.map((words) => `  no counterpart: ${words}`),
    ...Object.entries(COARSE_BOUNDS).map(
      ([kind, { byOrder, againstOrders, why }]) =>
        `  bound: ${kind} for ${byOrder} ticks (against orders ${againstOrders}): ${why}`,
    ),
  ];
}

const indent = (line: string): string => `  ${line}`;
const counted = (count: number): string => count.toLocaleString('en-US').replaceAll(',', ' ');
