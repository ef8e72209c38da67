// 6. Commands: what is wanted AND allowed, each as a lease. Nothing comes after this file, and nothing else makes commands.
//
// `off` needs no lease and goes first, pumps before valves; it is repeated, a bounded number of times, until proven. `on`
// is given and renewed only on a control tick, from the supply downwards: a pump starts once what lies on its way is open.
import type { Plant } from '../../station/plant.ts';
import { type Alone, isAllowedAlone } from './alone.ts';
import { feedbackOf } from './evidence.ts';
import { isAllowed, justCutOff } from './interlocks.ts';
import { invariant, known } from './invariant.ts';
import { AGE_CAP_MS, OFF_REPEAT_MS, OFF_REPEATS, OFF_SLOW_MS, RENEWAL_SHARE } from './limits.ts';
import { perPlant } from './per-plant.ts';
import { actuatorsOf } from './row-kinds.ts';
import type { GuardState } from './state.ts';
import type { Effect } from './types.ts';
import { isLinked } from './watched.ts';

/** What the process would like to run, in order of preference; the rows have not been asked yet. */
export interface Wants {
  /** Routes, heaters, dosers. */
  readonly targets: string[];
  /** Signals: outputs that move neither water nor heat. */
  readonly signals: string[];
  /** While a station is commissioned: one output, and nothing else. */
  readonly alone?: Alone;
}

export function command(plant: Plant, draft: GuardState, wants: Wants, tick: boolean): Effect[] {
  if (wants.alone !== undefined) return commandAlone(plant, draft, wants.alone, tick);
  const targets = grant(plant, draft, wants);
  const meant = outputs(plant, draft, targets, wants.signals);
  const commands: Effect[] = [];
  const again = justCutOff(plant, draft);
  for (const id of downstreamFirst(plant)) if (!meant.has(id)) turnOff(draft, id, again.has(id), commands);
  if (!tick || !draft.link.up) return commands;
  for (const id of upstreamFirst(plant))
    if (meant.has(id) && mayPull(plant, draft, id, targets)) turnOn(plant, draft, id, commands);
  return commands;
}

function commandAlone(plant: Plant, draft: GuardState, alone: Alone, tick: boolean): Effect[] {
  const commands: Effect[] = [];
  const allowed = isAllowedAlone(plant, draft, alone);
  const meant = outputs(plant, draft, [], allowed ? [alone.output] : []);
  const again = justCutOff(plant, draft);
  for (const id of downstreamFirst(plant)) if (!meant.has(id)) turnOff(draft, id, again.has(id), commands);
  if (!tick || !draft.link.up) return commands;
  const isTold = known(draft.devices, alone.output).on;
  for (const id of meant)
    if (id !== alone.output || alone.renewed || !isTold) turnOn(plant, draft, id, commands);
  return commands;
}

/** Wanted and allowed; of two that exclude each other, the one wanted first. */
function grant(plant: Plant, draft: GuardState, wants: Wants): readonly string[] {
  const granted: string[] = [];
  for (const target of wants.targets) {
    const excluded = plant.routes[target]?.excludes.some((other) => granted.includes(other)) ?? false;
    if (!excluded && isAllowed(draft, target) && !granted.includes(target)) granted.push(target);
  }
  return granted;
}

function outputs(
  plant: Plant,
  draft: GuardState,
  targets: readonly string[],
  signals: readonly string[],
): ReadonlySet<string> {
  const meant = new Set<string>(signals);
  for (const target of targets) for (const id of actuatorsOf(plant, target)) meant.add(id);
  const healthy = isLinked(plant, draft) && draft.link.lateMs === 0;
  if (plant.alive !== null && healthy) meant.add(plant.alive);
  for (const target of targets)
    invariant(isAllowed(draft, target), 'nothing forbidden is granted', { target });
  return meant;
}

const RANK = { pump: 0, heater: 0, doser: 0, valve: 1, contactor: 2, signal: 3 } as const;

/** Pumps and heaters, then valves, then what cuts off others. */
const downstreamFirst = perPlant((plant): readonly string[] =>
  Object.values(plant.actuators)
    .toSorted((a, b) => RANK[a.kind] - RANK[b.kind])
    .map((a) => a.id),
);
const upstreamFirst = perPlant((plant) => downstreamFirst(plant).toReversed());

/** What moves water or heat waits until everything else on its way is open. */
function mayPull(plant: Plant, draft: GuardState, id: string, targets: readonly string[]): boolean {
  const { kind } = known(plant.actuators, id);
  if (kind !== 'pump' && kind !== 'heater' && kind !== 'doser') return true;
  if (known(draft.devices, id).on) return true;
  return targets
    .map((target) => actuatorsOf(plant, target))
    .filter((way) => way.includes(id))
    .some((way) => way.every((other) => other === id || isOpen(plant, draft, other)));
}

function isOpen(plant: Plant, draft: GuardState, id: string): boolean {
  if (!known(draft.devices, id).on) return false;
  return known(plant.actuators, id).feedback === null || feedbackOf(plant, draft, id) === true;
}

/** @param again also where it is proven: the proof may be what is wrong */
function turnOff(draft: GuardState, id: string, again: boolean, commands: Effect[]): void {
  const device = known(draft.devices, id);
  if (device.on) Object.assign(device, { on: false, sinceMs: 0, offsSent: 0, provenOff: false });
  else if (device.provenOff && !again) return;
  else if (
    device.offsSent > 0 &&
    device.sinceSentMs < (device.offsSent < OFF_REPEATS ? OFF_REPEAT_MS : OFF_SLOW_MS)
  )
    return;
  if (!draft.link.up) return;
  device.offsSent = Math.min(device.offsSent + 1, OFF_REPEATS);
  device.sinceSentMs = 0;
  commands.push({ do: 'command', actuator: id, on: false, leaseMs: 0 });
}

function turnOn(plant: Plant, draft: GuardState, id: string, commands: Effect[]): void {
  const { leaseMs, longestMs, countsLease } = known(plant.actuators, id);
  const device = known(draft.devices, id);
  if (device.on && device.sinceSentMs < leaseMs * RENEWAL_SHARE) return;
  if (!device.on) Object.assign(device, { on: true, sinceMs: 0, offsSent: 0, provenOff: false });
  device.sinceSentMs = 0;
  device.leaseLeftMs = countsLease ? longestMs : AGE_CAP_MS;
  invariant(
    device.foreignMs === 0 || known(plant.actuators, id).kind === 'signal',
    'a foreign command keeps it off',
    { id },
  );
  commands.push({ do: 'command', actuator: id, on: true, leaseMs });
}
