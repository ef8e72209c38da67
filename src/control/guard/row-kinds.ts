// The shape of an interlock row, and the few questions about the plumbing that the table in `rows.ts` asks again and again.

import type { Exercise } from '../../station/exercise.ts';
import type { Harm } from '../../station/gaps.ts';
import type { Plant, Vessel } from '../../station/plant.ts';
import type { Unplaced } from './interlocks.ts';
import { known } from './invariant.ts';
import type { Look } from './look.ts';
import { type Message, message } from './message.ts';
import { perPlant } from './per-plant.ts';
import type { GuardState, HoldCause } from './state.ts';
import type { Priority } from './types.ts';

/** May a person switch a row off for a while, and why (not). */
export interface Bypass {
  readonly may: boolean;
  readonly because: Message;
}

/** @param because what must be so for the time of the bypass; it is told to whoever asks for one */
export const may = (because: Message): Bypass => ({ may: true, because });
const never = (because: Message): Bypass => ({ may: false, because });

/** Why a row is never bypassed. Trips never are: they have a reset. */
export const NEVER = {
  overflow: never(message('keeps-from-overflowing')),
  dry: never(message('keeps-from-dry-running')),
  flood: never(message('keeps-floor-dry')),
  heat: never(message('keeps-heater-safe')),
  water: never(message('keeps-wrong-water-out')),
  crossed: never(message('keeps-waters-apart')),
  device: never(message('keeps-disobedient-device-off')),
  blind: never(message('keeps-all-heard')),
  pause: never(message('ends-within-the-hour')),
  retried: never(message('tries-again-by-itself')),
  test: never(message('ends-with-proof-test')),
  exercise: never(message('ends-with-exercise')),
} as const;

/** Does a row hold in this state? */
export type Holds = (state: GuardState) => boolean;

/**
 * What shows, while everything is off, that the cause of a trip is gone. Silence shows nothing: every input must be fresh, and
 * `so` must hold where the row's own silence could mean two things. Null: nothing measured can show it, for the reason that
 * the kind gives, so a named person looks.
 */
export interface Shown {
  /** Sensors, and actuators by their feedback. */
  readonly inputs: readonly string[];
  readonly so?: Holds;
}

/**
 * What a phase may conclude from a row beyond that it must wait: a sensor or feedback that a target needs is `silent`, a leak
 * sensor is (`unattended`), the link is (`unlinked`); there is too little to pump (`empty`), or no room (`brim`); another
 * target is in the way for the moment (`passing`), or it waits as it should (`resting`); a device `disobeys`; it is `tested`
 * by hand now.
 */
export type Meaning =
  | 'silent'
  | 'unattended'
  | 'unlinked'
  | 'empty'
  | 'brim'
  | 'passing'
  | 'resting'
  | 'disobeys'
  | 'tested';

/**
 * What a row finds, where others than its own words speak of it: less flow than there must be, water that flows unasked, a
 * level that does not follow the flows (while something ran, or at rest), a device that is on unasked, a foreign command.
 */
export type Finding =
  | 'no-flow'
  | 'flow-at-rest'
  | 'level-off-book'
  | 'level-at-rest'
  | 'on-unasked'
  | 'foreign-command';

/** What a row is about: a route, a vessel, a device ... */
export interface Subject {
  readonly id: string;
  readonly name: string;
}

/** One kind of row, before it is spread over the plumbing. S is what it is about: a route, a vessel, a device ... */
export type Isolated = 'gives-way' | 'heaters-stay';

export interface RowKindOf<S> {
  readonly id: string;
  readonly hazard: Message;
  /** What it keeps from happening, the worst first; absent: it guards what all others rest on, and no harm of its own. */
  readonly harms?: readonly Harm[];
  /** Protects only the load itself: it gives way while that is isolated and tried alone, see `alone.ts`; or only where it is no heater. */
  readonly isolated?: Isolated;
  readonly finding?: Finding;
  /** What the station must have for this row to exist. */
  readonly hardware: Message;
  readonly action: 'block' | 'trip';
  /** What fresh evidence must say for it to hold. */
  readonly pattern: Message;
  /** What ends it. A trip is latched until a person resets it; a block ends by itself. */
  readonly reset: Message;
  /** Of a trip: what must be heard before it is reset without a name; or why only a person can see that the cause is gone. */
  readonly cleared?: Message | ((plant: Plant, subject: S) => Shown);
  readonly bypass: Bypass;
  /** Tells two kinds of one id apart. */
  readonly suffix?: string;
  /** Raises an alarm of this priority while it holds or is latched; absent: it only explains a wait. */
  readonly priority?: Priority;
  /** The alarm (never the row) waits this long. */
  readonly afterMs?: number;
  /** Holds the phases that it forbids, for this cause; a trip always does. */
  readonly cause?: HoldCause;
  readonly means?: Meaning;
  /** It is about other rows: every row that is not, wherever it stands in the table. */
  readonly aboutRows?: true;
  /** @param rows those that are not about rows; empty where this kind is not about rows either */
  readonly over: (plant: Plant, rows: readonly Unplaced[]) => readonly S[];
  /** Sensors whose silence forbids the target (row I-12). */
  readonly needs?: (plant: Plant, subject: S) => readonly string[];
  /** What the plumbing fixes is looked up once for a plant; what is left asks the state, at every step. */
  readonly holds: (plant: Plant, subject: S) => Holds;
  /** The routes, heaters and dosers that are off while it holds or is latched. */
  readonly forbids: (plant: Plant, subject: S) => readonly string[];
  /** What it looks at, beside the sensors that it needs: values with their limits. */
  readonly looks?: (plant: Plant, state: GuardState, id: string, subject: S) => readonly Look[];
  /** What it is about, where that is more than the name of its subject. */
  readonly about?: (subject: S) => Message;
  readonly words: (plant: Plant, subject: S) => Message;
  readonly response?: (plant: Plant, subject: S) => Message;
  /** How a person proves that it works, with nothing energised ... */
  readonly proof?: (plant: Plant, subject: S) => Message;
  /** ... and the contact that they move; nothing where this subject has no such contact. */
  readonly proves?: (plant: Plant, subject: S) => string | undefined;
  /** Of a row about a proof test: the key of the row that is tested. */
  readonly tests?: (subject: S) => string;
  /** Of a trip: what its reset wipes, before it is asked again. */
  readonly afterReset?: (draft: GuardState) => void;
  /** Why there is no proof test. */
  readonly unproven?: Message;
}

export type RowKind = RowKindOf<Subject>;

/** Forgets which subject a kind is about; `interlocks.ts` hands each kind only the subjects that it named itself. */
export const kind = <S extends Subject>(row: RowKindOf<S>): RowKind => row as unknown as RowKind;

/** Every route, heater and doser, and every exercise that the service does itself. */
export const all = (plant: Plant): readonly string[] => [
  ...Object.keys(plant.routes),
  ...Object.keys(plant.heaters),
  ...Object.keys(plant.dosers),
  ...exercisedBySelf(plant).map(({ id }) => exerciseOf(id)),
];

/** The target by which a valve is moved and nothing else; no id of a file has a colon. */
export const exerciseOf = (valveId: string): string => `exercise:${valveId}`;

export const exercisedBySelf = perPlant((plant): readonly Exercise[] =>
  Object.values(plant.exercises).filter(({ byHand }) => byHand === null),
);

/** What would push water through a valve that is being exercised, or needs it for itself. */
export const disturbing = (plant: Plant, { id, others }: Exercise): readonly string[] =>
  all(plant).filter((target) => {
    if (target === exerciseOf(id)) return false;
    const shut = plant.routes[target]?.shut ?? [];
    return [...actuatorsOf(plant, target), ...shut].some((part) => part === id || others.includes(part));
  });

/** The actuators that a target needs, those upstream included. */
export const actuatorsOf = (plant: Plant, target: string): readonly string[] => known(ways(plant), target);

const ways = perPlant((plant) => {
  const found: Record<string, readonly string[]> = {};
  for (const { id, through, upstream } of Object.values(plant.routes)) found[id] = [...through, ...upstream];
  for (const { id, actuator } of [...Object.values(plant.heaters), ...Object.values(plant.dosers)])
    found[id] = [actuator, ...upstreamOf(plant, actuator)];
  // The valve alone: what lies upstream of it must stay off.
  for (const { id } of exercisedBySelf(plant)) found[exerciseOf(id)] = [id];
  return found;
});

export function upstreamOf(plant: Plant, actuatorId: string): readonly string[] {
  const chain: string[] = [];
  for (
    let id = known(plant.actuators, actuatorId).upstream;
    id !== null;
    id = known(plant.actuators, id).upstream
  )
    chain.push(id);
  return chain;
}

/** The targets that need an actuator. */
export const usersOf = (plant: Plant, actuatorId: string): readonly string[] =>
  all(plant).filter((target) => actuatorsOf(plant, target).includes(actuatorId));

/** The targets that need an actuator or anything that must be cut off with it. */
export const sharing = (plant: Plant, actuatorId: string): readonly string[] =>
  cuttingOff(plant, usersOf(plant, actuatorId));

/** Targets, and all others that hang on what lies upstream of them: cutting the supply cuts those too. */
export function cuttingOff(plant: Plant, targets: readonly string[]): readonly string[] {
  const cut = new Set<string>(targets);
  const supplies = new Set<string>();
  for (const target of targets) {
    for (const id of actuatorsOf(plant, target)) for (const up of upstreamOf(plant, id)) supplies.add(up);
  }
  for (const up of supplies) for (const target of usersOf(plant, up)) cut.add(target);
  for (const { id } of exercisedBySelf(plant))
    if ([...cut].some((target) => actuatorsOf(plant, target).includes(id))) cut.add(exerciseOf(id));
  return [...cut];
}

/** The routes that bring water into a vessel and could make it run over: a drain takes whatever comes. */
export function feeding(plant: Plant, vesselId: string): readonly string[] {
  const { capacityL, into } = known(plant.vessels, vesselId);
  return Number.isFinite(capacityL) ? into : [];
}

/**
 * The routes that bring water into a vessel, and those that fill what these draw from: one that siphons goes on for as long as
 * its source is filled.
 */
export function inflowsOf(plant: Plant, vesselId: string): readonly string[] {
  const { into } = known(plant.vessels, vesselId);
  return [...new Set([...into, ...into.flatMap((id) => feeding(plant, known(plant.routes, id).from))])];
}

/** Both sides of an exchange: what touches the system of this route, and what fills the source of one that might siphon. */
export function around(
  plant: Plant,
  route: { readonly from: string; readonly to: string; readonly purpose: string },
) {
  const system = known(plant.vessels, route.purpose === 'supply' ? route.to : route.from);
  return [...inflowsOf(plant, system.id), ...system.outOf];
}

export const lowOf = (plant: Plant, vesselId: string): string | undefined =>
  known(plant.vessels, vesselId).floats.low;

/** Can anything at all say that this vessel is not full? */
export const hasContentsEvidence = (vessel: Vessel): boolean =>
  vessel.level !== null || vessel.floats.high !== undefined || vessel.floats.overflow !== undefined;

/** What may still come into a vessel after this moment if everything into it ran until its lease ended. */
export function underWayL(
  plant: Plant,
  state: GuardState,
  route: { readonly id: string; readonly to: string },
): number {
  let litres = 0;
  for (const id of known(plant.vessels, route.to).into) {
    if (id !== route.id && known(state.routes, id).running === 'no') continue;
    const other = known(plant.routes, id);
    litres += (other.leaseMs / 60_000) * other.flowMostLpm;
  }
  return litres;
}

/** A float of this vessel is being moved by hand, to prove another row than this one. */
export const movedFor = (state: GuardState, vesselId: string, key: string): boolean =>
  state.proofs.test !== null && state.proofs.test.vessel === vesselId && state.proofs.test.row !== key;

/** What one route more may still draw from the vessel of a heater. */
export const drawUnderWayL = (plant: Plant, heater: { readonly vessel: string }): number =>
  Math.max(
    0,
    ...known(plant.vessels, heater.vessel)
      .outOf.map((id) => known(plant.routes, id))
      .map((r) => (r.leaseMs / 60_000) * r.flowMostLpm),
  );

/** A device that can't be stopped: nothing may feed what it empties, nor what it fills; and its supply is cut. */
export function strandedBy(plant: Plant, actuator: { readonly id: string }): readonly string[] {
  const users = usersOf(plant, actuator.id);
  const ends = users.flatMap((id) => {
    const route = plant.routes[id];
    if (route) return [...feeding(plant, route.from), ...feeding(plant, route.to)];
    const heater = plant.heaters[id];
    return heater ? known(plant.vessels, heater.vessel).outOf : [];
  });
  return cuttingOff(plant, [...users, ...ends]);
}
