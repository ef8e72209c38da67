// A session of commissioning: the station on its broker with the guard at work and no phase, and a person who is led through
// what is not done yet. A change of the file that the person accepts ends the connection; the next one begins with the new file.
import { Bridge } from '../bridge/bridge.ts';
import type { Machine } from '../bridge/clockwork.ts';
import type { Core } from '../bridge/core.ts';
import type { Farewell } from '../bridge/farewell.ts';
import type { Log } from '../bridge/message.ts';
import type { Settings } from '../bridge/packets.ts';
import type { State } from '../control/process/state.ts';
import { message } from '../language/message.ts';
import type { StationFile } from '../station/file/station.ts';
import type { Plant } from '../station/plant.ts';
import { Bench, Ended } from './bench.ts';
import { guided, lookedAt } from './guide.ts';
import { type Item, itemsOf, type Stage } from './items.ts';
import { Left, type Lines, Person } from './person.ts';
import { changed, unifiedDiff } from './proposal.ts';
import { type Entry, type RecordFile, standingsOf } from './record.ts';
import { witnessOf } from './witness.ts';

export interface SessionParts {
  readonly plant: Plant;
  readonly station: StationFile;
  readonly text: string;
  readonly file: string;
  readonly core: Core<State>;
  readonly state: State;
  readonly settings: Settings;
  readonly boot: string;
  readonly machine: Machine;
  readonly save: (state: unknown) => Promise<boolean>;
  readonly log: Log;
  readonly lines: Lines;
  readonly who: string;
  /** Only items whose key is, or whose kind is, one of these; empty: all. */
  readonly only: readonly string[];
  readonly isolated: Set<string>;
  readonly record: () => RecordFile;
  /** Durable when it returns. */
  readonly keep: (entry: Entry) => void;
  /** A person has accepted a change of the file. @returns false where it can't be used */
  readonly accept: (text: string) => boolean;
  /** Called with what ends everything at once, for whoever hears a signal or the end of a terminal. */
  readonly stoppable: (stop: () => void) => void;
}

export type SessionEnd = 'done' | 'left' | 'file-changed';

/** @throws LinkRefused, ServiceFailed */
export async function session(
  parts: SessionParts,
): Promise<{ readonly end: SessionEnd; readonly farewell: Farewell }> {
  const { plant, core, state, settings, machine, lines, stoppable, save } = parts;
  const bench = new Bench({ plant, state, nowMs: machine.monotonicMs });
  const bridge = new Bridge<State>({
    plant,
    core: { ...core, step: bench.step },
    state,
    settings,
    time: 'wall',
    boot: parts.boot,
    machine,
    chance: Math.random,
    save,
    clearRetained: false,
    log: parts.log,
  });
  bench.asksBy((id, request) => bridge.ask(id, request));
  bridge.turns.subscribe({ next: (turn) => bench.turn(turn), error: () => {} });
  stoppable(() => bench.end('stopped'));
  const person = new Person(lines);
  const running = bridge.run();
  const failed = running.then(() => new Promise<never>(() => {}));
  try {
    const end = await Promise.race([failed, led(parts, bench, bridge, person)]);
    return { end, farewell: await bridge.stop() };
  } catch (error) {
    if (!(error instanceof Left || error instanceof Ended)) throw error;
    return { end: 'left', farewell: await bridge.stop() };
  }
}

const STAGES = {
  hands: 'commission-stage-hands',
  dry: 'commission-stage-dry',
  listening: 'commission-stage-listening',
  wet: 'commission-stage-wet',
  supervised: 'commission-stage-supervised',
} as const satisfies Readonly<Record<Stage, string>>;

/** A station speaks within this, or says why not. */
const LINK_WITHIN_MS = 60_000;
/** Until every device has said where it stands. */
const QUIET_MS = 15_000;

async function led(
  parts: SessionParts,
  bench: Bench,
  bridge: Bridge<State>,
  person: Person,
): Promise<SessionEnd> {
  const { plant, station, settings, record, who, text, machine, isolated, only } = parts;
  person.tell(message('commission-begins', { station: plant.id, who }));
  const linked = await bench.until(() => (bench.state.link.up ? true : null), LINK_WITHIN_MS);
  if (linked === null) {
    person.tell(message('commission-no-link'));
    return 'left';
  }
  await Promise.race([bench.allOff(), bench.pause(QUIET_MS)]);
  // What was shut down before, one at a time.
  person.about('');
  await lookedAt(bench, person, who, bench.latched());
  const witness = await witnessOf(plant, settings, (forMs) => bridge.stayAway(forMs), bench.nowMs);
  try {
    let stage: Stage | null = null;
    for (const item of dueOf(itemsOf(plant, station), record(), only)) {
      if (item.stage !== stage) person.tell(message(STAGES[item.stage]));
      stage = item.stage;
      if (stage === 'wet' && isolated.size > 0) await reconnected(person, isolated);
      const session = { bench, person, who, text, witness, isolated, wallMs: () => machine.date().getTime() };
      const entry = await guided(item, session);
      if (entry === null) return 'left';
      parts.keep(entry);
      person.tell(
        message('commission-verdict', { what: entry.item, result: entry.verdict, words: entry.words }),
      );
      if (entry.change.length > 0 && (await proposed(parts, person, entry))) return 'file-changed';
    }
  } finally {
    await witness.close();
  }
  return 'done';
}

/** What is not passed, in its order; with `only`, what was asked for even where it is. */
function dueOf(items: readonly Item[], record: RecordFile, only: readonly string[]): readonly Item[] {
  const isMeant = ({ key, kind }: Item) => only.length === 0 || only.includes(key) || only.includes(kind);
  return standingsOf(items, record)
    .filter(({ item, standing }) => isMeant(item) && standing !== 'passed')
    .map(({ item }) => item);
}

async function reconnected(person: Person, isolated: Set<string>): Promise<void> {
  person.about('');
  await person.done('connected', message('commission-connect-again', { devices: [...isolated] }));
  isolated.clear();
}

async function proposed(parts: SessionParts, person: Person, entry: Entry): Promise<boolean> {
  const after = changed(parts.text, entry.change);
  const diff = unifiedDiff(parts.file, parts.text, after);
  if (diff === '') return false;
  person.about(entry.item);
  person.tell(message('commission-proposal', { what: diff }));
  const answer = await person.oneOf('accept', message('commission-accept'), ['yes', 'no']);
  return answer === 'yes' && parts.accept(after);
}
