// When devices speak: at once when something changes, and again after a while so that silence means something. Values that
// share a topic travel together. The twin in memory and the one on MQTT share this, so both hear the same things at the
// same moments.
import { isContact } from '../station/kinds.ts';
import type { Feedback, Place, Sensor } from '../station/plant.ts';
import type { Fault, Faults } from './faults.ts';
import { isDead, type Relays } from './relays.ts';
import { distorted, type Eye, eyeOf, wordValue } from './sensors.ts';
import type { Waterworks } from './waterworks.ts';
import type { World } from './world.ts';

export type Report =
  | { readonly of: 'sensor'; readonly sensor: Sensor; readonly value: number | boolean }
  /** A fault's own payload text. */
  | { readonly of: 'raw'; readonly sensor: Sensor; readonly text: string }
  | { readonly of: 'feedback'; readonly actuator: string; readonly feedback: Feedback; readonly on: boolean }
  /** It empties its own command topic. */
  | { readonly of: 'empty-command'; readonly actuator: string }
  | {
      readonly of: 'availability';
      readonly device: string;
      readonly kind: 'sensor' | 'actuator';
      readonly online: boolean;
    };

export interface Reports {
  /** What is said now. */
  readonly due: () => readonly Report[];
  /** What a sensor would say if asked now, faults included; undefined for one that does not exist. */
  readonly present: (sensor: string) => number | boolean | undefined;
  /** Lets devices that remember see this moment, and applies what faults begin at it. */
  readonly setClock: () => void;
}

/** One value on its way out. */
interface Voice extends Pick<Place, 'topic'> {
  /** Infinity where it reports only what changes. */
  readonly everyMs: () => number;
  readonly resolution: number;
  /** The availability to announce; null where there is none. */
  readonly announce: ((online: boolean) => Report) | null;
  readonly isUp: () => boolean;
  readonly isSilent: () => boolean;
  /** What it would say now; asked at every step, so it makes no report yet. */
  readonly look: () => Said;
  readonly report: (said: Said) => Report;
  /** How long after a message the same one is sent again; null: never. */
  readonly repeatsAfterMs: () => number | null;
  /** What it says now; null: nothing. */
  says: Said | null;
  /** What it said last, and when. */
  last: { value: Said; atMs: number; isRepeated: boolean } | null;
  online: boolean | null;
}

/** A value, or the payload text of a fault. */
type Said = number | boolean | { readonly text: string };

export function reportsOf(works: Waterworks, world: World, faults: Faults, relays: Relays): Reports {
  const { plant } = works;
  const eyes = Object.values(plant.sensors).map((sensor) => eyeOf(works, world, faults, sensor));
  const frozen = new Map<string, number | boolean>();

  const saying = (eye: Eye): number | boolean => {
    const seen = eye.look();
    const { id } = eye.sensor;
    const stuck = faults.at('frozen', id) === undefined ? undefined : frozen.get(id);
    return distorted(eye, faults, works.seed, world.nowMs, seen, stuck);
  };
  const said = new WeakSet<Fault>();
  const voices = [
    ...eyes.map((eye) => sensorVoice(eye, faults, saying, said)),
    ...Object.values(plant.actuators).flatMap(({ id, feedback, failureDomain }) =>
      feedback === null ? [] : [feedbackVoice(id, feedback, failureDomain, faults, relays)],
    ),
  ];
  const topics = [...new Set(voices.map(({ topic }) => topic))].map((shared) =>
    voices.filter(({ topic }) => topic === shared),
  );
  const byId = new Map(eyes.map((eye) => [eye.sensor.id, eye]));
  const emptied: Report[] = [];
  const remembering = eyes.filter(({ remembers }) => remembers);

  return {
    due: () => {
      const out: Report[] = emptied.splice(0);
      for (const together of topics) speak(together, world.nowMs, out);
      return out;
    },
    setClock: () => {
      // A meter's wheel and a float's hysteresis go on whether or not anybody asks.
      for (const eye of remembering) eye.look();
      for (const { kind, what } of faults.begun()) {
        const eye = byId.get(what);
        if (kind === 'empty-command') emptied.push({ of: 'empty-command', actuator: what });
        if (kind === 'resets') eye?.reset();
        else if (kind === 'frozen' && eye !== undefined) frozen.set(what, eye.look());
      }
    },
    present: (id) => {
      const eye = byId.get(id);
      return eye === undefined ? undefined : saying(eye);
    },
  };
}

function sensorVoice(
  eye: Eye,
  faults: Faults,
  saying: (eye: Eye) => number | boolean,
  said: WeakSet<Fault>,
): Voice {
  const { sensor } = eye;
  const { id } = sensor;
  const once = (): Fault | undefined => {
    const fault = faults.at('says-once', id);
    return fault === undefined || said.has(fault) ? undefined : fault;
  };
  return {
    topic: sensor.topic,
    everyMs: everyMs(faults, id, sensor),
    resolution: eye.resolution,
    announce:
      sensor.availability.length === 0
        ? null
        : (online) => ({ of: 'availability', device: id, kind: 'sensor', online }),
    isUp: () => faults.at('offline', id) === undefined && !isDead(faults, sensor.failureDomain),
    isSilent: () => faults.at('silent', id) !== undefined || faults.at('silent', 'all') !== undefined,
    look: () => {
      const wrong = once();
      const value = wrong === undefined ? saying(eye) : wordValue(wrong.value, isContact(sensor));
      const raw = faults.at('sends', id);
      return raw === undefined ? value : { text: raw.value };
    },
    report: (value) => {
      const wrong = once();
      if (wrong !== undefined) said.add(wrong);
      return typeof value === 'object'
        ? { of: 'raw', sensor, text: value.text }
        : { of: 'sensor', sensor, value };
    },
    repeatsAfterMs: () => {
      const seconds = faults.amount('repeats', id);
      return seconds === undefined ? null : 1000 * seconds;
    },
    says: null,
    last: null,
    online: null,
  };
}

function feedbackVoice(
  actuator: string,
  feedback: Feedback,
  failureDomain: string | null,
  faults: Faults,
  relays: Relays,
): Voice {
  return {
    topic: feedback.topic,
    everyMs: everyMs(faults, actuator, feedback),
    resolution: 0,
    announce:
      feedback.availability.length === 0
        ? null
        : (online) => ({ of: 'availability', device: actuator, kind: 'actuator', online }),
    isUp: () => !isDead(faults, failureDomain),
    isSilent: () =>
      faults.at('feedback-silent', actuator) !== undefined || faults.at('silent', 'all') !== undefined,
    look: () => {
      const said = faults.at('feedback-says', actuator);
      return said === undefined ? relays.contact(actuator) : said.value === 'on';
    },
    report: (said) => ({ of: 'feedback', actuator, feedback, on: said === true }),
    repeatsAfterMs: () => null,
    says: null,
    last: null,
    online: null,
  };
}

function everyMs(
  faults: Faults,
  id: string,
  habit: Pick<Sensor, 'republishesMs' | 'maxAgeMs'>,
): () => number {
  const usualMs = habit.republishesMs ?? habit.maxAgeMs / 3;
  const onlyChanges = (what: string) => faults.at('only-changes', what) !== undefined;
  return () => (onlyChanges(id) || onlyChanges('all') ? Number.POSITIVE_INFINITY : usualMs);
}

/** What the voices of one topic say now: all of them as soon as one has something to say. */
function speak(together: readonly Voice[], nowMs: number, out: Report[]): void {
  let isDue = false;
  for (const voice of together) {
    voice.says = voice.look();
    const isUp = voice.isUp();
    if (voice.announce !== null && voice.online !== isUp) {
      voice.online = isUp;
      out.push(voice.announce(isUp));
    }
    if (isUp && !voice.isSilent()) isDue ||= hasNews(voice, voice.says, nowMs);
    else voice.last = voice.says = null;
  }
  if (isDue) {
    for (const voice of together) {
      if (voice.says === null) continue;
      voice.last = { value: voice.says, atMs: nowMs, isRepeated: false };
      out.push(voice.report(voice.says));
    }
  }
  for (const voice of together) repeat(voice, nowMs, out);
}

function repeat({ last, repeatsAfterMs, report }: Voice, nowMs: number, out: Report[]): void {
  const afterMs = repeatsAfterMs();
  if (last === null || afterMs === null || last.isRepeated || nowMs - last.atMs < afterMs) return;
  last.isRepeated = true;
  out.push(report(last.value));
}

function hasNews({ last, everyMs, resolution }: Voice, value: Said, nowMs: number): boolean {
  if (last === null || nowMs - last.atMs >= everyMs()) return true;
  if (typeof last.value === 'object' || typeof value === 'object')
    return textOf(last.value) !== textOf(value);
  if (typeof last.value !== 'number' || typeof value !== 'number') return last.value !== value;
  return last.value !== value && Math.abs(value - last.value) >= resolution;
}

const textOf = (said: Said): string | null => (typeof said === 'object' ? said.text : null);
