// What all units (refill, batch, exchange) share: when protection holds them, when they are quiet, and what may go on by
// itself. The policy is the station file's; a trip, a person's hold and a process that is stuck always wait for a person.

import type { Plant } from '../../station/plant.ts';
import { rowOf } from '../guard/interlocks.ts';
import { known } from '../guard/invariant.ts';
import { CLOCK_MS } from '../guard/limits.ts';
import { type Message, message } from '../guard/message.ts';
import { perPlant } from '../guard/per-plant.ts';
import { actuatorsOf } from '../guard/row-kinds.ts';
import type { HoldCause } from '../guard/state.ts';
import { isWithheld } from './commissioned.ts';
import { hold, move, pass } from './procedure.ts';
import type { State, UnitState } from './state.ts';

const DAY_MS = 86_400_000;

/** The targets of each unit: refill, batch, and the exchange of each system by the system's id. */
export const targetsOf = perPlant((plant) => {
  const routes = Object.values(plant.routes);
  const byPurpose = (...purposes: string[]) =>
    routes.filter((r) => purposes.includes(r.purpose)).map((r) => r.id);
  const ofSystem = (system: string): readonly string[] =>
    routes
      .filter(
        (r) => (r.purpose === 'supply' && r.to === system) || (r.purpose === 'drain' && r.from === system),
      )
      .map((r) => r.id);
  return {
    refill: byPurpose('refill', 'flush'),
    batch: [
      ...byPurpose('transfer', 'circulate'),
      ...Object.keys(plant.heaters),
      ...Object.keys(plant.dosers),
    ],
    exchange: Object.fromEntries(plant.systemIds.map((id) => [id, ofSystem(id)])),
  };
});

/** Time, holds by protection, the end of transient states, and restarts that the policy allows. */
export function supervise(
  plant: Plant,
  draft: State,
  unit: UnitState,
  targets: readonly string[],
  elapsedMs: number,
): void {
  const { restarts } = plant.policy;
  pass(unit, elapsedMs);
  unit.restarts = Math.min(restarts.perDay, unit.restarts + (elapsedMs / DAY_MS) * restarts.perDay);
  const doubts = holdByRows(plant, draft, unit, targets);
  unit.freshMs = doubts ? 0 : unit.freshMs + elapsedMs;
  const proven = targets.every((target) => rests(plant, draft, target));
  if (proven) move(unit, 'quiet', unit.words);
  const qualified = unit.freshMs >= restarts.evidenceStandsForMs;
  if (unit.procedure === 'held' && qualified && mayRestart(plant, draft, unit)) {
    unit.restarts -= 1;
    move(unit, 'restart', message('going-on-by-itself'));
  }
  if (unit.procedure === 'restarting' && !doubts) move(unit, 'ready', message('going-on'));
}

/** A route rests when one actuator on its way is proven off: a shared pump may well serve another. */
function rests(plant: Plant, draft: State, target: string): boolean {
  const pipe = draft.routes[target];
  if (pipe) return pipe.running === 'no';
  return actuatorsOf(plant, target).some((id) => known(draft.devices, id).provenOff);
}

/** @returns whether anything that these targets need is in doubt (blind, or a row that holds phases) */
function holdByRows(plant: Plant, draft: State, unit: UnitState, targets: readonly string[]): boolean {
  let doubts = false;
  for (const target of targets)
    for (const key of draft.verdicts[target] ?? NONE) {
      const row = rowOf(plant, key);
      if (row === undefined) continue;
      if (row.cause !== null) hold(unit, row.cause, message('held-by-row', { row: row.id, why: row.words }));
      if (row.cause !== null || row.means === 'silent' || row.means === 'unattended') doubts = true;
    }
  return doubts;
}
const NONE: readonly string[] = [];

/** Whether the policy lets it go on by itself once what it needs is fresh again. */
export function mayRestart(plant: Plant, state: State, unit: UnitState): boolean {
  if (unit.restarts < 1 || isWithheld(state)) return false;
  const { afterLinkLoss, afterPowerCut } = plant.policy.restarts;
  const by: Readonly<Record<HoldCause, boolean>> = {
    link: afterLinkLoss === 'itself',
    late: afterLinkLoss === 'itself',
    power: afterPowerCut === 'itself',
    foreign: false,
    process: false,
    person: false,
    trip: false,
  };
  return unit.cause !== null && by[unit.cause];
}

/** Whether quiet hours keep this from starting: `yes`, `no`, or `unknown` while the time of day is not trusted. */
export function isQuiet(
  plant: Plant,
  state: State,
  what: 'refill' | 'transfer' | 'exchange' | 'circulate',
): 'yes' | 'no' | 'unknown' {
  const hours = plant.process.quietHours;
  if (hours === null || !hours.rest.includes(what)) return 'no';
  const { clock } = state;
  if (!clock.trusted || clock.ageMs > CLOCK_MS) return 'unknown';
  const now = (clock.minuteOfDay + clock.ageMs / 60_000) % 1_440;
  const { fromMinute, toMinute } = hours;
  const within =
    fromMinute <= toMinute ? now >= fromMinute && now < toMinute : now >= fromMinute || now < toMinute;
  return within ? 'yes' : 'no';
}

export const quietWords = (quiet: 'yes' | 'unknown'): Message =>
  quiet === 'yes' ? message('waiting-quiet-hours') : message('waiting-no-clock');

/** A unit by its own word; an exchange by the system that it is about. */
export const unitSaid = (draft: State, name: string): string | Message =>
  draft.exchange[name] === undefined ? name : message('exchange-of', { system: name });
