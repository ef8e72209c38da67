// Writes rows: plants, starts, snapshots, steps. Every function here runs inside the one transaction of a commit.
import type { State } from '../control/process/state.ts';
import type { Plant } from '../station/plant.ts';
import type { Database, Statement } from './driver.ts';
import { LIMITS } from './limits.ts';
import { chainOf, dictionaryOf, digestOf, foldSteps, foldText, hashOf, plantText } from './packing.ts';
import { endOf, headOf, startSum } from './reading.ts';
import type { Stamp } from './stamp.ts';
import type { Beginning, InText } from './waiting.ts';

export interface Identity {
  readonly software: string;
  readonly stationHash: string;
}

interface Place {
  start: number;
  step: number;
  chain: number;
}

export class StepWriter {
  readonly #db: Database;
  readonly #identity: Identity;
  readonly #plant: { readonly hash: string; readonly text: string; readonly dictionary: Buffer };
  readonly #step: Statement;
  readonly #snapshot: Statement;
  /** Where the file ends. Moves with the commit: `commit` puts it in force, `undo` takes it back. */
  #place: Place;
  #committed: Place;

  /** @param plant the one that the steps are made with */
  constructor(db: Database, plant: Plant, identity: Identity) {
    this.#db = db;
    this.#identity = identity;
    const text = plantText(plant);
    this.#plant = { hash: hashOf(text), text, dictionary: dictionaryOf(plant) };
    this.#step = db.prepare(
      'INSERT INTO steps (seq, count, start, wall, mono, digest, chain, body) VALUES (?, ?, ?, ?, ?, ?, ?, ?)',
    );
    this.#snapshot = db.prepare(
      'INSERT OR IGNORE INTO snapshots (start, seq, wall, mono, chain, digest, body) VALUES (?, ?, ?, ?, ?, ?, ?)',
    );
    this.#place = { start: 0, ...endOf(db) };
    this.#committed = { ...this.#place };
  }

  get nextStep(): number {
    return this.#place.step;
  }

  commit(): void {
    this.#committed = { ...this.#place };
  }

  undo(): void {
    this.#place = { ...this.#committed };
  }

  begin({ state, stamp, cause, gapMs, words, step }: Beginning): void {
    const { hash, text, dictionary } = this.#plant;
    const folded = foldText(dictionary.toString('utf8'));
    this.#db.prepare('INSERT OR IGNORE INTO plants VALUES (?, ?, ?)').run(hash, foldText(text), folded);
    const id =
      1 + (this.#db.prepare<[], number>('SELECT coalesce(max(id), 0) FROM starts').pluck().get() ?? 0);
    const { software, stationHash } = this.#identity;
    const { wallMs, monotonicMs, computerBoot } = stamp;
    const sum = startSum({ id, step, stamp, cause, gapMs, words, software, stationHash, plantHash: hash });
    this.#db
      .prepare('INSERT INTO starts VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, NULL)')
      .run(
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
        hash,
        sum,
      );
    this.#place.start = id;
    this.#place.step = step;
    this.snapshot(state, stamp);
  }

  /** @param state after the last of them, at `stamp` */
  steps(steps: readonly InText[], state: State, stamp: Stamp): void {
    let afterMs = steps.reduce((sum, { elapsedMs }) => sum + elapsedMs, 0);
    for (let from = 0; from < steps.length; from += LIMITS.stepsPerRow) {
      const part = steps.slice(from, from + LIMITS.stepsPerRow);
      afterMs -= part.reduce((sum, { elapsedMs }) => sum + elapsedMs, 0);
      const at = { ...stamp, wallMs: stamp.wallMs - afterMs, monotonicMs: stamp.monotonicMs - afterMs };
      const isLast = from + part.length >= steps.length;
      // Of the states in between nobody knows any more.
      this.#row(
        part.map(({ text }) => text),
        isLast ? digestOf(state) : null,
        at,
      );
    }
  }

  #row(texts: readonly string[], digest: number | null, { wallMs, monotonicMs }: Stamp): void {
    const { start, step, chain } = this.#place;
    const row = { seq: step, count: texts.length, start, wall: wallMs, mono: monotonicMs, digest };
    const body = foldSteps(texts, this.#plant.dictionary);
    const sum = chainOf(chain, headOf(row), body);
    this.#step.run(row.seq, row.count, start, row.wall, row.mono, digest, sum, body);
    this.#place.step = step + texts.length;
    this.#place.chain = sum;
  }

  /** The state in which the next step is taken. */
  snapshot(state: State, { wallMs, monotonicMs }: Stamp): void {
    const { start, step, chain } = this.#place;
    const text = JSON.stringify(state);
    this.#snapshot.run(start, step, wallMs, monotonicMs, chain, digestOf(state), foldText(text));
  }

  end({ wallMs }: Stamp): void {
    this.#db.prepare('UPDATE starts SET ended = ? WHERE id = ?').run(wallMs, this.#place.start);
  }
}
