// 4b. Interlocks: the rows spread over this plumbing, evaluated, latched, and summed up into one verdict for each target.
//
// `verdict` is the only way to an actuator: a target (route, heater, doser) runs only while no row forbids it. Trips stay
// until they are reset; see `resets.ts`.

import type { Harm } from '../../station/gaps.ts';
import type { Plant } from '../../station/plant.ts';
import { known } from './invariant.ts';
import { AGE_CAP_MS } from './limits.ts';
import { type Look, sensors as sensorLooks } from './look.ts';
import { type Message, message } from './message.ts';
import { perPlant } from './per-plant.ts';
import {
  actuatorsOf,
  type Bypass,
  type Finding,
  type Holds,
  type Isolated,
  type Meaning,
  type RowKind,
  type Shown,
  type Subject,
} from './row-kinds.ts';
import { ROW_KINDS } from './rows.ts';
import type { GuardState, HoldCause } from './state.ts';
import type { Priority } from './types.ts';

/** One row of one station. */
export interface Row {
  /** Where it stands among the rows of its plant. */
  readonly place: number;
  /** `I-05`. */
  readonly id: string;
  /** `I-21/low`: the id, and what tells it from another kind of that id. */
  readonly kind: string;
  /** `I-05/transfer`: one of a kind in the station. */
  readonly key: string;
  /** The id of the route, vessel, device ... that it is about. */
  readonly subject: string;
  readonly about: Message;
  readonly hazard: Message;
  readonly harms: readonly Harm[];
  /** Whether it gives way for a load that is isolated and tried alone. */
  readonly isolated: Isolated | null;
  readonly finding: Finding | null;
  readonly hardware: Message;
  readonly action: 'block' | 'trip';
  readonly pattern: Message;
  readonly reset: Message;
  /** Of a trip: what shows that its cause is gone, or why nothing that is measured can. */
  readonly cleared: Shown | Message;
  readonly bypass: Bypass;
  /** What a phase may conclude from it; null: that it must wait. */
  readonly means: Meaning | null;
  readonly forbids: readonly string[];
  readonly needs: readonly string[];
  readonly priority: Priority | null;
  readonly afterMs: number;
  readonly cause: HoldCause | null;
  readonly words: Message;
  readonly response: Message;
  readonly proof: Message | null;
  /** The contact that a person moves for it; null without a proof test. */
  readonly proves: string | null;
  /** Why it has no proof test; nothing where it has one. */
  readonly unproven: Message;
  /** Of a row about a proof test: the key of the row that is tested. */
  readonly tests?: string;
  /** Of a trip: what its reset wipes, before it is asked again. */
  readonly afterReset?: (draft: GuardState) => void;
  readonly holds: Holds;
  /** What it looks at beside the sensors that it needs, as it stands. */
  readonly looks: (state: GuardState) => readonly Look[];
}

/** Every row that follows from the plumbing, in the order of the table; worked out once for a plant. */
export const deriveRows = perPlant((plant): readonly Row[] => {
  const spread = (kinds: readonly RowKind[], about: readonly Unplaced[]): Unplaced[] =>
    kinds.flatMap((kind) => kind.over(plant, about).map((subject) => rowAbout(plant, kind, subject)));
  const rows = spread(
    ROW_KINDS.filter(({ aboutRows }) => aboutRows === undefined),
    [],
  );
  const aboutRows = spread(
    ROW_KINDS.filter((kind) => kind.aboutRows),
    rows,
  );
  return [...rows, ...aboutRows].map((row, place) => ({ place, ...row }));
});
export type Unplaced = Omit<Row, 'place'>;
const NO_TRIP: Shown = { inputs: [] };

/** What a row is about, by its name. */
function thing(plant: Plant, subject: Subject): Message {
  const { id } = subject;
  if (subject === plant) return message('the-station', { station: id });
  if (subject === plant.vessels[id]) return message('the-vessel', { vessel: id });
  if (subject === plant.routes[id]) return message('the-route', { route: id });
  if (subject === plant.sensors[id]) return message('the-sensor', { sensor: id });
  if (subject === plant.heaters[id]) return message('the-heater', { heater: id });
  return subject === plant.exercises[id]
    ? message('the-valve', { valve: id })
    : message('the-device', { device: id });
}

/** `I-21/low`. */
export const nameOfKind = ({ id, suffix }: RowKind): string => [id, suffix].filter(Boolean).join('/');

const rowAbout = (plant: Plant, kind: RowKind, subject: Subject): Unplaced => ({
  ...provenBy(plant, kind, subject),
  id: kind.id,
  kind: nameOfKind(kind),
  subject: subject.id,
  key: [kind.id, subject.id, kind.suffix].filter(Boolean).join('/'),
  about: kind.about?.(subject) ?? thing(plant, subject),
  hazard: kind.hazard,
  harms: kind.harms ?? [],
  isolated: kind.isolated ?? null,
  finding: kind.finding ?? null,
  hardware: kind.hardware,
  action: kind.action,
  pattern: kind.pattern,
  reset: kind.reset,
  cleared: typeof kind.cleared === 'function' ? kind.cleared(plant, subject) : (kind.cleared ?? NO_TRIP),
  bypass: kind.bypass,
  means: kind.means ?? null,
  forbids: kind.forbids(plant, subject),
  needs: kind.needs?.(plant, subject) ?? [],
  priority: kind.priority ?? null,
  afterMs: kind.afterMs ?? 0,
  cause: kind.action === 'trip' ? 'trip' : (kind.cause ?? null),
  words: kind.words(plant, subject),
  response: kind.response?.(plant, subject) ?? message('nothing'),
  ...(kind.tests === undefined ? {} : { tests: kind.tests(subject) }),
  ...(kind.afterReset === undefined ? {} : { afterReset: kind.afterReset }),
  holds: kind.holds(plant, subject),
  looks: (state: GuardState) => kind.looks?.(plant, state, subject.id, subject) ?? [],
});

function provenBy(plant: Plant, kind: RowKind, subject: Subject) {
  const proves = kind.proves?.(plant, subject) ?? null;
  const proof = proves === null ? null : (kind.proof?.(plant, subject) ?? null);
  return {
    proves,
    proof,
    unproven: proof === null ? (kind.unproven ?? message('unproven-no-contact')) : message('nothing'),
  };
}

/** The rows about proof tests can hold only while one is under way or far too late: at other times nobody asks them. */
const withoutTests = perPlant((plant) => deriveRows(plant).filter((row) => row.tests === undefined));

/** Evaluates every row, latches trips, and leaves the verdicts in the state. @returns the rows that hold, in their order */
export function judge(plant: Plant, draft: GuardState, elapsedMs: number): readonly Row[] {
  const verdicts: Record<string, string[]> = {};
  const holding: Row[] = [];
  const { trips } = draft;
  let latched = false;
  for (const key in trips) {
    latched = true;
    trips[key] = Math.min(known(trips, key) + elapsedMs, AGE_CAP_MS);
  }
  const { test, beyondGrace } = draft.proofs;
  for (const row of test === null && beyondGrace === 0 ? withoutTests(plant) : deriveRows(plant)) {
    const holds = row.holds(draft);
    if (holds) {
      holding.push(row);
      if (row.action === 'trip') trips[row.key] ??= 0;
      else if (draft.bypasses[row.key] !== undefined) continue;
    } else if (!latched || row.action === 'block' || trips[row.key] === undefined) continue;
    for (const target of row.forbids) {
      const why = verdicts[target];
      if (why) why.push(row.key);
      else verdicts[target] = [row.key];
    }
  }
  draft.verdicts = verdicts;
  return holding;
}

/** What a trip cuts off that was latched just now: told so once more, even where its feedback says that it is off. */
export function justCutOff(plant: Plant, state: GuardState): ReadonlySet<string> {
  let cut = NONE_CUT;
  for (const key in state.trips) {
    if (state.trips[key] !== 0) continue;
    const targets = rowOf(plant, key)?.forbids ?? [];
    cut = new Set([...cut, ...targets.flatMap((target) => actuatorsOf(plant, target))]);
  }
  return cut;
}
const NONE_CUT: ReadonlySet<string> = new Set();

/** May this target run? */
export const isAllowed = (state: GuardState, target: string): boolean => state.verdicts[target] === undefined;

/** The keys of the rows that forbid a target now. */
export const forbiddenBy = (state: GuardState, target: string): readonly string[] =>
  state.verdicts[target] ?? [];

/** What this row looks at, in the order in which a person would look. */
export function looksOf(row: Row, state: GuardState): readonly Look[] {
  const shown = row.looks(state);
  const already = shown.flatMap((one) => (one.input === 'sensor' ? [one.sensor] : []));
  return [...sensorLooks(...row.needs.filter((need) => !already.includes(need))), ...shown];
}

const byKey = perPlant((plant) => new Map(deriveRows(plant).map((row) => [row.key, row])));

export const rowOf = (plant: Plant, key: string): Row | undefined => byKey(plant).get(key);

/** Also of a row that this plant does not have, or that another release had. */
export const isRowKey = (text: string): boolean => /^I-\d/u.test(text);
