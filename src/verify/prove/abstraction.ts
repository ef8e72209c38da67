// What the exploration leaves out or counts more coarsely than the core does. `canonical.ts` is exact; this is not: each
// entry of ABSTRACTED is a promise about what the proof does not say, and `prove` prints them. The explorer goes on FROM
// the abstracted state.
import { forgetBook } from '../../control/guard/contents.ts';
import { rowOf } from '../../control/guard/interlocks.ts';
import { AGE_CAP_MS, FLUSH_MOST_MS } from '../../control/guard/limits.ts';
import { anchor, saltRange } from '../../control/guard/salt-balance.ts';
import type { State } from '../../control/process/state.ts';
import type { Plant } from '../../station/plant.ts';
import { canonical, canonicalGuard } from './canonical.ts';
import { TICK_MS } from './coarse-plant.ts';

export const ABSTRACTED: readonly { readonly what: string; readonly how: string }[] = [
  {
    what: 'what lies anew at every tick',
    how: 'begins on the way from an unsalted vat; all other faults also from a vat that somebody else salted',
  },
  { what: 'amounts', how: 'rounded to a quarter of a unit, salinities to a thousandth' },
  { what: 'budget of a filling run, and of heating', how: 'rounded up to whole ticks, a run up to sixteen' },
  { what: 'learned yield of the salt', how: 'never learned: the stated yield serves' },
  {
    what: 'age of a batch and of what was measured',
    how: 'never past its limit, but at any one moment at once (`grows-old`)',
  },
  { what: 'hours that a person may take', how: "never past the core's patience of four hours" },
  {
    what: 'the hour after which a level book is opened anew',
    how: 'never passes; noise of the level is rounded away',
  },
  { what: 'a level book that has grown wider than its vessel', how: 'counted up to two units beyond it' },
  {
    what: 'which of two rows says that a level is outside its book',
    how: 'the one for what ran in this very tick, or the other: both cut off the same and are reset together',
  },
  { what: 'water drawn by hand in a day', how: 'what is begun of a unit counts as drawn' },
  {
    what: 'the balance of the salt in the mixing vat',
    how: 'begun anew at every tick, rounded outwards to a sixteenth of the target',
  },
  { what: 'circulation until the mixing vat is one water', how: 'in whole ticks' },
  {
    what: 'second of two rows that watch one level',
    how: 'not looked for once the first is latched: both cut off the same and are reset together',
  },
  {
    what: 'rests of the inlet after no pressure or impure water',
    how: 'two ticks instead of 10 and 30 minutes',
  },
  { what: 'a flush that does not become pure', how: 'three ticks instead of ten minutes' },
  { what: 'a contact that fluttered', how: 'is believed again after two steady ticks at most' },
  { what: 'credit for starts in an hour', how: 'never used up (the rest between two runs is explored)' },
  { what: 'credit for restarts in a day', how: 'one, never earned back' },
  { what: 'silence of a meter', how: 'counted up to four ticks; what may have passed up to sixteen units' },
  {
    what: 'forgetting of stray litres',
    how: "never forgotten, counted up to one; a person's reset clears them",
  },
  { what: 'salt that was confirmed', how: 'counted up to more than three doses' },
  { what: 'proof tests and bypasses', how: 'none is under way, none is overdue: nobody switches a row off' },
  { what: 'commissioning', how: 'everything is commissioned: what the policy starts by itself starts' },
  { what: 'exercise of valves that stood still for weeks', how: 'left out: none is ever due' },
  { what: 'time of day and quiet hours', how: 'the clock never counts' },
  { what: 'stirring of a ready batch', how: 'every three ticks, counted from when it is ready' },
  { what: 'exchange that is due', how: 'counted up to one step' },
  { what: 'drained less delivered', how: 'counted up to one unit beyond what trips' },
];

const QUARTER = 4;
const grid = (value: number): number => Math.round(value * QUARTER) / QUARTER;
const fine = (value: number): number => Math.round(value * 1000) / 1000;
const fineOrNull = (value: number | null): number | null => (value === null ? null : fine(value));
const wholeTicks = (durationMs: number): number =>
  durationMs < AGE_CAP_MS ? Math.ceil(durationMs / TICK_MS) * TICK_MS : AGE_CAP_MS;
/** Far more than three doses: a sum that nobody compares. */
const MOST_SALT_KG = 1;
/** More than any vat holds is no more doubt than that. */
const MOST_PENDING = 16;
const MOST_CHATTER = 12;
const RESTS_MS = 2 * TICK_MS;
const FLUSHES_MS = 3 * TICK_MS;
const SILENT_MS = 4 * TICK_MS;
/** Beyond every bound for stray water of the coarse station. */
const STRAY_COUNTS_TO = 1;
const BEYOND_L = 1;
const BEYOND_BOOK_L = 2;
const LONGEST_RUN_MS = 16 * TICK_MS;

/** Brings a state, which nobody else holds, into the form that the explorer goes on from. */
export function abstracted(plant: Plant, state: State): State {
  coarser(plant, state);
  units(plant, state);
  for (const id in state.tasks) {
    const task = state.tasks[id];
    if (task) state.tasks[id] = { ...task, massKg: fineOrNull(task.massKg) };
  }
  canonical(plant, state);
  collapseAges(plant, state);
  return state;
}

/** The same for the guard's part alone, where nothing of the process is remembered. */
export function abstractedGuard(plant: Plant, state: State): State {
  coarser(plant, state);
  // Worked out anew before anybody asks.
  state.verdicts = {};
  canonicalGuard(plant, state);
  for (const id in state.salinity) {
    const water = state.salinity[id];
    if (water === undefined) continue;
    // Asked only whether it serves, whether it is of this tick, and which of the two is younger.
    const isYounger = water.probe === null || water.measuredAgeMs < water.probeAgeMs;
    if (water.measured !== null) water.measuredAgeMs = isYounger ? 0 : 2 * TICK_MS;
    if (water.probe !== null) water.probeAgeMs = Math.min(water.probeAgeMs, TICK_MS);
  }
  return state;
}

function coarser(plant: Plant, state: State): void {
  for (const id in state.sensors) {
    const seen = state.sensors[id];
    if (seen) seen.chatter = Math.min(grid(seen.chatter), MOST_CHATTER);
  }
  routes(plant, state);
  vessels(plant, state);
  closeBooks(plant, state);
  saltBalance(plant, state);
}

/** Of the ages of what was measured only this is kept: is it of this very tick, of this stage of the batch, does it serve? */
function collapseAges(plant: Plant, state: State): void {
  const { batch } = state;
  for (const id in state.salinity) {
    const water = state.salinity[id];
    if (water === undefined) continue;
    if (water.probe !== null) water.probeAgeMs = Math.min(water.probeAgeMs, TICK_MS);
    if (water.measured === null) continue;
    const ofThisStage = water.measuredAgeMs < batch.stageMs;
    if (ofThisStage && batch.stage !== 'heat')
      batch.stageMs = Math.max(batch.stage === 'mix/measure' ? batch.circulatedMs : 0, TICK_MS);
    water.measuredAgeMs = ofThisStage || batch.stage === 'heat' ? 0 : batch.stageMs;
  }
  const isOld = batch.ageMs > plant.process.batch.ageLimitMs;
  Object.assign(batch, { ageMs: isOld ? AGE_CAP_MS : 0 });
}

function routes(plant: Plant, state: State): void {
  for (const id in state.routes) {
    const pipe = state.routes[id];
    if (pipe === undefined) continue;
    if (pipe.runBudgetMs < AGE_CAP_MS)
      pipe.runBudgetMs = Math.min(wholeTicks(pipe.runBudgetMs), LONGEST_RUN_MS);
    pipe.pendingLeastL = Math.min(grid(pipe.pendingLeastL), MOST_PENDING);
    pipe.pendingMostL = Math.min(grid(pipe.pendingMostL), MOST_PENDING);
    pipe.sinceMeterMs = Math.min(pipe.sinceMeterMs, SILENT_MS);
    pipe.restMs = Math.min(pipe.restMs, SILENT_MS + TICK_MS);
    pipe.windowMs = Math.min(pipe.windowMs, SILENT_MS);
    pipe.windowL = grid(pipe.windowL);
    pipe.flowLpm = fineOrNull(pipe.flowLpm);
    pipe.strayL = Math.min(grid(pipe.strayL), STRAY_COUNTS_TO);
    pipe.starvedMs = Math.min(pipe.starvedMs, RESTS_MS);
    pipe.impureMs = Math.min(pipe.impureMs, RESTS_MS);
    pipe.starts = plant.routes[id]?.startsPerHour ?? 0;
  }
}

function vessels(plant: Plant, state: State): void {
  for (const id in state.vessels) {
    const held = state.vessels[id];
    if (held === undefined) continue;
    held.settledLeastL = grid(held.settledLeastL);
    held.settledMostL = grid(held.settledMostL);
    held.leastL = grid(held.leastL);
    held.mostL = grid(held.mostL);
    const brimL = plant.vessels[id]?.capacityL ?? 0;
    held.bookLeastL = held.bookLeastL === null ? null : Math.max(grid(held.bookLeastL), -BEYOND_BOOK_L);
    held.bookMostL = held.bookMostL === null ? null : Math.min(grid(held.bookMostL), brimL + BEYOND_BOOK_L);
    for (const float in held.floats) {
      const book = held.floats[float];
      if (book === undefined) continue;
      Object.assign(book, { leastL: grid(book.leastL), mostL: grid(book.mostL) });
      book.handLeftL = Math.floor(grid(book.handLeftL));
    }
    held.bookMs = 0;
    held.bookRan = false;
    held.mismatchL = grid(held.mismatchL);
    held.handBudgetL = Math.floor(grid(held.handBudgetL));
    held.handAssumedL = grid(held.handAssumedL);
    const water = state.salinity[id];
    if (water === undefined) continue;
    water.probe = fineOrNull(water.probe);
    water.anchor = fineOrNull(water.anchor);
    water.measured = fineOrNull(water.measured);
  }
}

function saltBalance(plant: Plant, state: State): void {
  const step = plant.process.salinity.target / SALT_STEPS;
  const { least, most } = saltRange(plant, state);
  // What evaporates in a tick is less than a hundredth of a step.
  const roundedUp = Math.ceil(most / step - 0.01) * step;
  anchor(plant, state, { least: Math.floor(least / step + 0.01) * step, most: roundedUp });
  state.water.provenYield = null;
  state.water.unmixedMs = wholeTicks(state.water.unmixedMs);
  state.water.before = fineOrNull(state.water.before);
}
const SALT_STEPS = 16;

/** The two rows that watch one level cut off the same and are reset together: once one is latched the other adds nothing. */
function closeBooks(plant: Plant, state: State): void {
  for (const key in state.trips) {
    const { subject = '', finding } = rowOf(plant, key) ?? {};
    const held = state.vessels[subject];
    if (held !== undefined && (finding === 'level-off-book' || finding === 'level-at-rest')) forgetBook(held);
  }
}

function units(plant: Plant, state: State): void {
  const { refill, batch, exchange } = state;
  for (const unit of [refill, batch, ...Object.values(exchange)]) unit.restarts = Math.floor(unit.restarts);
  if (refill.flushMs >= FLUSHES_MS) refill.flushMs = FLUSH_MOST_MS - TICK_MS;
  batch.movedL = grid(batch.movedL);
  batch.askedL = grid(batch.askedL);
  batch.askedKg = fine(batch.askedKg);
  batch.askedAt = fine(batch.askedAt);
  batch.doubted = fineOrNull(batch.doubted);
  batch.acceptedSalinity = fineOrNull(batch.acceptedSalinity);
  batch.salinityBefore = fine(batch.salinityBefore);
  batch.saltAddedKg = Math.min(fine(batch.saltAddedKg), MOST_SALT_KG);
  batch.saltAddedNowKg = fine(batch.saltAddedNowKg);
  batch.yields = [];
  if (batch.stage !== 'ready') batch.sinceCirculatedMs = 0;
  batch.heatBudgetMs = wholeTicks(batch.heatBudgetMs);
  for (const id in exchange) {
    const work = exchange[id];
    const aims = plant.process.exchange[id];
    if (work === undefined || aims === undefined) continue;
    const farL = 2 * aims.errorBoundL + BEYOND_L;
    work.dueL = Math.min(grid(work.dueL), aims.stepL);
    work.requestedL = grid(work.requestedL);
    work.stepL = grid(work.stepL);
    work.differenceL = Math.min(Math.max(grid(work.differenceL), -farL), farL + aims.stepL);
  }
}
