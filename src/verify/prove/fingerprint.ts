// A node of the exploration (canonical core state, coarse water, which defects hold) folded into 64 bits.
//
// Two nodes with one fingerprint would be taken for one. With n nodes the odds that any two collide are below
// n^2 / 2^65 (the birthday bound): 7e-7 for five million, if the mixing is as good as random. The two 32-bit lanes use the
// round of MurmurHash3 (Austin Appleby, public domain) with different constants.
//
// Written out field by field, because it is asked at every tick; a test changes every field of a state in turn and holds
// that the fingerprint changes, but for those that `canonical.ts` sets to one value.
import type {
  BatchState,
  DeviceState,
  ExchangeState,
  HeaterState,
  RouteState,
  SalinityState,
  SensorState,
  State,
  UnitState,
  VesselState,
} from '../../control/state.ts';
import type { Plant } from '../../station/plant.ts';
import type { Water } from './water.ts';

export interface Fingerprint {
  high: number;
  low: number;
}

export type Fold = (state: State, water: Water, layer: number, into: Fingerprint) => void;

/** The odds that at least two of so many nodes share a fingerprint. */
export const collisionOdds = (nodes: number): number => (nodes * nodes) / 2 ** 65;

/** Marks the end of a list whose length is not fixed. */
const END = -1;
const NOTHING = -77_777_777;

/**
 * @param speak where nothing falls silent in this run, the plant: then what a sensor or a feedback said last is overwritten
 * by what it says in the next tick before anybody asks, and so is what rests on nothing else; only fluttering is remembered
 * @param steady nothing but one liar is wrong in this run: no total counts more in a tick than can be, so the next reading
 * of each says its flow anew before anybody asks
 */
export function foldOf(speak: Plant | null = null, steady = false): Fold {
  const words = new Map<string, number>();
  let numbers = new Int32Array(2048);
  let length = 0;
  const put = (value: number): void => {
    numbers[length++] = value;
  };
  /** Ages in whole milliseconds, amounts and salinities in thousandths. */
  const num = (value: number | null): void =>
    put(value === null ? NOTHING : (Math.round(value * 1000) % 2_147_483_647) | 0);
  const bit = (value: boolean | null): void => put(value === null ? NOTHING : value ? 1 : 2);
  const word = (text: string | null): void => {
    if (text === null) return put(NOTHING);
    let index = words.get(text);
    if (index === undefined) {
      index = words.size + 1;
      words.set(text, index);
    }
    put(index);
  };

  const sensor = (seen: SensorState): void => {
    if (typeof seen.value === 'boolean') bit(seen.value);
    else num(seen.value);
    num(seen.ageMs);
    bit(seen.live);
    word(seen.fault);
    bit(seen.believed);
    num(seen.chatter);
  };
  const speaker = (seen: SensorState): void => {
    word(seen.fault);
    num(seen.chatter);
  };
  const device = (known: DeviceState): void => {
    put(
      (known.on ? 1 : 0) |
        (known.feedbackLive ? 4 : 0) |
        (known.feedback === null ? 8 : known.feedback ? 16 : 32) |
        (known.offsSent << 8),
    );
    num(known.disagreesMs);
    num(known.leaseLeftMs);
    num(known.sinceMs);
    num(known.feedbackAgeMs);
    word(known.feedbackFault);
  };
  const echoing = (known: DeviceState): void => {
    put((known.on ? 1 : 0) | (known.offsSent << 8));
    num(known.disagreesMs);
    num(known.leaseLeftMs);
  };
  const route = (pipe: RouteState): void => {
    word(pipe.running);
    num(pipe.runMs);
    num(pipe.restMs);
    num(pipe.pendingLeastL);
    num(pipe.pendingMostL);
    num(pipe.lastTotalL);
    num(pipe.sinceMeterMs);
    num(pipe.windowMs);
    num(pipe.windowL);
    if (pipe.lastTotalL === null || !speak || !steady) num(pipe.flowLpm);
    bit(pipe.startedSinceMeter);
    num(pipe.strayL);
    num(pipe.starvedMs);
    num(pipe.impureMs);
    num(pipe.starts);
    num(pipe.runBudgetMs);
  };
  const vessel = (held: VesselState): void => {
    num(held.settledLeastL);
    num(held.settledMostL);
    num(held.leastL);
    num(held.mostL);
    num(held.bookLeastL);
    num(held.bookMostL);
    num(held.bookMs);
    bit(held.bookRan);
    num(held.mismatchL);
    num(held.handBudgetL);
    num(held.handAssumedL);
  };
  /** Its level says anew what it holds and how far that is from the book; a run that starts may ask for the least before. */
  const levelled = (held: VesselState): void => {
    num(held.leastL);
    num(held.bookLeastL);
    num(held.bookMostL);
    num(held.bookMs);
    bit(held.bookRan);
    num(held.handBudgetL);
    num(held.handAssumedL);
  };
  const salinity = (seen: SalinityState): void => {
    num(seen.probe);
    num(seen.probeAgeMs);
    num(seen.anchor);
    num(seen.measured);
    num(seen.measuredAgeMs);
  };
  const heater = (seen: HeaterState): void => {
    num(seen.onMs);
    num(seen.offMs);
    num(seen.windowC);
    num(seen.windowMs);
    bit(seen.frozen);
    bit(seen.welded);
  };
  const unit = (work: UnitState): void => {
    word(work.procedure);
    word(work.cause);
    num(work.restarts);
  };
  const batch = (work: BatchState): void => {
    unit(work);
    word(work.stage);
    num(work.stageMs);
    num(work.circulatedMs);
    bit(work.moving);
    num(work.movedL);
    num(work.askedKg);
    num(work.askedAt);
    num(work.askedL);
    num(work.trims);
    num(work.leftoverL);
    num(work.leftoverSalinity);
    num(work.salted?.leastL ?? null);
    num(work.salted?.mostL ?? null);
    num(work.salinityBefore);
    num(work.saltAddedKg);
    num(work.saltAddedNowKg);
    bit(work.confirmed);
    bit(work.accepted);
    num(work.acceptedSalinity);
    num(work.ageMs);
    num(work.sinceCirculatedMs);
    num(work.heatBudgetMs);
    for (const value of work.yields) num(value);
  };
  const exchange = (work: ExchangeState): void => {
    unit(work);
    word(work.step);
    num(work.dueL);
    num(work.requestedL);
    num(work.stepL);
    bit(work.stepRequested);
    num(work.differenceL);
  };
  const water = (wet: Water): void => {
    // Not its flow: every tick finds that anew.
    for (const list of [wet.level, wet.relay, wet.unheard, wet.dry, wet.spilling])
      for (const value of list) put(value);
    put(wet.salt);
    put(wet.loose);
    put(wet.mixC);
    put(wet.crossed);
    put(wet.wrong);
    bit(wet.floor);
  };
  const everything = (state: State, wet: Water, layer: number): void => {
    length = 0;
    put(layer);
    for (const key in state.trips) word(key);
    put(END);
    for (const target in state.verdicts) {
      word(target);
      for (const key of state.verdicts[target] ?? []) word(key);
      put(END);
    }
    put(END);
    for (const id in state.outOfService) word(id);
    put(END);
    for (const id in state.tasks) {
      word(id);
      word(state.tasks[id]?.task ?? null);
      num(state.tasks[id]?.massKg ?? null);
    }
    put(END);
    each(state.sensors, speak ? speaker : sensor);
    each(state.devices, speak ? echoing : device);
    each(state.routes, route);
    for (const id in state.vessels) {
      const held = state.vessels[id] as VesselState;
      if (speak && speak.vessels[id]?.level !== null) levelled(held);
      else vessel(held);
    }
    each(state.salinity, salinity);
    each(state.heaters, heater);
    unit(state.refill);
    num(state.refill.flushMs);
    bit(state.refill.flushed);
    batch(state.batch);
    each(state.exchange, exchange);
    bit(state.link.up);
    num(state.link.echoAgeMs);
    bit(state.link.journalWritable);
    water(wet);
  };
  return (state, wet, layer, into) => {
    everything(state, wet, layer);
    if (length > numbers.length) {
      numbers = new Int32Array(2 * length);
      everything(state, wet, layer);
    }
    mix(numbers, length, into);
  };
}

function each<T>(record: Readonly<Record<string, T>>, fold: (item: T) => void): void {
  for (const id in record) fold(record[id] as T);
}

function mix(numbers: Int32Array, length: number, into: Fingerprint): void {
  let high = 0x9747b28c;
  let low = 0x3c6ef372;
  for (let at = 0; at < length; at++) {
    const value = numbers[at] ?? 0;
    let a = Math.imul(value, 0xcc9e2d51);
    a = (a << 15) | (a >>> 17);
    high ^= Math.imul(a, 0x1b873593);
    high = (high << 13) | (high >>> 19);
    high = (Math.imul(high, 5) + 0xe6546b64) | 0;
    let b = Math.imul(value ^ 0x5bd1e995, 0x239b961b);
    b = (b << 17) | (b >>> 15);
    low ^= Math.imul(b, 0xab0e9789);
    low = (low << 16) | (low >>> 16);
    low = (Math.imul(low, 5) + 0x561ccd1b + high) | 0;
  }
  into.high = finish(high ^ length) >>> 0;
  into.low = finish(low ^ length) >>> 0;
}

function finish(value: number): number {
  let bits = value;
  bits = Math.imul(bits ^ (bits >>> 16), 0x85ebca6b);
  bits = Math.imul(bits ^ (bits >>> 13), 0xc2b2ae35);
  return bits ^ (bits >>> 16);
}
