// From an empty file to a station with a person at the devices: they are told what to move, and what changed on the broker says
// the rest. It publishes nothing. Words, units, places and periods come from what was heard; a device is recognised only where
// it said that it is there; litres and whatever else nobody can hear is typed.
import { SENSOR_KINDS } from '../station/file/sensor-kinds.ts';
import { discoveredIn } from './discovered.ts';
import {
  at,
  type Json,
  MOVED,
  type Moved,
  OUTLINE,
  processOf,
  put,
  type Typed,
  WAYS_ASKED,
} from './guided-questions.ts';
import type { Found, Learner } from './learning.ts';
import { recognised } from './recognised.ts';

export interface Guide {
  /** Asks a person and waits for the line; null when nobody answers any more. */
  readonly ask: (words: string) => Promise<string | null>;
  readonly say: (words: string) => void;
  /** Lets what was moved arrive. */
  readonly settle: () => Promise<void>;
  readonly save: (file: Json) => void;
  /** Where entries of this session are heard: nothing else can be there. */
  readonly used: Set<string>;
}

const MOST_TRIES = 3;
/** A lease for what nobody counts: the service renews it. */
const UNCOUNTED = { lasts: '30 s', countedBy: 'nobody' };

/** @returns whether a person answered to the end */
export async function guided(file: Json, learner: Learner, guide: Guide): Promise<boolean> {
  const all: readonly (Typed | Moved)[] = [...OUTLINE, ...WAYS_ASKED, ...MOVED];
  for (const step of all) if (!(await taken(step, file, learner, guide))) return false;
  for (const step of processOf(file)) if (!(await taken(step, file, learner, guide))) return false;
  return true;
}

async function taken(step: Typed | Moved, file: Json, learner: Learner, guide: Guide): Promise<boolean> {
  const isGone = 'put' in step ? await typedIn(step, file, guide) : await movedIn(step, file, learner, guide);
  guide.save(file);
  return !isGone;
}

async function typedIn(step: Typed, file: Json, { ask }: Guide): Promise<boolean> {
  if (step.isDone(file)) return false;
  const { words, suggested } = step;
  const answer = await ask(suggested === undefined ? words : `${words} [${suggested}]`);
  if (answer === null) return true;
  step.put(file, answer === '' ? (suggested ?? '') : answer);
  return false;
}

async function movedIn(step: Moved, file: Json, learner: Learner, guide: Guide): Promise<boolean> {
  const section = step.kind === 'relay' ? 'actuators' : 'sensors';
  if (at(file, section, step.id) !== undefined) return false;
  let before: readonly Found[] | null = null;
  for (let tries = 0; tries < MOST_TRIES; tries++) {
    learner.begin(tries > 0);
    const answer = await guide.ask(`[${step.id}] ${step.words} Then Enter; - if there is none.`);
    if (answer === null) return true;
    if (answer.trim() === '-') return false;
    await guide.settle();
    const seen = seenOf(step, learner).filter((one) => !guide.used.has(whereOf(one)));
    const left: readonly Found[] =
      before === null ? seen : seen.filter((one) => before?.some((other) => isSame(one, other)));
    const [only] = left;
    if (left.length === 1 && only !== undefined) return learn(step, only, file, learner, guide);
    if (left.length > 1) {
      const chosen = await choice(left, guide);
      if (chosen === undefined) return true;
      if (chosen !== null) return learn(step, chosen, file, learner, guide);
      before = left;
    }
    guide.say(
      left.length === 0
        ? '  nothing changed there and back; once more'
        : '  once more, and nothing else beside it',
    );
  }
  guide.say(`  left out: nothing was learned of ${step.id}`);
  return false;
}

/** Of a relay without what told it: a command says on and off like the feedback that follows it. */
function seenOf({ kind }: Moved, learner: Learner): readonly Found[] {
  if (kind === 'reading') return learner.readings();
  const contacts = learner.contacts();
  if (kind === 'contact') return contacts;
  const commands = new Set(contacts.map((contact) => learner.commandFor(contact)?.topic));
  return contacts.filter(({ topic }) => !commands.has(topic));
}

/** Null: once more; undefined: nobody answers. */
async function choice(all: readonly Found[], { ask, say }: Guide): Promise<Found | null | undefined> {
  if (all.length > 9) return null;
  for (const [place, one] of all.entries())
    say(`  ${place + 1}: ${whereOf(one)} went from ${one.rest} to ${one.moved}`);
  const answer = await ask('Which of these? Its number, or Enter to move it once more');
  return answer === null ? undefined : (all[Number(answer) - 1] ?? null);
}

const whereOf = ({ topic, at: where }: Found): string => (where === null ? topic : `${topic} at ${where}`);
const isSame = (a: Found, b: Found): boolean => a.topic === b.topic && a.at === b.at;

async function learn(
  step: Moved,
  found: Found,
  file: Json,
  learner: Learner,
  guide: Guide,
): Promise<boolean> {
  const entry: Json = { ...step.entry, ...heardOf(step, found, file, learner) };
  if (step.kind === 'contact') Object.assign(entry, { wet: found.moved, dry: found.rest });
  if (step.kind === 'relay') {
    const left = await relayOf(entry, found, learner, guide);
    if (left === null) return true;
    if (!left) return false;
  }
  if (step.kind === 'reading') {
    const unit = unitOf(found, learner) ?? (await askUnit(step, found, guide));
    if (unit === null) return true;
    if (unit !== '') entry.unit = unit;
    if (unit === 'pulses') {
      const answer = await guide.ask('  pulses for each litre, as the meter says');
      if (answer === null) return true;
      if (answer !== '') entry.pulsesPerLitre = Number(answer.replace(',', '.'));
    }
  }
  for (const [key, words] of step.ask) {
    const answer = await guide.ask(`  ${words}`);
    if (answer === null) return true;
    const isLitres = key !== 'tray' && /^[\d.,]+$/u.test(answer);
    if (answer !== '') entry[key] = isLitres ? `${answer.replace(',', '.')} L` : answer;
  }
  // A probe that does not compensate belongs to the thermometer of its vat.
  const thermometer = `${String(entry.vessel)}-temperature`;
  if (
    entry.measures === 'conductivity' &&
    entry.compensatedTo === undefined &&
    at(file, 'sensors', thermometer)
  )
    entry.temperatureFrom = thermometer;
  guide.used.add(whereOf(found));
  put(file, [step.kind === 'relay' ? 'actuators' : 'sensors', step.id], entry);
  guide.say(`  ${whereOf(found)}: ${JSON.stringify(entry)}`);
  return false;
}

/** By its device where that is of a family, else by its topic. */
function heardOf({ kind }: Moved, found: Found, file: Json, learner: Learner): Json {
  const device = recognised(kind === 'relay' ? 'relay' : 'sensor', found.topic, found.at, learner.last);
  if (device !== null) {
    const { profile, topic, channel } = device;
    const id = (topic.split('/').at(-1) ?? '').toLowerCase().replaceAll(/[^a-z0-9]+/gu, '-');
    const known = Object.entries((file.devices ?? {}) as Json).find(
      ([, one]) => (one as Json).topic === topic,
    )?.[0];
    if (known === undefined) put(file, ['devices', id], { profile, topic });
    return { device: known ?? id, ...(channel === null ? {} : { channel }) };
  }
  const where = { topic: found.topic, ...(found.at === null ? {} : { at: found.at }) };
  const everyS = learner.repeatsS(found.topic);
  const heard = { ...where, ...(everyS === null ? {} : { republishes: `${everyS} s` }) };
  return kind === 'relay' ? { feedback: { ...heard, on: found.moved, off: found.rest } } : heard;
}

/** True: whole; false: left out; null: nobody answers. */
async function relayOf(entry: Json, found: Found, learner: Learner, guide: Guide): Promise<boolean | null> {
  if (entry.device === undefined) {
    const command = learner.commandFor(found);
    if (command === null) {
      guide.say(
        '  no command was heard before it moved: switch it over MQTT, or give "command" by hand; left out',
      );
      return false;
    }
    entry.command = command;
  }
  const answer = await guide.ask(
    '  after how long does the device switch off by itself, for example 30 s; empty: it does not',
  );
  if (answer === null) return null;
  entry.lease = answer === '' ? UNCOUNTED : { lasts: answer, countedBy: 'device' };
  return true;
}

/** As the device says it of itself. */
function unitOf(found: Found, learner: Learner): string | null {
  const heard = [...learner.all()].map(([topic, text]) => ({
    topic,
    samples: [text],
    live: 0,
    retained: true,
    longestGapMs: null,
  }));
  const said = Object.values(discoveredIn(heard).sensors).find(
    (one) => one.topic === found.topic && (one.at ?? null) === found.at,
  );
  return typeof said?.unit === 'string' ? said.unit : null;
}

async function askUnit({ entry }: Moved, found: Found, { ask }: Guide): Promise<string | null> {
  const { members } = SENSOR_KINDS[entry.measures as 'level'];
  const units = (members.unit.schema.enum ?? []) as readonly string[];
  for (let tries = 0; tries < MOST_TRIES; tries++) {
    const answer = await ask(`  ${whereOf(found)} says ${found.moved}: in which unit? ${units.join(', ')}`);
    if (answer === null || units.includes(answer)) return answer;
  }
  return '';
}
