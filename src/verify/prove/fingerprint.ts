// A node of the exploration (canonical core state, coarse water, which defects hold) folded into 64 bits.
//
// Two nodes with one fingerprint would be taken for one. With n nodes the odds that any two collide are below
// n^2 / 2^65 (the birthday bound): 7e-7 for five million, if the mixing is as good as random. The two 32-bit lanes use the
// round of MurmurHash3 (Austin Appleby, public domain) with different constants.
//
// Written out field by field, because it is asked at every tick; a test changes every field of a state in turn and holds
// that the fingerprint changes, but for those that `canonical.ts` sets to one value.
import type {
  DeviceState,
  FloatBook,
  HeaterState,
  RouteState,
  SalinityState,
  SensorState,
  VesselState,
} from '../../control/guard/state.ts';
import type { WaterState } from '../../control/guard/water-state.ts';
import type { BatchState, ExchangeState, State, UnitState } from '../../control/process/state.ts';
import type { Plant } from '../../station/plant.ts';
import { Digits, END, type Fingerprint } from './digits.ts';
import type { Water } from './water.ts';

export type Fold = (state: State, water: Water, layer: number, into: Fingerprint) => void;

/** The odds that at least two of so many nodes share a fingerprint. */
export const collisionOdds = (nodes: number): number => (nodes * nodes) / 2 ** 65;

/**
 * @param speak where nothing falls silent in this run, the plant: then what a sensor or a feedback said last is overwritten
 * by what it says in the next tick before anybody asks, and so is what rests on nothing else; only fluttering is remembered
 * @param steady nothing but one liar is wrong in this run: no total counts more in a tick than can be, so the next reading
 * of each says its flow anew before anybody asks
 * @param alone the guard's part of the state, and nothing of the process
 */
export function foldOf(speak: Plant | null = null, steady = false, alone = false): Fold {
  const to = new Digits();
  const told = speak !== null && steady;
  return (state, wet, layer, into) => {
    to.begin();
    to.put(layer);
    for (const key in state.trips) to.word(key);
    to.put(END);
    for (const target in state.verdicts) {
      to.word(target);
      for (const key of state.verdicts[target] ?? []) to.word(key);
      to.put(END);
    }
    to.put(END);
    for (const id in state.outOfService) to.word(id);
    to.put(END);
    for (const id in state.tasks) {
      to.word(id);
      to.word(state.tasks[id]?.task ?? null);
      to.num(state.tasks[id]?.massKg ?? null);
    }
    to.put(END);
    each(to, state.sensors, speak ? speaker : sensor);
    each(to, state.devices, speak ? echoing : device);
    for (const id in state.routes) route(to, state.routes[id] as RouteState, told);
    for (const id in state.vessels) {
      const held = state.vessels[id] as VesselState;
      if (speak && speak.vessels[id]?.level !== null) levelled(to, held);
      else vessel(to, held);
    }
    each(to, state.salinity, salinity);
    balance(to, state.water);
    each(to, state.heaters, heater);
    to.bit(state.batch.accepted);
    to.num(state.batch.ageMs);
    if (!alone) {
      unit(to, state.refill);
      to.num(state.refill.flushMs);
      to.bit(state.refill.flushed);
      batch(to, state.batch);
      each(to, state.exchange, exchange);
    }
    to.bit(state.link.up);
    to.num(state.link.echoAgeMs);
    to.bit(state.link.journalWritable);
    water(to, wet);
    to.fingerprint(into);
  };
}

function sensor(to: Digits, seen: SensorState): void {
  if (typeof seen.value === 'boolean') to.bit(seen.value);
  else to.num(seen.value);
  to.num(seen.ageMs);
  to.bit(seen.live);
  to.word(seen.fault);
  to.bit(seen.believed);
  to.num(seen.chatter);
}

function speaker(to: Digits, seen: SensorState): void {
  to.word(seen.fault);
  to.num(seen.chatter);
}

function device(to: Digits, known: DeviceState): void {
  to.put(
    (known.on ? 1 : 0) |
      (known.feedbackLive ? 4 : 0) |
      (known.feedback === null ? 8 : known.feedback ? 16 : 32) |
      (known.offsSent << 8),
  );
  to.num(known.disagreesMs);
  to.num(known.leaseLeftMs);
  to.num(known.sinceMs);
  to.num(known.feedbackAgeMs);
  to.word(known.feedbackFault);
}

function echoing(to: Digits, known: DeviceState): void {
  to.put((known.on ? 1 : 0) | (known.offsSent << 8));
  to.num(known.disagreesMs);
  to.num(known.leaseLeftMs);
}

/** @param told its next reading says its flow anew before anybody asks */
function route(to: Digits, pipe: RouteState, told: boolean): void {
  to.word(pipe.running);
  to.num(pipe.runMs);
  to.num(pipe.restMs);
  to.num(pipe.pendingLeastL);
  to.num(pipe.pendingMostL);
  to.num(pipe.lastTotalL);
  to.num(pipe.sinceMeterMs);
  to.num(pipe.windowMs);
  to.num(pipe.windowL);
  if (!told || pipe.lastTotalL === null) to.num(pipe.flowLpm);
  to.bit(pipe.startedSinceMeter);
  to.bit(pipe.ran);
  to.num(pipe.countL);
  to.bit(pipe.hasCounted);
  to.num(pipe.lowLooks);
  to.num(pipe.strayL);
  to.num(pipe.starvedMs);
  to.num(pipe.impureMs);
  to.num(pipe.starts);
  to.num(pipe.runBudgetMs);
}

function vessel(to: Digits, held: VesselState): void {
  each(to, held.floats, floatBook);
  to.num(held.settledLeastL);
  to.num(held.settledMostL);
  to.num(held.leastL);
  to.num(held.mostL);
  to.num(held.bookLeastL);
  to.num(held.bookMostL);
  to.num(held.bookMs);
  to.bit(held.bookRan);
  to.num(held.mismatchL);
  to.bit(held.bookAgreed);
  to.num(held.doubtMs);
  to.num(held.handBudgetL);
  to.num(held.handAssumedL);
}

function floatBook(to: Digits, { leastL, mostL, handLeftL, wet }: FloatBook): void {
  to.num(leastL);
  to.num(mostL);
  to.num(handLeftL);
  to.bit(wet);
}

/** Its level says anew what it holds and how far that is from the book; a run that starts may ask for the least before. */
function levelled(to: Digits, held: VesselState): void {
  to.num(held.leastL);
  to.num(held.bookLeastL);
  to.num(held.bookMostL);
  to.num(held.bookMs);
  to.bit(held.bookRan);
  to.bit(held.bookAgreed);
  to.num(held.doubtMs);
  to.num(held.handBudgetL);
  to.num(held.handAssumedL);
}

function salinity(to: Digits, seen: SalinityState): void {
  to.num(seen.probe);
  to.num(seen.probeAgeMs);
  to.num(seen.anchor);
  to.num(seen.measured);
  to.num(seen.measuredAgeMs);
  to.word(seen.instrument);
}

function balance(to: Digits, known: WaterState): void {
  for (const item of Object.values(known)) {
    if (typeof item === 'string') to.word(item);
    else if (typeof item === 'boolean') to.bit(item);
    else to.num(item);
  }
}

function heater(to: Digits, seen: HeaterState): void {
  to.num(seen.onMs);
  to.num(seen.offMs);
  to.num(seen.windowC);
  to.num(seen.windowMs);
  to.bit(seen.frozen);
  to.bit(seen.welded);
}

function unit(to: Digits, work: UnitState): void {
  to.word(work.procedure);
  to.word(work.cause);
  to.num(work.restarts);
}

function batch(to: Digits, work: BatchState): void {
  unit(to, work);
  to.word(work.stage);
  to.num(work.stageMs);
  to.num(work.circulatedMs);
  to.bit(work.moving);
  to.num(work.movedL);
  to.num(work.askedKg);
  to.num(work.askedAt);
  to.num(work.askedL);
  to.num(work.trims);
  to.num(work.salted?.leastL ?? null);
  to.num(work.salted?.mostL ?? null);
  to.num(work.salinityBefore);
  to.num(work.saltAddedKg);
  to.num(work.saltAddedNowKg);
  to.bit(work.confirmed);
  to.num(work.doubted);
  to.word(work.doubtedBy);
  to.num(work.acceptedSalinity);
  to.num(work.sinceCirculatedMs);
  to.num(work.heatBudgetMs);
  for (const value of work.yields) to.num(value);
}

function exchange(to: Digits, work: ExchangeState): void {
  unit(to, work);
  to.word(work.step);
  to.num(work.dueL);
  to.num(work.requestedL);
  to.num(work.stepL);
  to.bit(work.stepRequested);
  to.num(work.differenceL);
}

function water(to: Digits, wet: Water): void {
  // Not its flow: every tick finds that anew.
  for (const list of [wet.level, wet.relay, wet.unheard, wet.dry, wet.spilling])
    for (const value of list) to.put(value);
  to.put(wet.salt);
  to.put(wet.loose);
  to.put(wet.mixC);
  to.put(wet.crossed);
  to.put(wet.wrong);
  to.bit(wet.floor);
}

function each<T>(to: Digits, record: Readonly<Record<string, T>>, fold: (to: Digits, item: T) => void): void {
  for (const id in record) fold(to, record[id] as T);
}
