// The record of each batch: when, from what, with how much salt asked for and added, how often trimmed, and what came of
// it. Read off two states that follow each other, so that it can't disagree with what the core believed.
import { fresh } from '../control/guard/evidence.ts';
import { known } from '../control/guard/invariant.ts';
import type { State } from '../control/process/state.ts';
import type { Plant } from '../station/plant.ts';

export interface BatchRecord {
  /** One of a kind in this journal; `number` starts anew when the service loses its memory. */
  readonly id: number;
  readonly number: number;
  /** Times of the wall clock, ms. */
  readonly beganMs: number;
  readonly endedMs: number | null;
  /** How it ended, in words. */
  readonly outcome: string | null;
  readonly leftoverL: number;
  readonly leftoverSalinity: number | null;
  /** All that was asked for, trims included, and all that was confirmed or dosed. */
  readonly askedKg: number;
  readonly addedKg: number;
  readonly trims: number;
  /** When, and as what, it was accepted last. */
  readonly acceptedMs: number | null;
  readonly volumeL: number | null;
  readonly salinity: number | null;
  readonly temperatureC: number | null;
  /** kg of salt in the water for each kg of product; null where it could not be learned. */
  readonly yieldKgPerKg: number | null;
  readonly readyMs: number | null;
}

const SALTING: readonly string[] = ['mix/salt', 'mix/trim-salt'];

/** Follows the batch from state to state. */
export class BatchBook {
  readonly #plant: Plant;
  #open: BatchRecord | null;
  #nextId: number;

  /** @param open the record that was not ended when the journal was opened */
  constructor(plant: Plant, open: BatchRecord | null, nextId: number) {
    this.#plant = plant;
    this.#open = open;
    this.#nextId = nextId;
  }

  /** The service begins with this state. @returns records to write */
  begin(state: State, wallMs: number): BatchRecord[] {
    const { batch } = state;
    const goesOn = this.#open !== null && this.#open.number === batch.number && batch.stage !== 'idle';
    if (goesOn) return [];
    const ended = this.#end(wallMs, 'unknown: the service started without a memory of it');
    if (batch.stage === 'idle') return ended;
    // Under way, and not in this journal: from here on it is.
    this.#open = beginning(this.#nextId++, state, wallMs);
    return [...ended, this.#open];
  }

  /** @returns records to write, oldest first */
  take(before: State, after: State, wallMs: number): BatchRecord[] {
    if (after.batch.number !== before.batch.number) {
      const ended = this.#end(wallMs, 'used, the next one began');
      this.#open = beginning(this.#nextId++, after, wallMs);
      return [...ended, this.#open];
    }
    const open = this.#open;
    if (open === null) return [];
    const changed = this.#change(open, before, after, wallMs);
    const isNew = Object.keys(changed).some(
      (key) => changed[key as keyof BatchRecord] !== open[key as keyof BatchRecord],
    );
    if (isNew) this.#open = { ...open, ...changed };
    const outcome = outcomeOf(before, after);
    if (outcome !== null) return this.#end(wallMs, outcome);
    return isNew && this.#open !== null ? [this.#open] : [];
  }

  #change(open: BatchRecord, before: State, after: State, wallMs: number): Partial<BatchRecord> {
    const { batch } = after;
    const asks = batch.stage !== before.batch.stage && SALTING.includes(batch.stage);
    const isReady = batch.stage === 'ready' && open.readyMs === null;
    return {
      askedKg: open.askedKg + (asks ? batch.askedKg : 0),
      addedKg: batch.saltAddedKg,
      trims: batch.trims,
      ...(isReady ? { readyMs: wallMs } : {}),
      ...(batch.accepted && !before.batch.accepted ? this.#accepted(before, after, wallMs) : {}),
    };
  }

  #accepted(before: State, after: State, acceptedMs: number): Partial<BatchRecord> {
    const { mixingId, vessels } = this.#plant;
    const held = known(after.vessels, mixingId);
    const learned =
      after.batch.yields !== before.batch.yields && !same(after.batch.yields, before.batch.yields);
    return {
      acceptedMs,
      volumeL: (held.leastL + held.mostL) / 2,
      salinity: after.batch.acceptedSalinity,
      temperatureC: fresh(this.#plant, after, known(vessels, mixingId).temperature),
      yieldKgPerKg: learned ? (after.batch.yields.at(-1) ?? null) : null,
    };
  }

  #end(endedMs: number, outcome: string): BatchRecord[] {
    const open = this.#open;
    this.#open = null;
    return open === null ? [] : [{ ...open, endedMs, outcome }];
  }
}

const same = (a: readonly number[], b: readonly number[]): boolean =>
  a.length === b.length && a.every((value, index) => value === b[index]);

function outcomeOf({ batch: before }: State, { batch: after }: State): string | null {
  if (after.procedure !== before.procedure) {
    if (after.procedure === 'stopped') return 'stopped';
    if (after.procedure === 'aborted') return 'aborted';
  }
  if (after.stage !== 'idle' || before.stage === 'idle') return null;
  return before.accepted ? 'used up' : 'given up';
}

const beginning = (id: number, { batch }: State, beganMs: number): BatchRecord => ({
  id,
  number: batch.number,
  beganMs,
  endedMs: null,
  outcome: null,
  leftoverL: batch.leftoverL,
  leftoverSalinity: batch.leftoverSalinity,
  askedKg: 0,
  addedKg: 0,
  trims: 0,
  acceptedMs: null,
  volumeL: null,
  salinity: null,
  temperatureC: null,
  yieldKgPerKg: null,
  readyMs: null,
});
