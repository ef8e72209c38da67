// What was measured in the mixing vat, and whether that is believed. Every number is held against the salt's balance; what the
// balance does not explain, and what it can not tell, wants a second, different instrument. Until that agrees nothing is accepted:
// so nothing is heated and nothing delivered.

import { BRINE_SALINITY } from '../../engineering/properties.ts';
import { PRACTICAL_SALINITY } from '../../engineering/seawater.ts';
import type { Plant } from '../../station/plant.ts';
import { accept, agree, disown, narrow } from '../guard/acceptance.ts';
import { agreeWithin, BY_HAND, entryOf, isProbe, isSameInstrument, PROBE } from '../guard/instruments.ts';
import { known } from '../guard/invariant.ts';
import {
  CONFIRMS_SHARE,
  PERSON_PATIENCE_MS,
  SECOND_INSTRUMENT,
  STEADY_PATIENCE,
  TENTH,
} from '../guard/limits.ts';
import { hundredths, type Message, message, tenths, whole } from '../guard/message.ts';
import { type SaltRange, saltRange } from '../guard/salt-balance.ts';
import { ask, askByHand, byHand, type Measured, measuredByPerson } from './instruments.ts';
import { inFormulas, temperatureC, waterForTrim } from './mixing.ts';
import type { BatchState, State } from './state.ts';
import { learnYield, saltedTo } from './yield-of-batch.ts';

const MINUTE_MS = 60_000;

/** What is in the vat before salting: measured, or known from the balance; null: not yet. */
export function measuredBefore(plant: Plant, draft: State): Measured | null {
  const work = draft.batch;
  const water = known(draft.salinity, plant.mixingId);
  if (!measuredByPerson(plant, draft)) {
    const settled = work.circulatedMs >= plant.process.batch.settleMs;
    if (settled && water.probe !== null && water.probeAgeMs === 0)
      return { salinity: water.probe, by: PROBE };
    work.words = message('circulating-to-measure');
    return null;
  }
  const range = saltRange(plant, draft);
  if (tells(plant, range)) return { salinity: (range.least + range.most) / 2, by: BY_HAND };
  return askByHand(plant, draft);
}

/** Is the balance so narrow that a wrong measurement can not hide in it? */
const tells = (plant: Plant, { least, most }: SaltRange): boolean =>
  most - least <= 2 * Math.max(TENTH * plant.process.salinity.target, SECOND_INSTRUMENT);

export type Judged =
  | { readonly kind: 'waiting'; readonly words: Message }
  | { readonly kind: 'stuck'; readonly words: Message }
  | ({ readonly kind: 'measured' } & Measured);

/** The salinity of the finished mix: settled, steady for long enough, and measured now. */
export function judgeSalinity(plant: Plant, draft: State): Judged {
  const work = draft.batch;
  const { settleMs, steadyOverMs } = plant.process.batch;
  if (work.circulatedMs < settleMs) return { kind: 'waiting', words: message('settling-before-measurement') };
  if (measuredByPerson(plant, draft)) {
    const hand = askByHand(plant, draft);
    return hand === null ? { kind: 'waiting', words: work.words } : { kind: 'measured', ...hand };
  }
  const water = known(draft.salinity, plant.mixingId);
  if (water.probe !== null && water.probeAgeMs === 0 && water.steadyMs >= steadyOverMs)
    return { kind: 'measured', salinity: water.probe, by: PROBE };
  if (water.beyondMs >= steadyOverMs && water.beyondMs > 0) return beyond(plant, draft);
  const patienceMs = STEADY_PATIENCE * (settleMs + steadyOverMs) + plant.process.batch.dissolveMs;
  if (work.stageMs > Math.max(patienceMs, 0) && work.circulatedMs > patienceMs)
    return {
      kind: 'stuck',
      words: message('salinity-not-steady'),
    };
  if (work.stageMs > patienceMs + PERSON_PATIENCE_MS)
    return {
      kind: 'stuck',
      words: message('salinity-not-measurable'),
    };
  const durationMs = MINUTE_MS * tenths(water.steadyMs / MINUTE_MS);
  return {
    kind: 'waiting',
    words:
      water.probe === null || water.probeAgeMs > 0
        ? message('measuring-nothing', { durationMs })
        : message('measuring-steady', { salinity: hundredths(water.probe), durationMs }),
  };
}

/** The probe reads what no practical salinity has: a person says how much it is, with a sample that they thin. */
function beyond(plant: Plant, draft: State): Judged {
  const work = draft.batch;
  const shown = message('probe-beyond-scale');
  const hand = byHand(plant, draft);
  if (hand === null || isProbe(plant, hand.by)) {
    ask(plant, draft, message('thin-a-sample', { says: shown }), '');
    return { kind: 'waiting', words: work.words };
  }
  if (hand.salinity > PRACTICAL_SALINITY.most - agreeWithin(plant)) {
    if (!agreed(plant, draft, hand.salinity, hand.salinity)) {
      ask(plant, draft, message('thin-a-sample', { says: shown }), '');
      return { kind: 'waiting', words: work.words };
    }
    return { kind: 'measured', ...hand };
  }
  return {
    kind: 'stuck',
    words: message('probe-beyond-scale-contradicted', {
      says: shown,
      instrument: hand.by,
      salinity: hundredths(hand.salinity),
    }),
  };
}

/** Two instruments agree; @returns false where the guard has not heard both of this very water */
function agreed(plant: Plant, draft: State, one: number, other: number): boolean {
  if (!agree(plant, draft)) return false;
  const work = draft.batch;
  const isSalted = Math.min(one, other) >= CONFIRMS_SHARE * plant.process.salinity.target;
  Object.assign(work, { confirmed: work.confirmed || isSalted, doubted: null, doubtedBy: '' });
  return true;
}

export type Doubt =
  | { readonly kind: 'none'; readonly salinity: number }
  | { readonly kind: 'asked' }
  | { readonly kind: 'stuck'; readonly words: Message };

/** Before any salt: can the water hold what was measured? Where it can, the balance is so much narrower from now on. */
export function doubtUnsalted(plant: Plant, draft: State, measured: Measured): Doubt {
  if (measured.by === BY_HAND) return { kind: 'none', salinity: measured.salinity };
  const doubt = doubted(plant, draft, measured, unexplained);
  if (doubt.kind !== 'none' || draft.batch.confirmed) return doubt;
  narrow(plant, draft);
  return doubt;
}

/** The finished mix: can it be what was measured, and could anybody tell if it were not? */
export const doubtSalinity = (plant: Plant, draft: State, measured: Measured): Doubt =>
  doubted(plant, draft, measured, (...of) => unexplained(...of) ?? untold(...of));

type Why = (plant: Plant, draft: State, measured: Measured) => Message | null;

/** The balance does not allow it, or a person's number of a moment ago contradicts it. */
const unexplained: Why = (plant, draft, { salinity, by }) => {
  const { least, most } = saltRange(plant, draft);
  const says = message('instrument-says', { instrument: by, salinity: tenths(salinity) });
  if (salinity > most + SECOND_INSTRUMENT || salinity < least - SECOND_INSTRUMENT) {
    const allowed = message('not-allowed-by-balance', {
      says,
      leastSalinity: tenths(least),
      mostSalinity: tenths(most),
    });
    return withWayOut(plant, draft, allowed, salinity);
  }
  const work = draft.batch;
  const contradicts = work.doubted !== null && Math.abs(work.doubted - salinity) > agreeWithin(plant);
  return by === PROBE && contradicts && work.doubtedBy !== PROBE
    ? message('contradicted-by', { says, instrument: work.doubtedBy, salinity: tenths(work.doubted ?? 0) })
    : null;
};

/** With what would thin it, where that is the doubt: whether the number is right is not known yet. */
function withWayOut(plant: Plant, draft: State, doubt: Message, salinity: number): Message {
  const { target, tolerance } = plant.process.salinity;
  if (salinity <= target + tolerance || salinity > BRINE_SALINITY.most) return doubt;
  const water = waterForTrim(plant, draft, salinity);
  return water.kind === 'water'
    ? message('if-right-add-water', { doubt, volumeL: whole(water.litres), salinity: tenths(target) })
    : message('if-right-draw-off', { doubt, volumeL: tenths(water.drawnL) });
}

/** The balance allows it, but is too wide to tell, or nobody has ever checked this instrument with another one. */
const untold: Why = (plant, draft, { salinity, by }) => {
  const { confirmed } = draft.water;
  // Two instruments in people's hands that agreed say nothing of a probe that is read again.
  if (draft.batch.confirmed && (by !== PROBE || confirmed === entryOf(plant))) return null;
  const says = message('instrument-says', { instrument: by, salinity: tenths(salinity) });
  if (confirmed === null) return message('second-must-agree-first', { says });
  if (by === PROBE && confirmed !== entryOf(plant)) return message('second-must-agree-anew', { says });
  const expected = saltedTo(plant, draft, inFormulas(temperatureC(plant, draft)));
  if (expected === null)
    return tells(plant, saltRange(plant, draft)) ? null : message('too-little-known', { says });
  const rise = expected - draft.batch.salinityBefore;
  return Math.abs(salinity - expected) > Math.max(TENTH * rise, SECOND_INSTRUMENT)
    ? message('by-salt-it-would-be', { says, salinity: tenths(expected) })
    : null;
};

function doubted(plant: Plant, draft: State, measured: Measured, why: Why): Doubt {
  const reason = why(plant, draft, measured);
  if (reason === null) return { kind: 'none', salinity: measured.salinity };
  return measured.by === PROBE
    ? probeAgainstHand(plant, draft, measured, reason)
    : handAgainstHand(plant, draft, measured, reason, why);
}

function probeAgainstHand(plant: Plant, draft: State, probe: Measured, reason: Message): Doubt {
  const hand = byHand(plant, draft);
  if (hand === null || isProbe(plant, hand.by)) {
    ask(plant, draft, reason, PROBE);
    return { kind: 'asked' };
  }
  if (Math.abs(hand.salinity - probe.salinity) <= agreeWithin(plant)) {
    if (agreed(plant, draft, probe.salinity, hand.salinity))
      return { kind: 'none', salinity: probe.salinity };
    ask(plant, draft, reason, PROBE);
    return { kind: 'asked' };
  }
  return {
    kind: 'stuck',
    words: message('probe-contradicted', {
      salinity: hundredths(probe.salinity),
      instrument: hand.by,
      otherSalinity: hundredths(hand.salinity),
    }),
  };
}

/** Two instruments in a person's hands, one after the other. A new number of the same one takes the place of its old one. */
function handAgainstHand(plant: Plant, draft: State, hand: Measured, reason: Message, why: Why): Doubt {
  const work: BatchState = draft.batch;
  const { doubted, doubtedBy } = work;
  const isNew = isProbe(plant, doubtedBy) || isSameInstrument(doubtedBy, hand.by);
  const before = isNew ? null : doubted;
  if (before !== null && Math.abs(hand.salinity - before) <= agreeWithin(plant)) {
    if (agreed(plant, draft, before, hand.salinity))
      return { kind: 'none', salinity: (before + hand.salinity) / 2 };
    ask(plant, draft, reason, hand.by);
    return { kind: 'asked' };
  }
  if (before !== null && why(plant, draft, hand) === null) return { kind: 'none', salinity: hand.salinity };
  // Where the balance rules the earlier number out, and not this one, that was a slip: this one wants the second instrument.
  const isRuledOut = (salinity: number, by: string) => unexplained(plant, draft, { salinity, by }) !== null;
  if (before === null || (isRuledOut(before, doubtedBy) && !isRuledOut(hand.salinity, hand.by))) {
    Object.assign(work, { doubted: hand.salinity, doubtedBy: hand.by });
    ask(plant, draft, reason, hand.by);
    return { kind: 'asked' };
  }
  return {
    kind: 'stuck',
    words: message('instruments-contradict', {
      instrument: doubtedBy,
      salinity: hundredths(before),
      otherInstrument: hand.by,
      otherSalinity: hundredths(hand.salinity),
    }),
  };
}

/** The batch is good, if the guard has evidence enough for that; then the yield of its salt is learned. */
export function acceptBatch(plant: Plant, draft: State, salinity: number): boolean {
  const work = draft.batch;
  if (!accept(plant, draft)) return false;
  Object.assign(work, { acceptedSalinity: salinity, heatBudgetMs: 0, doubted: null, doubtedBy: '' });
  learnYield(plant, draft, salinity, inFormulas(temperatureC(plant, draft)));
  return true;
}

/** What was measured is far from what was accepted: kept water changes slowly. */
export function isFarFromAccepted(plant: Plant, draft: State, salinity: number): boolean {
  const { acceptedSalinity } = draft.batch;
  return acceptedSalinity !== null && Math.abs(salinity - acceptedSalinity) > agreeWithin(plant);
}

/** A person has measured the mixing vat unasked: what contradicts accepted water ends its acceptance. */
export function reported(plant: Plant, draft: State, { salinity, by }: Measured): void {
  const work = draft.batch;
  if (!work.accepted || !isFarFromAccepted(plant, draft, salinity)) return;
  Object.assign(work, { doubted: salinity, doubtedBy: by });
  disown(work);
}
