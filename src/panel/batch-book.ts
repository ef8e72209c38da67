// Each batch's record: when each stage began and ended, what went in, what came of it, how much of it was delivered.
import { fresh } from '../control/guard/evidence.ts';
import { known } from '../control/guard/invariant.ts';
import type { BatchState } from '../control/process/state.ts';
import type { BatchRecord } from './contract.ts';
import type { Turn } from './turn.ts';

const BATCHES_KEPT = 500;

export interface BatchBook {
  readonly observe: (turn: Turn) => void;
  /** Oldest first, as they are kept; only the last is still written on. */
  readonly rows: () => readonly BatchRecord[];
  /** The one under way, or null. */
  readonly current: () => BatchRecord | null;
}

type Open = { -readonly [K in keyof BatchRecord]: BatchRecord[K] };

export function batchBook(kept: readonly BatchRecord[] = []): BatchBook {
  const records: Open[] = kept.map((record) => ({ ...record }));
  let yields = 0;

  const open = (work: BatchState, atMs: number): Open => {
    const last = records.at(-1);
    if (last && last.endedMs === null) Object.assign(last, closed(last, atMs));
    const made: Open = {
      number: work.number,
      beganMs: atMs,
      endedMs: null,
      stages: [],
      saltAddedKg: 0,
      trims: 0,
      acceptedMs: null,
      acceptedSalinity: null,
      acceptedC: null,
      yieldKgPerKg: null,
      deliveredL: 0,
    };
    records.push(made);
    if (records.length > BATCHES_KEPT) records.shift();
    return made;
  };

  const follow = (record: Open, { plant, state, atMs }: Turn): void => {
    const { batch: work } = state;
    const stage = record.stages.at(-1);
    if (stage?.stage !== work.stage) {
      const before = record.stages.map((one) => (one.toMs === null ? { ...one, toMs: atMs } : one));
      record.stages =
        work.stage === 'idle' ? before : [...before, { stage: work.stage, fromMs: atMs, toMs: null }];
    }
    record.saltAddedKg = work.saltAddedKg;
    record.trims = work.trims;
    if (work.accepted && record.acceptedMs === null) {
      record.acceptedMs = atMs;
      record.acceptedSalinity = work.acceptedSalinity;
      record.acceptedC = fresh(plant, state, known(plant.vessels, plant.mixingId).temperature);
      const learned = work.yields.at(-1) ?? null;
      if (work.yields.length > 0 && sumOf(work.yields) !== yields) record.yieldKgPerKg = learned;
    }
    if (!work.accepted) record.acceptedMs = null;
    yields = sumOf(work.yields);
  };

  return {
    observe: (turn) => {
      const { plant, state, atMs } = turn;
      const { batch: work } = state;
      const last = records.at(-1);
      const under = last !== undefined && last.endedMs === null ? last : null;
      const delivered = deliveredL(turn);
      if (under && delivered > 0 && work.stage !== 'transfer')
        under.deliveredL = (under.deliveredL ?? 0) + delivered;
      if (work.stage === 'idle') {
        if (under) Object.assign(under, closed(under, atMs));
        yields = sumOf(work.yields);
        return;
      }
      const fits = under !== null && under.number === work.number;
      follow(fits ? under : open(work, atMs), { ...turn, plant });
    },
    rows: () => records,
    current: () => {
      const last = records.at(-1);
      return last !== undefined && last.endedMs === null ? last : null;
    },
  };
}

const closed = (record: Open, atMs: number): Partial<Open> => ({
  endedMs: atMs,
  stages: record.stages.map((one) => (one.toMs === null ? { ...one, toMs: atMs } : one)),
});

const sumOf = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0);

function deliveredL({ plant, state }: Turn): number {
  let litres = 0;
  for (const route of Object.values(plant.routes)) {
    if (route.purpose !== 'supply') continue;
    const pipe = known(state.routes, route.id);
    litres += pipe.movedL;
  }
  return litres;
}
