// What `check` prints of a station: a section each, short enough to be read; `--all` prints every interlock, every proof test
// and every gap that takes more than one failure.

import { provable } from '../control/guard/proof-tests.ts';
import { englishOf } from '../language/english.ts';
import type { Response, Sentence } from '../language/told.ts';
import { eventWords } from '../protection/events.ts';
import { besides, hardWired } from '../protection/outside.ts';
import { nameOf } from '../protection/words.ts';
import type { Warning } from '../station/advice.ts';
import { assumedLines } from '../station/assumed.ts';
import type { Assumed } from '../station/file/declare.ts';
import { type Gap, gapsOf, type Harm } from '../station/gaps.ts';
import { pictureOf } from '../station/picture.ts';
import type { Plant } from '../station/plant.ts';

/** One interlock as `check` prints it. */
export interface PrintedRow {
  readonly id: string;
  readonly key: string;
  readonly about: string;
  readonly message: Sentence;
  readonly action: 'block' | 'trip';
  /** What a person does about it. */
  readonly response: Response;
  readonly forbids: readonly string[];
  readonly hazard: string;
  /** What the station must have for it. */
  readonly hardware: string;
  /** What fresh evidence must say for it to hold. */
  readonly pattern: string;
  readonly reset: string;
  readonly mayBeBypassed: boolean;
  /** How a person proves it, or why there is no such test. */
  readonly proof: string | null;
  readonly unproven: string;
}

/** Everything that there is to say of a station. */
export interface Checked {
  readonly plant: Plant;
  readonly rows: readonly PrintedRow[];
  readonly warnings: readonly Warning[];
  readonly assumed: readonly Assumed[];
}

/** @param all every interlock, proof test and combination of failures, and not only how many there are */
export function checkText({ plant, rows, warnings, assumed }: Checked, all: boolean): readonly string[] {
  return [
    `${plant.name} (${plant.id})`,
    '',
    ...pictureOf(plant).flatMap(({ title, lines }) => [title, ...lines.map(indent), '']),
    ...section(
      `Assumed, because the file does not say it (${assumed.length}); state it there where it is not so`,
      assumedLines(assumed).map(indent),
    ),
    ...interlocks(plant, rows, all),
    ...proofPlan(plant, all),
    '',
    ...section('Warnings', warnings.flatMap(warningLines)),
    ...gapLines(plant, all),
    'What no software can hold',
    ...outside(plant).map(indent),
    '',
  ];
}

const section = (title: string, lines: readonly string[]): readonly string[] =>
  lines.length === 0 ? [] : [title, ...lines, ''];

const warningLines = ({ id, about, words, fit }: Warning): readonly string[] => [
  `  ${id}  ${about.filter((pointer) => pointer !== '').join(' ') || 'the station'}`,
  `      ${words}`,
  `      To close the gap: ${fit}`,
];

function interlocks(plant: Plant, rows: readonly PrintedRow[], all: boolean): readonly string[] {
  const title = `Interlocks that follow from this (${rows.length})`;
  if (!all) return [`${title}: --all prints each`];
  const everything = [plant.routes, plant.heaters, plant.dosers].flatMap((part) => Object.keys(part)).length;
  const lines = rows.flatMap(({ key, message, action, forbids }) => [
    `  ${key}  ${action}s ${forbids.length === everything ? 'everything' : forbids.join(', ')}`,
    `      ${message.text}`,
  ]);
  return [title, ...lines, ''];
}

/** One entry for each kind of gap: every single failure that is enough, and of those that take several how many, or all. */
function gapLines(plant: Plant, all: boolean): readonly string[] {
  const gaps = gapsOf(plant);
  const ids = [...new Set(gaps.map(({ id }) => id))];
  const lines = ids.flatMap((id) => {
    const mine = gaps.filter((gap) => gap.id === id);
    const together = new Map<string, Gap[]>();
    for (const gap of mine) {
      const key = gap.when.join(' & ');
      together.set(key, [...(together.get(key) ?? []), gap]);
    }
    const groups = [...together.values()];
    const single = groups.filter(([gap]) => gap?.when.length === 1);
    const several = groups.filter(([gap]) => gap?.when.length !== 1);
    const told = [...single, ...(all ? several : [])].map((group) => `      ${consequencesOf(plant, group)}`);
    const left =
      all || several.length === 0
        ? []
        : [
            `      or ${several.length === 1 ? 'one combination' : `${several.length} combinations`} of several failures`,
          ];
    const [first] = mine;
    return first === undefined
      ? []
      : [`  ${id}  ${first.words}`, ...told, ...left, `      To close the gap: ${first.fit}`];
  });
  const more = all ? '' : '; --all prints what must fail together';
  return section(`Gaps that only hardware closes, by what must fail${more}`, lines);
}

/** The same failures, and everything that they do. */
function consequencesOf(plant: Plant, group: readonly Gap[]): string {
  const failed = (group[0]?.when ?? []).map((event) => eventWords(plant, event)).join(', and ');
  const harms = group.map(({ harm, about }) => HARMS[harm](nameOf(plant, about)));
  return `${failed}; then ${[...new Set(harms)].join(', ')}`;
}

const HARMS: Readonly<Record<Harm, (name: string) => string>> = {
  spilled: (name) => `${name} runs over`,
  dry: (name) => `${name} runs dry`,
  'on the floor': () => 'water on the floor',
  'heater bare': (name) => `${name} stands bare`,
  'too hot': (name) => `${name} gets too hot`,
  'wrong water': (name) => `wrong water in ${name}`,
  crossed: (name) => `waters cross in ${name}`,
};

/** What a person moves by hand, how often, and what must happen. */
function proofPlan(plant: Plant, all: boolean): string[] {
  const tests = provable(plant);
  const say = englishOf(plant);
  const days = (ms: number): string => `${Number((ms / 86_400_000).toFixed(1))} d`;
  const { everyMs, graceMs } = plant.policy.proofTests;
  if (!all) return [`Proof tests: ${tests.length}, each every ${days(everyMs)}: --all prints each`];
  return [
    `Proof tests: each of these ${tests.length} every ${days(everyMs)}; overdue is an alarm, and ${days(graceMs)} later what relies on it stays off`,
    ...tests.map(({ key, proof }) => `  ${key}  ${say(proof)}`),
    'To do one: publish {"id": "...", "request": "proof-test", "row": "I-02/...", "who": "..."} to the request topic; the status says what to do when.',
  ];
}

/** Said every time, also where nothing is amiss. */
function outside(plant: Plant): string[] {
  return [
    'Software is the first layer, never the last. These must be hard-wired and work with the computer off:',
    ...hardWired(plant).map((part) => `- ${part}`),
    ...besides(plant),
  ];
}

const indent = (line: string): string => `  ${line}`;
