// Reads what was recorded back in its order, and checks each row on the way: the chain of sums, the count, the digests of
// the snapshots. A contradiction is `Damaged`, with the place.
import type { State } from '../control/process/state.ts';
import type { Plant } from '../station/plant.ts';
import type { Database } from './driver.ts';
import { chainOf, digestOf, hashOf, type Pair, plantOf, sumOf, unfoldSteps, unfoldText } from './packing.ts';
import type { Stamp } from './stamp.ts';
import { Damaged } from './trouble.ts';

/** Why a stretch of steps begins where it does. */
export type Cause =
  /** An empty journal. */
  | 'first'
  /** The service came back, with what its saved state was worth after the gap. */
  | 'restored'
  /** The service began with another state: it had lost its memory, or the station file was changed. */
  | 'anew'
  /** Steps before this one could not be written. */
  | 'gap';

export interface Start {
  readonly id: number;
  /** The number of its first step. */
  readonly step: number;
  readonly stamp: Stamp;
  readonly cause: Cause;
  /** How long the service was away before it, ms; null: nobody knows. */
  readonly gapMs: number | null;
  readonly words: string;
  readonly software: string;
  /** The station file's plant, and the one that the steps were made with. */
  readonly stationHash: string;
  readonly plantHash: string;
  /** When it was closed in good order; null where it was not. */
  readonly endedMs: number | null;
}

export interface Snapshot {
  readonly start: number;
  /** The step that is taken in this state. */
  readonly step: number;
  readonly stamp: Stamp;
  readonly chain: number;
  readonly state: State;
}

/** Steps that were written as one row, in order. */
export interface Stretch {
  /** The number of the first. */
  readonly step: number;
  readonly pairs: readonly Pair[];
  /** When the last of them was taken. */
  readonly stamp: Stamp;
  /** Of the state after the last; null in rows of version 1. */
  readonly digest: number | null;
  readonly chain: number;
}

export interface UsedPlant {
  readonly plant: Plant;
  readonly dictionary: Buffer;
}

interface StartRow extends Omit<Start, 'stamp'> {
  readonly wall: number;
  readonly mono: number;
  readonly boot: string | null;
  readonly sum: number;
}

/** What the sum of a start covers: everything but when it ended, which is not known when it begins. */
export const startSum = (start: Omit<Start, 'endedMs'>): number => {
  const { id, step, stamp, cause, gapMs, words, software, stationHash, plantHash } = start;
  const { wallMs, monotonicMs, computerBoot } = stamp;
  const fields = [
    id,
    step,
    wallMs,
    monotonicMs,
    computerBoot,
    cause,
    gapMs,
    words,
    software,
    stationHash,
    plantHash,
  ];
  return sumOf(JSON.stringify(fields));
};

/** In their order. @throws Damaged */
export function startsIn(db: Database): Start[] {
  const rows = db
    .prepare<[], StartRow>(
      `SELECT id, seq AS step, wall, mono, boot, cause, gap AS gapMs, words, software, station AS stationHash,
       plant AS plantHash, sum, ended AS endedMs FROM starts ORDER BY id`,
    )
    .all();
  return rows.map(({ wall, mono, boot, sum, ...rest }) => {
    const start = { ...rest, stamp: { wallMs: wall, monotonicMs: mono, computerBoot: boot } };
    if (startSum(start) !== sum)
      throw new Damaged(`the start before step ${start.step} does not fit its sum`);
    return start;
  });
}

/** @throws Damaged */
export function plantIn(db: Database, hash: string): UsedPlant {
  const row = db
    .prepare<[string], { body: Uint8Array; dictionary: Uint8Array }>(
      'SELECT body, dictionary FROM plants WHERE hash = ?',
    )
    .get(hash);
  if (row === undefined) throw new Damaged('the plant of a start is missing');
  const text = unfoldText(row.body);
  if (hashOf(text) !== hash) throw new Damaged('the plant of a start is not the one that its hash names');
  return { plant: plantOf(text), dictionary: unfoldDictionary(row.dictionary) };
}

const unfoldDictionary = (body: Uint8Array): Buffer => Buffer.from(unfoldText(body));

export interface SnapshotPlace {
  /** The step that is taken in that state. */
  readonly step: number;
  readonly wallMs: number;
}

/** Where there are snapshots of a start, rising. */
export function snapshotPlaces(db: Database, start: number): SnapshotPlace[] {
  return db
    .prepare<[number], SnapshotPlace>(
      'SELECT seq AS step, wall AS wallMs FROM snapshots WHERE start = ? ORDER BY seq',
    )
    .all(start);
}

/** @throws Damaged */
export function snapshotIn(db: Database, start: Start, step: number): Snapshot {
  const row = db
    .prepare<
      [number, number],
      { wall: number; mono: number; chain: number; digest: number; body: Uint8Array }
    >('SELECT wall, mono, chain, digest, body FROM snapshots WHERE start = ? AND seq = ?')
    .get(start.id, step);
  if (row === undefined) throw new Damaged(`the snapshot before step ${step} is missing`);
  const state = stateOf(unfoldText(row.body), step);
  if (digestOf(state) !== row.digest)
    throw new Damaged(`the snapshot before step ${step} does not fit its digest`);
  const stamp = { wallMs: row.wall, monotonicMs: row.mono, computerBoot: start.stamp.computerBoot };
  return { start: start.id, step, stamp, chain: row.chain, state };
}

function stateOf(text: string, step: number): State {
  try {
    return JSON.parse(text) as State;
  } catch (error) {
    throw new Damaged(`the snapshot before step ${step} is no JSON`, { cause: error });
  }
}

interface StepRow {
  readonly seq: number;
  readonly count: number;
  readonly start: number;
  readonly wall: number;
  readonly mono: number;
  readonly digest: number | null;
  readonly chain: number;
  readonly body: Uint8Array;
}

/** What a row's sum covers beside its body. */
export const headOf = (row: Omit<StepRow, 'chain' | 'body'>): (number | string)[] => [
  row.seq,
  row.count,
  row.start,
  row.wall,
  row.mono,
  ...(row.digest === null ? [] : [row.digest]),
];

/**
 * The steps of a start from a snapshot on. Read some rows at a time, each time in a read of its own: a long read would
 * keep the writer's log from being folded back into the file.
 * @param before the first step of the start after this one; Infinity for the last start
 * @throws Damaged
 */
export function* stretchesFrom(
  db: Database,
  start: Start,
  from: Pick<Snapshot, 'step' | 'chain'>,
  used: UsedPlant,
  before: number,
): Generator<Stretch> {
  const page = db.prepare<[number], StepRow>(
    'SELECT seq, count, start, wall, mono, digest, chain, body FROM steps WHERE seq >= ? ORDER BY seq LIMIT 64',
  );
  let { step, chain } = from;
  for (let rows = page.all(step); rows.length > 0; rows = page.all(step)) {
    for (const row of rows) {
      if (row.seq >= before) return;
      const read = stretchOf(row, start, used, step, chain);
      yield read;
      step += read.pairs.length;
      chain = read.chain;
    }
  }
}

function stretchOf(row: StepRow, start: Start, used: UsedPlant, step: number, before: number): Stretch {
  if (row.seq !== step) throw new Damaged(`step ${step} is missing, the next one there is ${row.seq}`);
  if (row.start !== start.id || chainOf(before, headOf(row), row.body) !== row.chain)
    throw new Damaged(`step ${step} and what follows does not fit its sum`);
  const pairs = unfoldSteps(row.body, used.dictionary);
  if (pairs.length !== row.count || row.count < 1)
    throw new Damaged(`at step ${step} there should be ${row.count} steps, and there are ${pairs.length}`);
  const stamp = { wallMs: row.wall, monotonicMs: row.mono, computerBoot: start.stamp.computerBoot };
  return { step, pairs, stamp, digest: row.digest, chain: row.chain };
}

/** The numbers for the next row: of its first step, and the sum before it. */
export function endOf(db: Database): { step: number; chain: number } {
  const row = db
    .prepare<[], { seq: number; count: number; chain: number }>(
      'SELECT seq, count, chain FROM steps ORDER BY seq DESC LIMIT 1',
    )
    .get();
  const start = db.prepare<[], number>('SELECT coalesce(max(seq), 1) FROM starts').pluck().get() ?? 1;
  const snapshot = db
    .prepare<[], { seq: number; chain: number }>(
      'SELECT seq, chain FROM snapshots ORDER BY start DESC, seq DESC LIMIT 1',
    )
    .get();
  const afterRow = row === undefined ? 1 : row.seq + row.count;
  const chain = row?.chain ?? snapshot?.chain ?? 0;
  return { step: Math.max(afterRow, start, snapshot?.seq ?? 1), chain };
}
