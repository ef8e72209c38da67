// What a row of the table is, and the shapes that several parts share. The table itself is in table.ts.
import type { WrittenRequest } from '../control/guard/asks.ts';
import { type AlarmState, PRIORITIES } from '../control/guard/types.ts';
import type { ToldStatus as Status } from '../control/process/describe.ts';
import { STAGES as STAGE_TABLE } from '../control/process/stages.ts';
import type { Sentence } from '../language/told.ts';
import type { Plant } from '../station/plant.ts';

export type Datatype = 'integer' | 'float' | 'boolean' | 'string' | 'enum' | 'duration';
export type Kind =
  | 'station'
  | 'task'
  | 'refill'
  | 'batch'
  | 'exchange'
  | 'system'
  | 'alarms'
  | 'vessel'
  | 'route'
  | 'heater';

/** What the values are read from. */
export interface Shown {
  readonly status: Status;
  /** The last thing that was asked through the hub, and what became of it. */
  readonly last: { readonly result: 'none' | 'accepted' | 'refused'; readonly words: string };
}

/** Null: nobody knows, and then nothing stands on the topic. Text may be empty. */
export type Value = string | number | boolean | null;

export interface Row {
  readonly id: string;
  readonly name: string;
  readonly datatype: Datatype;
  /** For people who wire it. */
  readonly words: string;
  readonly unit?: string;
  /** As Homie wants it; an enum needs one. */
  readonly format?: string | ((plant: Plant, subject: string) => string);
  /** Left out where the station has nothing of it. */
  readonly when?: (plant: Plant, subject: string) => boolean;
  /** A property with a value is retained; one without is momentary. */
  readonly value?: (shown: Shown, subject: string) => Value;
  /** Where the value takes its time: what it is on its way to. */
  readonly target?: (shown: Shown, subject: string) => Value;
  /** What a command asks; a text says why it asks nothing. */
  readonly ask?: (value: string, subject: string, shown: Shown | null) => WrittenRequest | string;
}

export interface Part {
  readonly kind: Kind;
  readonly words: string;
  readonly over: (plant: Plant) => readonly { readonly id: string; readonly name: string }[];
  /** The id of the node. */
  readonly node: (subject: string) => string;
  readonly rows: readonly Row[];
}

export const PROCEDURES = 'idle,running,holding,held,restarting,complete,stopping,stopped,aborting,aborted';
export const STAGES = Object.keys(STAGE_TABLE).join(',');

export type UnitName = 'refill' | 'batch' | 'exchange';
export type Procedure = { readonly procedure: string; readonly message: Sentence };

export const one = (id: string, name: string) => () => [{ id, name }];
export const fixed = (id: string) => () => id;
export const prefixed = (kind: string) => (subject: string) => `${kind}-${subject}`;
export const listed = <T extends { readonly id: string; readonly name: string }>(
  record: Readonly<Record<string, T>>,
) => Object.values(record).map(({ id, name }) => ({ id, name }));

const isHeld = (all: readonly Procedure[]) =>
  all.length > 0 && all.every((unit) => unit.procedure === 'held');
const willBeHeld = (all: readonly Procedure[]) =>
  all.length > 0 && all.every(({ procedure }) => procedure === 'held' || procedure === 'holding');

/** What may be asked of a unit: a push button of three words, and a switch for hubs that know switches only. */
export function steering(unit: UnitName, of: (status: Status) => readonly Procedure[]): readonly Row[] {
  return [
    {
      id: 'ask',
      name: 'Ask',
      datatype: 'enum',
      format: 'start,hold,restart',
      words:
        "Asks it to start, to hold, or to restart after a hold. Whether it does is the station's decision.",
      ask: (value) => ({ request: value as 'start' | 'hold' | 'restart', unit }),
    },
    {
      id: 'held',
      name: 'Held',
      datatype: 'boolean',
      format: 'going on,held',
      words:
        'Whether it is held; setting it asks for a hold (true) or a restart (false). A hold takes until everything is off.',
      value: ({ status }) => isHeld(of(status)),
      target: ({ status }) => willBeHeld(of(status)),
      ask: (value) => ({ request: value === 'true' ? 'hold' : 'restart', unit }),
    },
  ];
}

export function procedure(of: (shown: Shown, subject: string) => Procedure | undefined): readonly Row[] {
  return [
    {
      id: 'procedure',
      name: 'Procedure',
      datatype: 'enum',
      format: PROCEDURES,
      words: 'Its procedural state, in the words of ISA-88.',
      value: (shown, subject) => of(shown, subject)?.procedure ?? null,
    },
    {
      id: 'words',
      name: 'In words',
      datatype: 'string',
      words: 'What it is doing, or what it waits for.',
      value: (shown, subject) => of(shown, subject)?.message.text ?? null,
    },
  ];
}

export const number = (
  id: string,
  name: string,
  unit: string,
  words: string,
  value: (shown: Shown, subject: string) => number | null | undefined,
  more: Partial<Row> = {},
): Row => ({
  id,
  name,
  datatype: 'float',
  unit,
  words,
  value: (shown, subject) => value(shown, subject) ?? null,
  ...more,
});

export const allowed = (
  of: (
    shown: Shown,
    id: string,
  ) => { readonly allowed: boolean; readonly why: readonly { readonly message: Sentence }[] } | undefined,
): readonly Row[] => [
  {
    id: 'allowed',
    name: 'Allowed',
    datatype: 'boolean',
    format: 'no,yes',
    words: 'Whether no interlock forbids it.',
    value: (shown, id) => of(shown, id)?.allowed ?? null,
  },
  {
    id: 'why',
    name: 'Why not',
    datatype: 'string',
    words: 'What forbids it.',
    value: (shown, id) =>
      of(shown, id)
        ?.why.map(({ message }) => message.text)
        .join('; ') ?? null,
  },
];

/** `70 PSU; refractometer`: a number means nothing without what it was measured with. */
export function measuredAs(text: string, vessel: string): WrittenRequest | string {
  const [value = '', ...rest] = text.split(';');
  const instrument = rest.join(';').trim();
  if (value.trim() === '' || instrument === '')
    return 'write the value, a semicolon and the instrument, for example 35.1 PSU; refractometer';
  return { request: 'salinity-measured', vessel, value: value.trim(), instrument };
}

/** `siphon-break/I-09/supply; Ada`: whoever did it has a name. */
export function doneBy(text: string): WrittenRequest | string {
  const [task = '', ...rest] = text.split(';');
  const who = rest.join(';').trim();
  if (task.trim() === '' || who === '')
    return 'write the task, a semicolon and who did it, for example siphon-break/I-09/supply; Ada';
  return { request: 'upkeep-done', task: task.trim(), who };
}

type Alarm = Status['alarms'][number];

/** A duration as ISO 8601 and Homie write it, in whole seconds; nothing for nobody knows. */
export function durationText(ms: number | null): string | null {
  if (ms === null || !Number.isFinite(ms)) return null;
  const seconds = Math.max(0, Math.round(ms / 1000));
  const parts = [
    [Math.floor(seconds / 3600), 'H'],
    [Math.floor(seconds / 60) % 60, 'M'],
    [seconds % 60, 'S'],
  ] as const;
  const said = parts.filter(([count]) => count > 0).map(([count, letter]) => `${count}${letter}`);
  return `PT${said.length === 0 ? '0S' : said.join('')}`;
}

export const UNTOLD_STATES: readonly AlarmState[] = [
  'normal',
  'shelved',
  'suppressed-by-design',
  'out-of-service',
];

/** What a person must be told of: whatever is neither normal nor shelved, suppressed or out of service. */
export const isTold = ({ state }: { readonly state: AlarmState }): boolean => !UNTOLD_STATES.includes(state);

/** The alarm of the highest priority, the first of them. */
export function worst(alarms: readonly Alarm[]): Alarm | undefined {
  return alarms
    .filter(isTold)
    .toSorted((a, b) => PRIORITIES.indexOf(b.priority) - PRIORITIES.indexOf(a.priority))[0];
}

/** `I-02/fresh` as one level of a topic, in the letters that Homie allows. */
export function alertId(alarm: string): string {
  return alarm.toLowerCase().replaceAll(/[^a-z0-9-]+/gu, '-');
}

/** The alarm that is meant: by its own id, or by the id of its alert. */
export function alarmMeant(written: string, alarms: readonly Alarm[]): string {
  return alarms.find(({ alarm }) => alarm === written || alertId(alarm) === written)?.alarm ?? written;
}
