// Leads a person through the items, in their order, one step at a time; what came of each is in the record before the next
// begins, so that it can be taken up again at any time. Before every step everything is off, and behind it.
import { rowOf } from '../control/guard/interlocks.ts';
import { SEEN_LEAST } from '../control/guard/limits.ts';
import { type Message, message } from '../language/message.ts';
import { type Bench, Ended } from './bench.ts';
import type { Item, Kind } from './items.ts';
import { Left, type Person, Skipped } from './person.ts';
import type { Entry } from './record.ts';
import { contactStep, probeStep, thermometerStep } from './steps/by-hand.ts';
import { identityStep, latencyStep, leaseStep, powerStep } from './steps/dry.ts';
import { firstBatchStep, firstDeliveryStep } from './steps/supervised.ts';
import { markStep, meterStep, periodStep } from './steps/wet.ts';
import { type Result, result, type Trial, type Witness } from './trial.ts';

const STEPS: Readonly<Record<Kind, (trial: Trial) => Promise<Result>>> = {
  contact: contactStep,
  thermometer: thermometerStep,
  probe: probeStep,
  identity: identityStep,
  lease: leaseStep,
  power: powerStep,
  latency: latencyStep,
  period: periodStep,
  mark: markStep,
  meter: meterStep,
  'first-batch': firstBatchStep,
  'first-delivery': firstDeliveryStep,
};

export interface Guided {
  readonly bench: Bench;
  readonly person: Person;
  readonly who: string;
  readonly text: string;
  readonly witness: Witness;
  readonly isolated: Set<string>;
  /** The wall clock, for the record alone. */
  readonly wallMs: () => number;
}

/** @returns what to put into the record, or null where the person left */
export async function guided(item: Item, session: Guided): Promise<Entry | null> {
  const { bench, person, who, text, witness, isolated, wallMs } = session;
  const step = STEPS[item.kind];
  const before = bench.latched();
  bench.begin();
  person.about(item.key);
  person.tell(message('commission-item', { what: item.key }));
  const resetOwn = () => lookedAt(bench, person, who, bench.latched(before));
  const trial = { item, bench, person, plant: bench.plant, text, witness, isolated, resetOwn };
  const came = await outcome(() => step(trial));
  bench.begin();
  const off = await bench.allOff().catch(() => false);
  if (!off) person.tell(message('commission-not-off'));
  if (came === null) return null;
  const { stated } = person;
  // Whoever says nothing of it leaves it latched: what came of the step is kept all the same.
  await resetOwn().catch((error: unknown) => {
    if (!(error instanceof Skipped || error instanceof Left)) throw error;
  });
  return { item: item.key, digest: item.digest, who, wallMs: wallMs(), stated, ...came };
}

/**
 * What is latched is reset: what protects nothing but an isolated load, because the step itself was its cause; all else once
 * somebody has looked and says what they saw.
 * @throws Skipped, Left
 */
export async function lookedAt(
  bench: Bench,
  person: Person,
  who: string,
  trips: readonly string[],
): Promise<void> {
  const { plant } = bench;
  const ofLoads = trips.filter((trip) => (rowOf(plant, trip)?.isolated ?? null) !== null);
  await bench.reset(ofLoads, who, 'latched by a step of commissioning');
  for (const trip of bench.latched().filter((one) => trips.includes(one))) {
    const words = rowOf(plant, trip)?.words ?? message('the-row', { row: trip });
    const seen = await person.ask('seen', message('commission-latched', { row: trip, words }), (text) =>
      text.length >= SEEN_LEAST ? { meant: text } : { refused: message('name-and-sentence-needed') },
    );
    const left = await bench.reset([trip], who, seen);
    if (left.length > 0) person.tell(message('commission-trips-left', { row: trip }));
  }
}

async function outcome(step: () => Promise<Result>): Promise<Result | null> {
  try {
    return await step();
  } catch (error) {
    if (error instanceof Skipped) return undone(message('commission-skipped', { reason: error.note }));
    if (error instanceof Ended)
      return undone(message(error.why === 'link-lost' ? 'commission-link-lost' : 'commission-stopped'));
    if (error instanceof Left) return null;
    throw error;
  }
}

const undone = (words: Message): Result => result('undone', words);
