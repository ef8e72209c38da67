// The coarse water: whole units in each vessel, whole units of salt in the mixing vat, whole degrees, and relays that
// count their lease in ticks. One tick moves at most one unit by each route. It knows nothing of the core.
//
// At the target a unit of water holds one unit of salt; anything else is outside the tolerance, whatever the tolerance.
import type { Harm as HarmKind } from '../../station/gaps.ts';
import { type Broken, wayOf } from './broken.ts';
import { COVERED, FULL, LEASE_TICKS } from './coarse-plant.ts';
import { type Model, NOWHERE, type Pipe } from './model.ts';

export interface Water {
  readonly level: number[];
  /** Dissolved, and lying on the bottom, of the mixing vat. */
  salt: number;
  loose: number;
  mixC: number;
  floor: boolean;
  /** Ticks that each relay may stay on; FOREVER: until told. */
  readonly relay: number[];
  /** Of this tick. */
  readonly flow: number[];
  /** Counted by each total since the core last heard it; by sensor. */
  readonly unheard: number[];
  /** Ticks in a row without water, by switch: pumps and heaters. A pump also says `WET`, or `SINCE_START` and its ticks. */
  readonly dry: number[];
  /** Ticks in a row of water onto the floor, by route. */
  readonly spilling: number[];
  /** Ticks in a row that a way was open which must not be. */
  crossed: number;
  /** Ticks of wrong water delivered since the vat was right. */
  wrong: number;
}

export const FOREVER = 9;
const COUNTS_TO = 5;
/** It ran in this tick, and there was water. */
const WET = -1;
/** Added to the ticks of a pump that was dry from its start on. */
const SINCE_START = 10;

export type { HarmKind };

export interface Harm {
  readonly kind: HarmKind;
  /** A vessel, route, pump or heater. */
  readonly about: string;
  /** The routes or heaters by which it came. */
  readonly by: readonly string[];
  /** Wrong water: what has come into the mixing vat in this tick or the one before. */
  readonly spoiledBy?: readonly string[];
  /** For how many ticks it has gone on. */
  readonly ticks: number;
  /** A pump that found no water when it started. */
  readonly sinceStart?: boolean;
}

/**
 * Ticks that pass before any instrument can say so and a command can work, where the water goes as it was ordered and
 * where it goes against orders; each with its reason. Beyond them it is an accident.
 */
export const COARSE_BOUNDS: Readonly<
  Record<HarmKind, { readonly byOrder: number; readonly againstOrders: number; readonly why: string }>
> = {
  spilled: { byOrder: 0, againstOrders: 0, why: 'a float below the brim says so in time' },
  'on the floor': {
    byOrder: 1,
    againstOrders: 2,
    why: 'a tray, a meter or a level says so after one tick; a device that contradicts its command is forgiven for one',
  },
  dry: {
    byOrder: 1,
    againstOrders: 3,
    why: 'a meter shows nothing only after a tick without water, and after a start only after two, because its first reading is not judged; against orders its feedback is forgiven for one, and what lies upstream takes one',
  },
  'heater bare': {
    byOrder: 1,
    againstOrders: 2,
    why: "the tick in which the water left, and its feedback's",
  },
  'too hot': { byOrder: 0, againstOrders: 0, why: 'the limit lies two degrees below' },
  'wrong water': {
    byOrder: 1,
    againstOrders: 2,
    why: 'the tick in which the water changes under way; a pump that runs unasked is cut off after its feedback was forgiven once',
  },
  crossed: { byOrder: 1, againstOrders: 2, why: 'feedback says after a tick that a valve stands open' },
};

export function waterOf(
  { vessels, switches, pipes, sensors, cold }: Model,
  level: readonly number[],
  salt: number,
): Water {
  return {
    level: vessels.map((_, at) => level[at] ?? FULL),
    salt,
    loose: 0,
    mixC: cold,
    floor: false,
    relay: switches.map(() => 0),
    flow: pipes.map(() => 0),
    unheard: sensors.map(() => 0),
    dry: switches.map(() => 0),
    spilling: pipes.map(() => 0),
    crossed: 0,
    wrong: 0,
  };
}

export function copyOf(water: Water): Water {
  return {
    ...water,
    level: water.level.slice(),
    relay: water.relay.slice(),
    flow: water.flow.slice(),
    unheard: water.unheard.slice(),
    dry: water.dry.slice(),
    spilling: water.spilling.slice(),
  };
}

/** Its own contact: what its feedback reports. */
export function contact(water: Water, broken: Broken, at: number): boolean {
  if (broken.stuckOn[at]) return true;
  return !broken.stuckOff[at] && !broken.dead[at] && (water.relay[at] ?? 0) > 0;
}

/** Whether it passes water or current. A jammed valve stays open without power; a welded contact has nothing to switch. */
function works(model: Model, water: Water, broken: Broken, at: number): boolean {
  const here = model.switches[at];
  if (here === undefined || !contact(water, broken, at)) return false;
  if (broken.dead[at] && here.actuator.kind !== 'valve') return false;
  return here.upstream === NOWHERE || works(model, water, broken, here.upstream);
}

/** Lets one tick pass. @returns what must not happen, and did */
export function pass(model: Model, water: Water, broken: Broken, way: number): readonly Harm[] {
  const harms: Harm[] = [];
  const isOn = model.switches.map((_, at) => works(model, water, broken, at));
  const isOpen = model.pipes.map((pipe) => pipe.through.every((at) => isOn[at]));
  heat(model, water, isOn, harms);
  const cameBefore = cameIntoMixing(model, water);
  const found = model.switches.map(() => false);
  const wet = model.switches.map(() => false);
  model.pipes.forEach((pipe, at) => {
    water.flow[at] = 0;
    if (!isOpen[at] || pipe.divertedBy.some((id) => isOn[id])) {
      if (broken.siphon[at]) move(model, water, broken, pipe, at, harms);
    } else if (!blocked(pipe, broken)) {
      const pumps = move(model, water, broken, pipe, at, harms) ? wet : found;
      for (const pump of pipe.pumps) pumps[pump] = true;
    }
  });
  if (isRight(model, water)) water.wrong = 0;
  count(model, water, broken, way);
  cross(model, water, harms);
  dry(model, water, isOpen, found, wet, harms);
  settle(model, water, broken, isOn);
  overflow(model, water, broken, harms);
  leases(model, water, broken);
  if (!harms.some(({ kind }) => kind === 'wrong water')) return harms;
  const spoiledBy = [...new Set([...cameBefore, ...cameIntoMixing(model, water)])];
  return harms.map((harm) => (harm.kind === 'wrong water' ? { ...harm, spoiledBy } : harm));
}

const cameIntoMixing = ({ pipes }: Model, { flow }: Water): readonly string[] =>
  pipes.flatMap(({ id, toMixing, loop }, at) => (toMixing && !loop && flow[at] === 1 ? [id] : []));

const blocked = (pipe: Pipe, broken: Broken): boolean =>
  pipe.fromInlet ? broken.noPressure : pipe.pumps.some((pump) => broken.weak[pump]);

/** Water on a way that no route names: two ways share a pump, and one valve too many stands open. */
function cross({ pipes }: Model, water: Water, harms: Harm[]): void {
  const astray = pipes.filter(({ listed }, at) => !listed && water.flow[at] === 1);
  water.crossed = astray.length === 0 ? 0 : Math.min(water.crossed + 1, COUNTS_TO);
  for (const { id } of astray) harms.push({ kind: 'crossed', about: id, by: [id], ticks: water.crossed });
}

function heat(
  { warmers, mixing, plant, warm }: Model,
  water: Water,
  isOn: readonly boolean[],
  harms: Harm[],
): void {
  for (const { id, relay, vessel, heater } of warmers) {
    if (!isOn[relay]) {
      water.dry[relay] = 0;
      continue;
    }
    const covered = (water.level[vessel] ?? 0) >= COVERED;
    const ticks = covered ? 0 : Math.min((water.dry[relay] ?? 0) + 1, COUNTS_TO);
    water.dry[relay] = ticks;
    if (ticks > 0) harms.push({ kind: 'heater bare', about: id, by: [id], ticks });
    if (vessel !== mixing || !covered) continue;
    if (heater.cutOutC !== null && water.mixC >= heater.cutOutC) continue;
    water.mixC += 1;
    if (water.mixC > heater.limitC + 2)
      harms.push({ kind: 'too hot', about: plant.mixingId, by: [id], ticks: 1 });
  }
  water.mixC = Math.min(water.mixC, warm + 2 * COUNTS_TO);
}

/** @returns false where there was no water to move */
function move(model: Model, water: Water, broken: Broken, pipe: Pipe, at: number, harms: Harm[]): boolean {
  const { level } = water;
  if (pipe.from !== NOWHERE && (level[pipe.from] ?? 0) < 1) return false;
  water.flow[at] = 1;
  if (pipe.loop) return true;
  if (pipe.toSystem && !(pipe.fromMixing && isRight(model, water))) {
    water.wrong = Math.min(water.wrong + 1, COUNTS_TO);
    harms.push({ kind: 'wrong water', about: pipe.toId, by: [pipe.id], ticks: water.wrong });
  }
  if (pipe.from !== NOWHERE) {
    const before = level[pipe.from] ?? 0;
    if (pipe.fromMixing) water.salt -= Math.round(water.salt / before);
    level[pipe.from] = before - 1;
    if (pipe.fromMixing && before === 1) water.salt = 0;
  }
  if (broken.hose[at]) {
    water.floor = true;
    return true;
  }
  if (pipe.to === NOWHERE) return true;
  const held = level[pipe.to] ?? 0;
  if (pipe.toMixing) water.mixC = Math.round((water.mixC * held + model.cold) / (held + 1));
  level[pipe.to] = held + 1;
  return true;
}

function isRight({ plant, mixing }: Model, water: Water): boolean {
  if (water.salt !== water.level[mixing]) return false;
  const aims = plant.process.temperature;
  return aims === null || (water.mixC >= aims.leastC && water.mixC <= aims.mostC);
}

/** What the meters have counted in this tick, true or not. */
function count({ pipes, sensors }: Model, water: Water, broken: Broken, way: number): void {
  sensors.forEach(({ measures }, at) => {
    if (measures !== 'total') return;
    const passed = pipes.reduce(
      (sum, { meters }, pipe) => sum + (meters.includes(at) ? (water.flow[pipe] ?? 0) : 0),
      0,
    );
    const counted = broken.speech[at] === 'lies' ? wayOf(broken, 'sensor', at, way) : passed;
    water.unheard[at] = Math.min((water.unheard[at] ?? 0) + counted, COUNTS_TO);
  });
}

function dry(
  { pipes, switches }: Model,
  water: Water,
  isOpen: readonly boolean[],
  found: readonly boolean[],
  wet: readonly boolean[],
  harms: Harm[],
): void {
  switches.forEach(({ id, actuator }, at) => {
    if (actuator.kind !== 'pump') return;
    const before = water.dry[at] ?? 0;
    if (!found[at]) {
      water.dry[at] = wet[at] ? WET : 0;
      return;
    }
    const sinceStart = before === 0 || before > SINCE_START;
    const ticks = Math.min(1 + Math.max(0, sinceStart ? before - SINCE_START : before), COUNTS_TO);
    water.dry[at] = ticks + (sinceStart ? SINCE_START : 0);
    const by = pipes.filter(({ pumps }, pipe) => pumps.includes(at) && isOpen[pipe]);
    harms.push({ kind: 'dry', about: id, by: by.map((pipe) => pipe.id), ticks, sinceStart });
  });
}

/** Salt dissolves where the water turns over; water leaves through holes and by hand; the keeper's top-off adds some. */
function settle(model: Model, water: Water, broken: Broken, isOn: readonly boolean[]): void {
  const { pipes, mixing, dosers, vessels } = model;
  const loops = pipes.filter(({ loop, from }) => loop && from === mixing);
  for (const { relay } of dosers) if (isOn[relay]) water.loose += 1;
  if (
    water.loose > 0 &&
    (loops.length === 0 || pipes.some((p, at) => loops.includes(p) && water.flow[at] === 1))
  ) {
    water.salt += water.loose;
    water.loose = 0;
  }
  vessels.forEach((_, at) => {
    const held = water.level[at] ?? 0;
    if (broken.leaks[at] && held > 0) water.floor = true;
    if ((broken.leaks[at] || broken.drawn[at]) && held > 0) {
      if (at === mixing) water.salt -= held === 1 ? water.salt : Math.round(water.salt / held);
      water.level[at] = held - 1;
    }
    // The keeper's own overflow ends what the keeper's own top-off can do: it never reaches the brim.
    if (broken.topOff[at] && held < FULL + 2) water.level[at] = held + 1;
  });
}

function overflow(model: Model, water: Water, broken: Broken, harms: Harm[]): void {
  model.vessels.forEach(({ id, capacity }, at) => {
    if ((water.level[at] ?? 0) <= capacity) return;
    water.level[at] = capacity;
    water.floor = true;
    const by = model.pipes.filter((pipe, place) => pipe.to === at && !pipe.loop && water.flow[place] === 1);
    harms.push({ kind: 'spilled', about: id, by: by.map((pipe) => pipe.id), ticks: 1 });
  });
  model.pipes.forEach(({ id }, at) => {
    const spills = broken.hose[at] && water.flow[at] === 1;
    const ticks = spills ? Math.min((water.spilling[at] ?? 0) + 1, COUNTS_TO) : 0;
    water.spilling[at] = ticks;
    if (ticks > 0) harms.push({ kind: 'on the floor', about: id, by: [id], ticks });
  });
}

function leases({ switches }: Model, water: Water, broken: Broken): void {
  switches.forEach(({ actuator }, at) => {
    if (broken.dead[at]) water.relay[at] = 0;
    const left = water.relay[at] ?? 0;
    if (left === 0 || left === FOREVER || !actuator.countsLease || broken.ignoresLease[at]) return;
    water.relay[at] = left - 1;
  });
}

/** A command reaches a relay, or does not. */
export function command(model: Model, water: Water, broken: Broken, at: number, on: boolean): void {
  if (broken.deaf[at] || broken.dead[at]) return;
  const counts = model.switches[at]?.actuator.countsLease ?? false;
  water.relay[at] = on ? (counts ? LEASE_TICKS : FOREVER) : 0;
}
