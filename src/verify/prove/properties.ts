// What must hold of every tick, asked of what the core did and of what the water did; shares no rule with the core.
import { rowOf } from '../../control/guard/interlocks.ts';
import { actuatorsOf } from '../../control/guard/row-kinds.ts';
import type { Effect } from '../../control/guard/types.ts';
import type { Way } from '../../station/gaps.ts';
import type { Model } from './model.ts';
import type { Place, Ticked } from './tick.ts';
import { COARSE_BOUNDS, type HarmKind } from './water.ts';

export interface Breach {
  /** The same for the same accident, however it came about. */
  readonly key: string;
  /** What harm it is to what; null for what only the software can get wrong. */
  readonly harm: HarmKind | null;
  readonly about: string;
  readonly words: string;
  /** The routes or heaters by which it came, each by order or not; empty for what is no accident of water or heat. */
  readonly ways: readonly Way[];
  /** Everything by which it came had been told to be on. */
  readonly byOrder: boolean;
  /** Water or heat did harm, or the core stopped: nothing can be said of what comes after. */
  readonly final: boolean;
}

/** Every breach of this tick. */
export function breachesOf(model: Model, before: Place, after: Ticked): readonly Breach[] {
  const found: Breach[] = after.harms.flatMap(({ kind, about, by, spoiledBy = [], ticks, sinceStart }) => {
    const wayOf = (target: string): Way => ({ by: target, ordered: isOrdered(model, before, target) });
    const carried = by.map(wayOf);
    const byOrder =
      kind === 'dry' ? isOrdered(model, before, about) : carried.every(({ ordered }) => ordered);
    // What was ordered is looked at by instruments, which are given a tick at a start.
    const given = byOrder && sinceStart === true ? 1 : 0;
    const bound = given + COARSE_BOUNDS[kind][byOrder ? 'byOrder' : 'againstOrders'];
    const words = `${kind}: ${about}${by.length > 0 ? `, by ${by.join(', ')}` : ''}, ${byOrder ? 'as it was ordered' : 'against orders'}`;
    // Water that was spoiled against orders, and is then delivered by order, is the doing of what spoiled it.
    const spoilers = spoiledBy.map(wayOf).filter(({ ordered }) => !ordered);
    const ways = byOrder && spoilers.length > 0 ? spoilers : carried;
    return ticks <= bound
      ? []
      : [{ key: `${kind}: ${about}`, harm: kind, about, words, ways, byOrder, final: true }];
  });
  if (after.thrown !== null) return [...found, { ...ofCore('the core threw', after.thrown), final: true }];
  found.push(...trips(before, after), ...leases(model, after), ...doses(model, after));
  return found;
}

const ofCore = (key: string, words: string): Breach => ({
  key,
  harm: null,
  about: '',
  words,
  ways: [],
  byOrder: true,
  final: false,
});

/** Had everything on the way of a route, a heater or a pump been told to be on when the tick began? */
function isOrdered({ plant, pipes, switches }: Model, { state }: Place, target: string): boolean {
  const isOn = (id: string | null): boolean =>
    id === null || ((state.devices[id]?.on ?? false) && isOn(plant.actuators[id]?.upstream ?? null));
  const single = plant.heaters[target]?.actuator ?? target;
  const ways = pipes.filter(
    ({ id, through }) => id === target || through.some((at) => switches[at]?.id === target),
  );
  if (ways.length === 0) return isOn(single);
  return ways.some(({ through }) => through.every((at) => isOn(switches[at]?.id ?? null)));
}

/** A trip goes by a person's request and by nothing else. */
function trips(before: Place, after: Ticked): Breach[] {
  const asked = after.requests.some(({ ask }) => ask === 'reset-trip');
  const gone = Object.keys(before.state.trips).filter((key) => after.state.trips[key] === undefined);
  return asked ? [] : gone.map((key) => ofCore(`trip left: ${key}`, `${key} went by itself`));
}

/** An `on` leaves only with its whole lease, over a link that is up, for a target that no row forbids. */
function leases({ plant }: Model, { effects, state }: Ticked): Breach[] {
  return effects.flatMap((effect: Effect): Breach[] => {
    if (effect.do !== 'command' || !effect.on) return [];
    const { actuator, leaseMs } = effect;
    const known = plant.actuators[actuator];
    const breach = (words: string) => [ofCore(`on without a lease: ${actuator}`, `${actuator}: ${words}`)];
    if (known === undefined || leaseMs !== known.leaseMs || leaseMs <= 0)
      return breach(`a lease of ${leaseMs} ms`);
    if (!state.link.up) return breach('commanded on while the link is down');
    if (known.kind === 'signal') return [];
    const targets = [plant.routes, plant.heaters, plant.dosers].flatMap((all) => Object.keys(all));
    const allowed = targets.some(
      (target) => state.verdicts[target] === undefined && actuatorsOf(plant, target).includes(actuator),
    );
    return allowed ? [] : breach('commanded on while every target that uses it is forbidden');
  });
}

/** Salt that was just confirmed is not asked for again before it was measured: a second dose can't be taken out. */
function doses({ plant }: Model, { requests, state }: Ticked): Breach[] {
  const confirmed = requests.some((request) => request.ask === 'salt-added');
  const asksAgain = state.tasks[plant.mixingId]?.task === 'add-salt';
  const words = 'the salt that a person just added is asked for again';
  return confirmed && asksAgain ? [ofCore('salt asked for twice', words)] : [];
}

/** While all is well nothing trips, no row tells a person anything at once, and no unit waits for one: that is a false alarm. */
export function falseAlarms({ plant }: Model, before: Place, { state }: Ticked): readonly Breach[] {
  const trips = Object.keys(state.trips).filter((key) => before.state.trips[key] === undefined);
  const rows = new Set(Object.values(state.verdicts).flat());
  const told = [...rows].filter((key) => {
    const row = rowOf(plant, key);
    return row !== undefined && row.action === 'block' && row.priority !== null && row.afterMs === 0;
  });
  const stuck = state.batch.procedure === 'held' && state.batch.cause === 'process' ? ['the batch'] : [];
  return [
    ...trips.map((key) => ofCore(`a trip without a fault: ${key}`, `${key} tripped, and nothing is wrong`)),
    ...told.map((key) => ofCore(`an alarm without a fault: ${key}`, `${key} was told, and nothing is wrong`)),
    ...stuck.map((who) =>
      ofCore(`held without a fault: ${who}`, `${who} waits for a person, and nothing is wrong`),
    ),
  ];
}
