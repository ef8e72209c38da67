// What is kept of a step beside the step itself, so that nobody has to replay a year to draw a picture: alarms, records,
// the batch, the ledger, the lines. Noted as the step happens; written in the same commit as the step.
import type { AlarmState, Effect, Event, Priority } from '../control/guard/types.ts';
import type { State } from '../control/process/state.ts';
import { englishOf, type Say } from '../language/english.ts';
import { isMessage, type Message, message, type Value } from '../language/message.ts';
import type { Plant } from '../station/plant.ts';
import type { BatchBook, BatchRecord } from './batches.ts';
import { type HourEntry, Ledger } from './ledger.ts';
import { LIMITS } from './limits.ts';
import { type SampleRow, Sampler } from './samples.ts';
import type { ProofTest } from './tables.ts';

export interface AlarmEntry {
  /** The step that brought it. */
  readonly step: number;
  readonly wallMs: number;
  readonly alarm: string;
  readonly state: AlarmState;
  readonly priority: Priority;
  readonly words: Message;
  readonly response: Message;
}

export interface RecordEntry {
  readonly step: number;
  readonly wallMs: number;
  readonly about: string;
  readonly words: Message;
}

export interface Notes {
  readonly alarms: AlarmEntry[];
  readonly records: RecordEntry[];
  /** By id: only the newest form of each is worth writing. */
  readonly batches: Map<number, BatchRecord>;
  /** By system, day and hour. */
  readonly ledger: Map<string, HourEntry>;
  readonly moments: SampleRow[];
  readonly proofTests: ProofTest[];
}

const empty = (): Notes => ({
  alarms: [],
  records: [],
  batches: new Map(),
  ledger: new Map(),
  moments: [],
  proofTests: [],
});

export class Notebook {
  readonly #say: Say;
  readonly #batches: BatchBook;
  readonly #ledger: Ledger;
  readonly sampler: Sampler;
  notes: Notes = empty();

  constructor(plant: Plant, batches: BatchBook) {
    this.#say = englishOf(plant);
    this.#batches = batches;
    this.#ledger = new Ledger(plant);
    this.sampler = new Sampler(plant);
  }

  begin(state: State, wallMs: number): void {
    for (const batch of this.#batches.begin(state, wallMs)) this.notes.batches.set(batch.id, batch);
    this.sampler.begin(state);
  }

  take(
    step: number,
    before: State,
    event: Event,
    effects: readonly Effect[],
    after: State,
    wallMs: number,
  ): void {
    for (const effect of effects) this.#effect(step, effect, wallMs);
    for (const batch of this.#batches.take(before, after, wallMs)) this.notes.batches.set(batch.id, batch);
    for (const entry of this.#ledger.take(after, wallMs)) this.#book(entry);
    this.#moment(this.sampler.take(after, event.elapsedMs, wallMs));
  }

  note(step: number, wallMs: number, about: string, words: Message): void {
    keep(this.notes.records, { step, wallMs, about: short(about), words: bounded(words) });
  }

  /** Nothing more comes: what there is of the running moment. */
  end(): void {
    this.#moment(this.sampler.end());
  }

  /** They are durable. */
  clear(): void {
    this.notes = empty();
  }

  #moment(row: SampleRow | null): void {
    if (row !== null) keep(this.notes.moments, row);
  }

  #effect(step: number, effect: Effect, wallMs: number): void {
    if (effect.do === 'alarm') {
      const { alarm, state, priority } = effect;
      const [words, response] = [bounded(effect.words), bounded(effect.response)];
      keep(this.notes.alarms, { step, wallMs, alarm, state, priority, words, response });
    }
    if (effect.do === 'record') this.note(step, wallMs, effect.about, effect.words);
    if (effect.do === 'proof-test') {
      const { row, who, passed, expected, seen, seconds } = effect;
      const after = seconds === null ? '' : `, answered after ${seconds.toFixed(1)} s`;
      const words = short(`expected: ${this.#say(expected)}; seen: ${this.#say(seen)}${after}`);
      keep(this.notes.proofTests, { wallMs, row, who: short(who), passed, words });
    }
    if (effect.do === 'ask') this.note(step, wallMs, 'task', effect.task?.words ?? message('task-done'));
  }

  #book(entry: HourEntry): void {
    const { system, day, hour } = entry;
    const key = `${system} ${day} ${hour}`;
    const there = this.notes.ledger.get(key);
    this.notes.ledger.set(key, {
      system,
      day,
      hour,
      drainedL: entry.drainedL + (there?.drainedL ?? 0),
      deliveredL: entry.deliveredL + (there?.deliveredL ?? 0),
      errorL: entry.errorL + (there?.errorL ?? 0),
    });
  }
}

/** As much of what people write as a table keeps. */
export const short = (text: string): string =>
  text.length <= LIMITS.wordsLength ? text : `${text.slice(0, LIMITS.wordsLength - 3)}...`;

/** The same of what people wrote into a message. */
const bounded = ({ id, values }: Message): Message => ({
  id,
  values: Object.fromEntries(Object.entries(values).map(([place, value]) => [place, boundedValue(value)])),
});

function boundedValue(value: Value): Value {
  if (isMessage(value)) return bounded(value);
  return typeof value === 'string' ? short(value) : value;
}

/** While the disk refuses, the oldest give way. */
function keep<T>(list: T[], entry: T): void {
  list.push(entry);
  if (list.length > LIMITS.waitingNotes) list.shift();
}
