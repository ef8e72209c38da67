// The guard alone: the process is replaced by one that wants anything at any tick and asks for acceptance all the time, the
// person by one who may pour, measure and reset at any tick. What then does no harm is held by the guard and by nothing else.
//
// A process is hostile within a repertoire: two targets that have a vessel or a device in common, with the circulation without
// which a heater, a doser and a delivery are never allowed; of these it wants any subset at any tick. That three or more of them
// conspire is left out, and said.
import { accept, agree } from '../../control/guard/acceptance.ts';
import { guardDraftOf } from '../../control/guard/draft.ts';
import { act, forbid, observe } from '../../control/guard/guard.ts';
import { resetTrips } from '../../control/guard/resets.ts';
import { actuatorsOf } from '../../control/guard/row-kinds.ts';
import type { Event, Request } from '../../control/guard/types.ts';
import type { State } from '../../control/process/state.ts';
import type { Stepped } from '../../control/step.ts';
import type { Plant } from '../../station/plant.ts';
import { looked } from '../looked.ts';
import type { Broken } from './broken.ts';
import type { Model } from './model.ts';
import { salinityIn } from './spoken.ts';
import type { Hostile } from './tick.ts';
import type { Water } from './water.ts';

/** `step()` with these wants in place of the process. What the process remembers stays as it began. */
export const guarded =
  (targets: readonly string[]) =>
  (plant: Plant, state: State, event: Event): Stepped => {
    const draft: State = { ...state, ...guardDraftOf(state), batch: { ...state.batch } } as State;
    const { elapsedMs, inputs, tick } = event;
    observe(plant, draft, event);
    for (const input of inputs)
      if (input.type === 'request' && input.request.ask === 'reset-trip')
        resetTrips(plant, draft, input.request);
    agree(plant, draft);
    accept(plant, draft);
    forbid(plant, draft, elapsedMs);
    const effects = act(plant, draft, { targets: [...targets], signals: [] }, tick);
    return { state: draft, effects };
  };

/** Targets of which any subset is wanted at any tick. */
export interface Repertoire {
  readonly name: string;
  readonly targets: readonly string[];
  /** Every subset that the plumbing does not make meaningless. */
  readonly wants: readonly (readonly string[])[];
  /** Bounded vessels that its water is in, by id. */
  readonly vessels: readonly string[];
  /** Whether the salt in the vat can matter. */
  readonly salts: boolean;
}

const vesselsOf = (plant: Plant, target: string): readonly string[] => {
  const route = plant.routes[target];
  if (route !== undefined) return [route.from, route.to];
  return [plant.heaters[target]?.vessel ?? plant.dosers[target]?.vessel ?? ''];
};
const bounded = (plant: Plant, ids: readonly string[]): readonly string[] =>
  [...new Set(ids)].filter((id) => Number.isFinite(plant.vessels[id]?.capacityL ?? Number.NaN));

/** All pairs of targets that touch, and those that touch none; each with what it can't run without. */
export function repertoiresOf(plant: Plant): readonly Repertoire[] {
  const targets = [plant.routes, plant.heaters, plant.dosers].flatMap((all) => Object.keys(all));
  const touch = (one: string, other: string): boolean =>
    bounded(plant, vesselsOf(plant, one)).some((id) => vesselsOf(plant, other).includes(id)) ||
    actuatorsOf(plant, one).some((id) => actuatorsOf(plant, other).includes(id));
  const pairs = targets.flatMap((one, at) =>
    targets.slice(at + 1).flatMap((other) => (touch(one, other) ? [[one, other]] : [])),
  );
  const lonely = targets.filter((one) => !pairs.some((pair) => pair.includes(one))).map((one) => [one]);
  const all = [...pairs, ...lonely].map((own) => repertoire(plant, own));
  // What another one wants as well adds nothing.
  return all.filter(
    ({ targets: mine }, at) =>
      !all.some(
        ({ targets: theirs }, other) =>
          other !== at &&
          mine.every((target) => theirs.includes(target)) &&
          (theirs.length > mine.length || other < at),
      ),
  );
}

function repertoire(plant: Plant, own: readonly string[]): Repertoire {
  const loops = Object.values(plant.routes).filter(({ purpose }) => purpose === 'circulate');
  const stirred = own.flatMap((target) => {
    const isMade = plant.routes[target] === undefined || plant.routes[target]?.purpose === 'supply';
    return isMade ? loops.filter(({ from }) => vesselsOf(plant, target).includes(from)) : [];
  });
  const targets = [...new Set([...own, ...stirred.map(({ id }) => id)])];
  const subsets = Array.from({ length: 1 << targets.length }, (_, set) =>
    targets.filter((__, bit) => (set & (1 << bit)) !== 0),
  );
  const meant = subsets.filter((wanted) =>
    wanted.every((id) => !plant.routes[id]?.excludes.some((other) => wanted.includes(other))),
  );
  return {
    name: targets.join(' + '),
    targets,
    wants: meant,
    vessels: bounded(
      plant,
      targets.flatMap((target) => vesselsOf(plant, target)),
    ),
    salts: targets.some(
      (target) => plant.routes[target] === undefined || plant.routes[target]?.purpose === 'supply',
    ),
  };
}

/** What the person does in a tick. */
export const DEEDS = ['nothing', 'pours', 'measures', 'measures twice', 'resets'] as const;
export type Deed = (typeof DEEDS)[number];

const AT_HAND = 'the one at hand';

/** What a person could do here that makes a difference to anybody. */
export function deedsAt(
  { mixing }: Model,
  { salts }: Repertoire,
  state: State,
  water: Water,
): readonly Deed[] {
  const trips = Object.keys(state.trips).length > 0;
  // Into fresh water, or a second dose into salted water.
  const held = water.level[mixing] ?? 0;
  const pours = salts && held > 0 && water.loose === 0 && (water.salt === 0 || water.salt === held);
  return [
    'nothing',
    ...(pours ? (['pours'] as const) : []),
    ...(salts ? (['measures', 'measures twice'] as const) : []),
    ...(trips ? (['resets'] as const) : []),
  ];
}

/** One tick of a hostile process, and of a person who does this. */
export function hostileOf(
  model: Model,
  state: State,
  broken: Broken,
  wants: readonly string[],
  deed: Deed,
): Hostile {
  return { step: guarded(wants), person: (water) => doing(model, state, broken, water, deed) };
}

function doing(model: Model, state: State, broken: Broken, water: Water, deed: Deed): readonly Request[] {
  const { mixingId } = model.plant;
  switch (deed) {
    case 'nothing':
      return [];
    case 'pours': {
      // What would make the vat right if it were fresh, in whole units; told as it is, but for a lie.
      const units = water.level[model.mixing] ?? 0;
      const times = broken.salt === 'never' ? 0 : broken.salt === 'twice' ? 2 : 1;
      water.loose += times * units;
      return [{ ask: 'salt-added', massKg: units * model.kgPerUnit }];
    }
    case 'measures':
    case 'measures twice': {
      const truth = salinityIn(model, water);
      const shown: Readonly<Record<string, number>> = { target: model.target, 'too-salt': 110 };
      const said = (salinity: number, instrument: string) => ({
        ask: 'salinity-measured' as const,
        vessel: mixingId,
        salinity,
        instrument,
      });
      const first = said(shown[broken.measures] ?? truth, AT_HAND);
      const second = broken.isTyped ? first.salinity : truth;
      return deed === 'measures' ? [first] : [first, said(second, 'another one')];
    }
    case 'resets':
      // Nobody who has looked resets what is still broken: then only what is heard can.
      return broken.defects.length > 0
        ? [{ ask: 'reset-trip', trip: 'all' }]
        : looked(state, 'a person', 'looked at all of it');
  }
}

/**
 * What a fault must be at to concern a repertoire: `own`: its ways, its vessels and what they hold; `near`: also the other ways
 * of its vessels, where the fault is one that moves water by itself.
 */
export function reachOf(
  plant: Plant,
  { targets, vessels }: Repertoire,
): Readonly<Record<'own' | 'near', ReadonlySet<string>>> {
  const near = Object.values(plant.routes).filter(
    ({ from, to }) => vessels.includes(from) || vessels.includes(to),
  );
  const on = (ids: readonly string[]): readonly string[] => [
    ...ids,
    ...ids.flatMap((id) => [
      ...actuatorsOf(plant, id),
      plant.routes[id]?.meter ?? '',
      plant.routes[id]?.from ?? '',
    ]),
  ];
  return {
    own: new Set([...on(targets), ...vessels]),
    near: new Set([...on(near.map(({ id }) => id)), ...vessels]),
  };
}
