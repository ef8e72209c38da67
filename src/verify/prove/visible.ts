// What no guard could hold: worked out for each accident, never typed. Beside the water as it is go all waters that a station
// without any fault could have, through the same commands and the same hands; what they would say is held against what was
// heard. In the tick in which none of them is left the fault can be seen. From then on everything is told to be off: what still
// happens is beyond any guard; what does not was this one's to hold.
import type { Input, Request } from '../../control/guard/types.ts';
import { type Broken, brokenOf } from './broken.ts';
import { LEASE_TICKS } from './coarse-plant.ts';
import { has } from './defect-kinds.ts';
import type { Defect } from './defects.ts';
import type { Model } from './model.ts';
import { heard } from './senses.ts';
import { salinityIn } from './spoken.ts';
import { GAP_TICKS, type Place, type Ticked } from './tick.ts';
import { COARSE_BOUNDS, command, copyOf, FOREVER, type Harm, pass, type Water } from './water.ts';

/** One tick of the way to an accident, as it went. */
export interface Went {
  readonly before: Place;
  readonly after: Ticked;
  readonly broken: Broken;
  readonly once: readonly Defect[];
  readonly way: number;
  /** What the person does by hand. */
  readonly person: (water: Water) => readonly Request[];
}

/** More than anything takes to come to rest. */
const AFTER_TICKS = 4 * LEASE_TICKS;

/** Would this harm have come although everything went off as soon as anybody could know? @param vessels whose contents nobody knows at the beginning */
export function isBeyondAny(
  model: Model,
  went: readonly Went[],
  key: string,
  vessels: readonly string[],
): boolean {
  const at = seenAt(model, went, vessels);
  if (at === null || at >= went.length - 1) return true;
  const last = went[at] as Went;
  const water = copyOf(last.after.water);
  allOff(model, water, last.broken);
  for (let tick = at + 1; tick < went.length + AFTER_TICKS; tick++) {
    const { broken, way, once, person } = went[Math.min(tick, went.length - 1)] as Went;
    const happens = tick < went.length ? once : [];
    if (tick < went.length) person(water);
    for (const { kind, at: relay } of happens) if (kind === 'restarts-on') water.relay[relay] = FOREVER;
    const gone = happens.reduce((sum, { kind }) => sum + (GAP_TICKS[kind] ?? 0), 0);
    for (let gap = 0; gap <= gone; gap++)
      if (pass(model, water, broken, way).some((harm) => isIt(harm, key))) return true;
    allOff(model, water, broken);
  }
  return false;
}

const isIt = ({ kind, about, ticks }: Harm, key: string): boolean =>
  `${kind}: ${about}` === key && ticks > COARSE_BOUNDS[kind].againstOrders;

function allOff(model: Model, water: Water, broken: Broken): void {
  if (broken.link !== 'up') return;
  for (let at = 0; at < model.switches.length; at++) command(model, water, broken, at, false);
}

/** The tick in which no station without a fault could say what was heard; null: never on this way. */
function seenAt(model: Model, went: readonly Went[], vessels: readonly string[]): number | null {
  const healthy = brokenOf(model, []);
  let worlds = worldsOf(model, went[0] as Went, vessels);
  for (const [at, { before, after, once, broken }] of went.entries()) {
    const isKnown = [...once, ...broken.defects].some(({ kind }) => has(kind, 'known'));
    if (isKnown) return at;
    const gaps = once.reduce((sum, { kind }) => sum + (GAP_TICKS[kind] ?? 0), 0);
    const said = wordsOf(after.inputs);
    worlds = worlds.filter((water) => {
      for (const request of after.requests) if (!happens(model, water, request)) return false;
      for (let gap = 0; gap <= gaps; gap++) pass(model, water, healthy, 0);
      if (wordsOf(heard(model, before.state, water, healthy, 0)) !== said) return false;
      for (const effect of after.effects)
        if (effect.do === 'command')
          command(
            model,
            water,
            healthy,
            model.switches.findIndex(({ id }) => id === effect.actuator),
            effect.on,
          );
      // It counted the same, and counts on from there.
      water.unheard.splice(0, water.unheard.length, ...after.water.unheard);
      return true;
    });
    if (worlds.length === 0) return at;
  }
  return null;
}

/** What is heard beside requests. */
const wordsOf = (inputs: readonly Input[]): string =>
  JSON.stringify(
    inputs.filter(({ type }) => type === 'reading' || type === 'bad-reading' || type === 'feedback'),
  );

/** What a person says is so in this water, or becomes so by it. */
function happens(model: Model, water: Water, request: Request): boolean {
  if (request.ask === 'salt-added') water.loose += Math.round((request.massKg ?? 0) / model.kgPerUnit);
  return request.ask !== 'salinity-measured' || Math.abs(salinityIn(model, water) - request.salinity) < 1e-6;
}

/** Every contents that these vessels can have, with every salt; the others as they were. */
function worldsOf({ vessels, mixing }: Model, { before }: Went, unknown: readonly string[]): Water[] {
  let worlds = [copyOf(before.water)];
  vessels.forEach(({ id, capacity }, at) => {
    if (!unknown.includes(id)) return;
    worlds = worlds.flatMap((water) =>
      Array.from({ length: capacity + 1 }, (_, held) => {
        const other = copyOf(water);
        other.level[at] = held;
        return other;
      }),
    );
  });
  if (!unknown.includes(vessels[mixing]?.id ?? '')) return worlds;
  return worlds.flatMap((water) =>
    Array.from({ length: (water.level[mixing] ?? 0) + 1 }, (_, salt) => ({ ...copyOf(water), salt })),
  );
}
