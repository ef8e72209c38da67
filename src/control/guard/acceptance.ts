// Whether the water of the mixing vat is good enough to be heated and delivered. Whoever mixes may ask for that as often as they
// like: the answer rests on what was heard, and on nothing that the process remembers.
//
// What a person says of the vat is heard here: salt that went in, and numbers with their instruments. Whatever was told to go
// into the vat, or went in unasked, ends the acceptance, and every number of before is of other water; it counts as mixed only
// after circulation that was proven.
import { PRACTICAL_SALINITY } from '../../engineering/seawater.ts';
import type { Plant } from '../../station/plant.ts';
import { swell } from './contents.ts';
import { circulates } from './flows.ts';
import { agreeWithin, BY_HAND, entryOf, isProbe, isSameInstrument } from './instruments.ts';
import { known } from './invariant.ts';
import { AGE_CAP_MS, CONFIRMS_SHARE, MOST_MEASURED, MOST_POURED_KG, SECOND_INSTRUMENT } from './limits.ts';
import { actuatorsOf } from './row-kinds.ts';
import { anchor, cameUnasked, isLetInUnasked, saltPoured, saltRange } from './salt-balance.ts';
import type { GuardState, WaterRecord } from './state.ts';
import type { Request } from './types.ts';
import { watched } from './watched.ts';

/** Takes what a person says of the water. What makes no sense changes nothing; whoever answers says why. */
export function hearOf(plant: Plant, draft: GuardState, request: Request): void {
  if (request.ask === 'salt-added') hearOfSalt(plant, draft, request.massKg);
  if (request.ask === 'salinity-measured' && isNumber(draft, request)) hearOfSalinity(plant, draft, request);
}

type Number = Extract<Request, { ask: 'salinity-measured' }>;

/** What can be poured at all, kg. */
export const isPourable = (kg: number): boolean => kg > 0 && kg <= MOST_POURED_KG;

/** A vat that somebody salted twice is beyond what the formulas reach, and must still be reported. */
export const isMeasurable = (salinity: number): boolean => salinity >= 0 && salinity <= MOST_MEASURED;

const isNumber = (draft: GuardState, { vessel, salinity, instrument }: Number): boolean =>
  draft.salinity[vessel] !== undefined && instrument.trim() !== '' && isMeasurable(salinity);

/** Whoever says "done" has poured what the sheet asks for. */
function hearOfSalt(plant: Plant, draft: GuardState, massKg: number | null): void {
  const { mixingId } = plant;
  const task = draft.tasks[mixingId];
  const askedKg = task?.task === 'add-salt' ? (task.massKg ?? 0) : 0;
  const kg = massKg ?? askedKg;
  if (!isPourable(kg)) return;
  // Room for what was asked was made when it was asked for.
  swell(known(plant.vessels, mixingId), known(draft.vessels, mixingId), Math.max(0, kg - askedKg));
  saltPoured(draft, kg);
  salted(plant, draft);
}

function hearOfSalinity(plant: Plant, draft: GuardState, { vessel, salinity, instrument }: Number): void {
  const seen = known(draft.salinity, vessel);
  if (vessel === plant.mixingId) {
    const { water } = draft;
    const isOther = !isProbe(plant, seen.instrument) && !isSameInstrument(seen.instrument, instrument);
    if (water.hand !== 'other' && isOther && seen.measured !== null)
      Object.assign(water, { before: seen.measured, beforeBy: seen.instrument });
    water.hand = water.unmixedMs > 0 ? 'unmixed' : 'mixed';
  }
  Object.assign(seen, { measured: salinity, measuredAgeMs: 0, instrument: instrument.trim() });
}

/** After the balance: what goes into the vat, and how well it is mixed. */
export function watchWater(plant: Plant, draft: GuardState, elapsedMs: number): void {
  const { water, batch } = draft;
  if (batch.accepted) keep(batch).ageMs = Math.min(batch.ageMs + elapsedMs, AGE_CAP_MS);
  for (const { actuator, vessel, rateKgPerMin } of Object.values(plant.dosers)) {
    if (vessel !== plant.mixingId || !known(draft.devices, actuator).on) continue;
    saltPoured(draft, (elapsedMs / 60_000) * rateKgPerMin);
    salted(plant, draft);
  }
  const isSent = known(plant.vessels, plant.mixingId).into.some((id) =>
    actuatorsOf(plant, id).every((actuator) => known(draft.devices, actuator).on),
  );
  if (isSent || isLetInUnasked(plant, draft) || (batch.accepted && cameUnasked(plant, draft)))
    changed(draft, plant.process.batch.settleMs);
  else if (circulates(plant, draft, plant.mixingId))
    water.unmixedMs = Math.max(0, water.unmixedMs - watched(plant, elapsedMs));
}

const salted = ({ process }: Plant, draft: GuardState): void =>
  changed(draft, process.batch.dissolveMs + process.batch.settleMs);

function changed(draft: GuardState, mixesForMs: number): void {
  disown(draft.batch);
  Object.assign(draft.water, {
    unmixedMs: Math.max(draft.water.unmixedMs, mixesForMs),
    hand: 'other',
    before: null,
    beforeBy: '',
  });
}

/** What is in the vat by the probe now, or by a person since anything went in; null: nobody knows. */
function current(plant: Plant, draft: GuardState): number | null {
  const { probe, probeAgeMs, measured, measuredAgeMs } = known(draft.salinity, plant.mixingId);
  if (isReadNow(plant, draft)) return probeAgeMs === 0 ? probe : null;
  if (draft.water.hand === 'other' || measuredAgeMs > plant.process.batch.measurementServesMs) return null;
  const pair = byTwoHands(plant, draft);
  return pair === null ? measured : (pair.one + pair.other) / 2;
}

const isReadNow = (plant: Plant, draft: GuardState): boolean => {
  const { probe, probeAgeMs } = known(draft.salinity, plant.mixingId);
  return probe !== null && probeAgeMs === 0;
};

interface Pair {
  readonly one: number;
  readonly other: number;
}

/** Two different instruments in people's hands that agree. */
function byTwoHands(plant: Plant, { water, salinity }: GuardState): Pair | null {
  const { measured, instrument } = known(salinity, plant.mixingId);
  const { before, beforeBy } = water;
  if (water.hand === 'other' || before === null || measured === null) return null;
  if (isProbe(plant, instrument) || isSameInstrument(beforeBy, instrument)) return null;
  return Math.abs(measured - before) <= agreeWithin(plant) ? { one: before, other: measured } : null;
}

/** The probe, and a person with something else; also where both say that it is beyond what the probe can read. */
function withProbe(plant: Plant, { water, salinity }: GuardState): Pair | null {
  const { probe, probeAgeMs, beyondMs, measured, instrument } = known(salinity, plant.mixingId);
  if (water.hand === 'other' || measured === null || isProbe(plant, instrument)) return null;
  if (beyondMs > 0)
    return measured > PRACTICAL_SALINITY.most - agreeWithin(plant)
      ? { one: measured, other: measured }
      : null;
  const agree = probe !== null && probeAgeMs === 0 && Math.abs(measured - probe) <= agreeWithin(plant);
  return agree ? { one: probe, other: measured } : null;
}

/**
 * Where two different instruments agree the balance begins anew at what they say. In nearly fresh water they agree whatever
 * their scale is wrong by, so that confirms neither.
 * @returns whether they do
 */
export function agree(plant: Plant, draft: GuardState): boolean {
  const beside = withProbe(plant, draft);
  const pair = beside ?? byTwoHands(plant, draft);
  if (pair === null) return false;
  const least = Math.min(pair.one, pair.other);
  if (least >= CONFIRMS_SHARE * plant.process.salinity.target)
    draft.water.confirmed = beside === null ? (draft.water.confirmed ?? BY_HAND) : entryOf(plant);
  const most = Math.max(pair.one, pair.other) + SECOND_INSTRUMENT;
  anchor(plant, draft, { least: least - SECOND_INSTRUMENT, most });
  return true;
}

/** One number that the balance explains makes it so much narrower. */
export function narrow(plant: Plant, draft: GuardState): void {
  const salinity = current(plant, draft);
  if (salinity === null) return;
  const { least, most } = saltRange(plant, draft);
  anchor(plant, draft, {
    least: Math.max(least, Math.min(most, salinity - SECOND_INSTRUMENT)),
    most: Math.min(most, Math.max(least, salinity + SECOND_INSTRUMENT)),
  });
}

/**
 * Accepts the water as it is measured now, where all evidence is for it: mixed, measured since then, explained by the salt's
 * balance, and by an instrument that a second one has confirmed. Whether it is near enough to the target is asked at
 * every delivery.
 * @returns false where something is missing; nothing is changed then
 */
export function accept(plant: Plant, draft: GuardState): boolean {
  const salinity = current(plant, draft);
  if (salinity === null || draft.water.unmixedMs > 0) return false;
  if (!isReadNow(plant, draft) && draft.water.hand !== 'mixed') return false;
  const { confirmed } = draft.water;
  if (isReadNow(plant, draft) ? confirmed !== entryOf(plant) : confirmed === null) return false;
  const { least, most } = saltRange(plant, draft);
  if (salinity < least - SECOND_INSTRUMENT || salinity > most + SECOND_INSTRUMENT) return false;
  Object.assign(keep(draft.batch), { accepted: true, ageMs: 0 });
  anchor(plant, draft, { least: salinity - SECOND_INSTRUMENT, most: salinity + SECOND_INSTRUMENT });
  return true;
}

/** Whoever doubts the water may say so at any time: it is no longer accepted. @param ageMs what becomes of its age */
export function disown(record: WaterRecord, ageMs = record.ageMs): void {
  Object.assign(keep(record), { accepted: false, ageMs });
}

/** The record is written on in this file alone. */
const keep = (record: WaterRecord): { -readonly [Field in keyof WaterRecord]: WaterRecord[Field] } => record;
