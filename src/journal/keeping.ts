// The writing side of a journal: steps come in, commits go out, and what the disk refuses waits.
import { rowOf } from '../control/guard/interlocks.ts';
import type { Effect, Event } from '../control/guard/types.ts';
import { restored } from '../control/process/initial.ts';
import type { State } from '../control/process/state.ts';
import type { Message } from '../language/message.ts';
import type { Plant } from '../station/plant.ts';
import { BatchBook } from './batches.ts';
import type { Database } from './driver.ts';
import type { OpenFile } from './file.ts';
import { LIMITS } from './limits.ts';
import { Notebook, short } from './notes.ts';
import { digestOf, hashOf, plantText } from './packing.ts';
import type { Cause } from './reading.ts';
import { prune } from './retention.ts';
import { gapOf, type Stamp } from './stamp.ts';
import { addProofTest, NoteWriter, openBatch, type ProofTest } from './tables.ts';
import { type Refused, refusalOf, WRITTEN, type Written } from './trouble.ts';
import { Waiting } from './waiting.ts';
import { StepWriter } from './writer.ts';

/** One step of the core: what went in, what came out, and the state after it. The journal keeps the state: never change it. */
export interface Taken {
  readonly event: Event;
  readonly effects: readonly Effect[];
  readonly state: State;
}

interface Options {
  readonly software: string;
  readonly fileBytes: number;
  readonly stamp: () => Stamp;
  readonly isTemporary: boolean;
}

/** What exists from `begin` on. */
interface Begun {
  readonly writer: StepWriter;
  readonly notebook: Notebook;
  noteWriter: NoteWriter | null;
  last: { readonly state: State; readonly stamp: Stamp };
  /** The number of the step that comes next, whether those before it are written or wait. */
  nextStep: number;
  sinceSnapshot: { steps: number; text: number };
  snapshots: number;
}

type How = 'now' | 'later' | 'snapshot' | 'end';

export class Keeping {
  readonly #db: Database;
  readonly #opened: OpenFile;
  readonly #station: Plant;
  readonly #stationHash: string;
  readonly #options: Options;
  readonly #waiting = new Waiting();
  #gapMs: number | null | undefined;
  #begun: Begun | null = null;
  #refused: { readonly refusal: Refused; readonly atMs: number } | null = null;

  constructor(opened: OpenFile, station: Plant, options: Options) {
    this.#db = opened.db;
    this.#opened = opened;
    this.#station = station;
    this.#stationHash = hashOf(plantText(station));
    this.#options = options;
  }

  get words(): string | null {
    const { words, remembered } = this.#opened;
    if (remembered === null || this.#isSameStation) return words;
    const changed = 'the station file was changed since the last run; the history is kept';
    return words === null ? changed : `${words}; ${changed}`;
  }

  get #isSameStation(): boolean {
    return this.#opened.remembered?.start.stationHash === this.#stationHash;
  }

  /** Whole milliseconds, whatever clock was handed in. */
  #now(): Stamp {
    const { computerBoot, monotonicMs, wallMs } = this.#options.stamp();
    return { computerBoot, monotonicMs: Math.floor(monotonicMs), wallMs: Math.floor(wallMs) };
  }

  restore(): { state: State; gapMs: number | null } | null {
    const { remembered } = this.#opened;
    if (remembered === null || !this.#isSameStation) return null;
    if (this.#gapMs === undefined) this.#gapMs = gapOf(remembered.stamp, this.#now());
    return { state: remembered.state, gapMs: this.#gapMs };
  }

  begin(state: State, plant: Plant = this.#station): Written {
    if (this.#begun !== null) throw new Error('a journal is begun once');
    const stamp = this.#now();
    const { software } = this.#options;
    const writer = new StepWriter(this.#db, plant, { software, stationHash: this.#stationHash });
    const { open, nextId } = openBatch(this.#db);
    const notebook = new Notebook(plant, new BatchBook(plant, open, nextId));
    notebook.begin(state, stamp.wallMs);
    const { nextStep } = writer;
    this.#begun = {
      writer,
      notebook,
      noteWriter: null,
      last: { state, stamp },
      nextStep,
      sinceSnapshot: { steps: 0, text: 0 },
      snapshots: 0,
    };
    const words = this.words ?? '';
    this.#waiting.begin({ state, stamp, ...this.#causeOf(state, plant, nextStep), words, step: nextStep });
    return this.#commit('now');
  }

  /** Is this state what the saved one is worth after the gap? Then a replay can go on across the restart. */
  #causeOf(state: State, plant: Plant, nextStep: number): { cause: Cause; gapMs: number | null } {
    const saved = this.restore();
    if (saved === null) return { cause: nextStep === 1 ? 'first' : 'anew', gapMs: null };
    return { cause: isWorth(saved, state, plant) ? 'restored' : 'anew', gapMs: saved.gapMs };
  }

  append(taken: Taken): Written {
    this.#add(taken);
    return this.#commit('now');
  }

  appendLater(taken: Taken): Written {
    this.#add(taken);
    if (this.#waiting.isDue) return this.#commit('later');
    return this.#refused?.refusal ?? WRITTEN;
  }

  flush(): Written {
    return this.#commit('later');
  }

  snapshot(): Written {
    return this.#commit('snapshot');
  }

  addProofTest(test: Omit<ProofTest, 'wallMs'>): Written {
    const proof = rowOf(this.#station, test.row)?.proof ?? null;
    if (proof === null) {
      const words = `there is no interlock '${test.row}' that has a proof test`;
      const mend = 'Name the key of a row as check lists it, for example I-02/fresh.';
      return { ok: false, trouble: 'refused', words, mend };
    }
    const { row, passed } = test;
    const { wallMs } = this.#now();
    const [who, words] = [short(test.who), short(test.words)];
    return this.#attempt(() => addProofTest(this.#db, { wallMs, row, who, passed, words }));
  }

  note(about: string, words: Message): void {
    const { notebook, nextStep } = this.#started();
    notebook.note(nextStep, this.#now().wallMs, about, words);
  }

  close(): Written {
    const { notebook } = this.#begun ?? {};
    notebook?.end();
    const written = notebook === undefined ? WRITTEN : this.#commit('end');
    const closed = this.#attempt(() => this.#db.close());
    return written.ok ? closed : written;
  }

  #add({ event, effects, state }: Taken): void {
    const begun = this.#started();
    const stamp = this.#now();
    begun.notebook.take(begun.nextStep, begun.last.state, event, effects, state, stamp.wallMs);
    begun.sinceSnapshot.text += this.#waiting.add({ event, effects });
    begun.sinceSnapshot.steps += 1;
    begun.nextStep += 1;
    begun.last = { state, stamp };
    if (this.#waiting.isOverfull) this.#waiting.giveUp(state, stamp, begun.nextStep);
  }

  #started(): Begun {
    if (this.#begun === null) throw new Error('a journal is begun with a state before its first step');
    return this.#begun;
  }

  #commit(how: How): Written {
    const begun = this.#started();
    const { refusal, atMs } = this.#refused ?? {};
    const sinceMs = this.#now().monotonicMs - (atMs ?? Number.NEGATIVE_INFINITY);
    // A full disk is not asked 8 times a second, with everything that waits in hand.
    if (refusal !== undefined && how !== 'end' && sinceMs >= 0 && sinceMs < LIMITS.retryMs) return refusal;
    const written = this.#attempt(() => this.#write(begun, how));
    if (!written.ok) {
      begun.writer.undo();
      this.#refused = { refusal: written, atMs: this.#now().monotonicMs };
      return written;
    }
    this.#refused = null;
    begun.writer.commit();
    begun.notebook.clear();
    this.#waiting.clear();
    return written;
  }

  #attempt(act: () => void): Written {
    try {
      act();
      return WRITTEN;
    } catch (error) {
      return refusalOf(error, this.#opened.file);
    }
  }

  /** One transaction. What it leaves behind in memory is taken back by the caller if it fails. */
  #write(begun: Begun, how: How): void {
    const { writer, notebook, last } = begun;
    const { fileBytes, isTemporary } = this.#options;
    const takesSnapshot = this.#wantsSnapshot(begun, how);
    let noteWriter = begun.noteWriter;
    const write = this.#db.transaction(() => {
      noteWriter ??= new NoteWriter(this.#db, notebook.sampler.channels);
      if (this.#waiting.beginning !== null) writer.begin(this.#waiting.beginning);
      if (!isTemporary) writer.steps(this.#waiting.steps, last.state, last.stamp);
      noteWriter.write(notebook.notes);
      if (takesSnapshot && !isTemporary) writer.snapshot(last.state, last.stamp);
      // Also at each start: a service that dies every minute must not fill the disk with beginnings.
      if (takesSnapshot || this.#waiting.beginning !== null)
        prune(this.#db, fileBytes, begun.snapshots % LIMITS.countedEvery === 0);
      if (how === 'end') writer.end(last.stamp);
    });
    write.immediate();
    begun.noteWriter = noteWriter;
    if (!takesSnapshot) return;
    begun.sinceSnapshot = { steps: 0, text: 0 };
    begun.snapshots += 1;
  }

  /** Something that waits for this commit should not wait for a snapshot too: a quiet moment is preferred. */
  #wantsSnapshot({ sinceSnapshot }: Begun, how: How): boolean {
    if (how === 'snapshot' || how === 'end') return true;
    const { steps, text } = sinceSnapshot;
    const patience = how === 'later' ? 1 : 2;
    return steps >= patience * LIMITS.snapshotSteps || text >= patience * LIMITS.snapshotText;
  }
}

/** A saved state that another release wrote may be worth nothing to this one, which then fails over it. */
function isWorth(saved: { state: State; gapMs: number | null }, state: State, plant: Plant): boolean {
  try {
    return digestOf(restored(plant, saved.state, saved.gapMs)) === digestOf(state);
  } catch {
    return false;
  }
}
