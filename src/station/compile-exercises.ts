// Which valves must move now and then, who may move each, and what must be off meanwhile. The service moves a valve by
// itself only where another valve, which reports where it stands, holds the water back: a pump at rest stops no siphon,
// and nothing behind a valve stops the mains.
import { called } from './called.ts';
import type { Exercise } from './exercise.ts';
import type { StationValues } from './file/station.ts';
import type { Actuator, Route, Vessel } from './plant.ts';

interface Plumbing {
  readonly actuators: Readonly<Record<string, Actuator>>;
  readonly routes: Readonly<Record<string, Route>>;
  readonly vessels: Readonly<Record<string, Vessel>>;
}

export function exercisesOf(station: StationValues, plumbing: Plumbing): Record<string, Exercise> {
  const found: Record<string, Exercise> = {};
  for (const [id, { exercise }] of Object.entries(station.actuators)) {
    const valve = plumbing.actuators[id];
    if (exercise === null || valve === undefined) continue;
    found[id] = {
      id,
      ...(valve.names === undefined ? { name: valve.name } : { name: valve.name, names: valve.names }),
      everyMs: exercise.every,
      opensForMs: exercise.for,
      actuator: id,
      byHand: whyByHand(plumbing, valve),
      others: othersOf(plumbing, id),
    };
  }
  for (const [id, { name, every }] of Object.entries(station.handValves ?? {}))
    found[id] = {
      id,
      ...called(name, id),
      everyMs: every,
      opensForMs: 0,
      actuator: null,
      byHand: 'only a person can turn it',
      others: [],
    };
  return found;
}

/** Every actuator that a route opens or keeps shut. */
const partsOf = ({ through, upstream, shut }: Route): readonly string[] => [...through, ...upstream, ...shut];

function whyByHand({ actuators, routes, vessels }: Plumbing, valve: Actuator): string | null {
  if (valve.feedback === null || valve.offProvenBy !== 'feedback') return 'nothing proves that it moves';
  const ways = Object.values(routes).filter(({ through, upstream }) =>
    [...through, ...upstream].includes(valve.id),
  );
  if (ways.length === 0) return 'no route leads through it';
  const holdsBack = (id: string): boolean => {
    const other = actuators[id];
    return id !== valve.id && other?.kind === 'valve' && other.offProvenBy === 'feedback';
  };
  const before = chainAbove(actuators, valve);
  for (const { from, through, upstream } of ways) {
    const pressed = vessels[from]?.role === 'purified-water';
    if (pressed && !before.some(holdsBack))
      return 'no valve before it is proven to hold back the mains meanwhile';
    if (![...through, ...upstream].some(holdsBack))
      return 'no second valve on its way is proven to hold the water back meanwhile';
  }
  return null;
}

function chainAbove(actuators: Readonly<Record<string, Actuator>>, valve: Actuator): readonly string[] {
  const chain: string[] = [];
  for (let id = valve.upstream; id !== null && !chain.includes(id); id = actuators[id]?.upstream ?? null)
    chain.push(id);
  return chain;
}

function othersOf({ actuators, routes }: Plumbing, valveId: string): readonly string[] {
  const all = Object.values(routes);
  const near = all.filter((route) => partsOf(route).includes(valveId));
  // A contactor joins no pipes: what merely shares one is no way for water.
  const joints = new Set(near.flatMap(partsOf).filter((id) => actuators[id]?.kind !== 'contactor'));
  const joined = all.filter((route) => partsOf(route).some((id) => joints.has(id)));
  const others = new Set([...near, ...joined].flatMap(partsOf));
  others.delete(valveId);
  return [...others];
}
