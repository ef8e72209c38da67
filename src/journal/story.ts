// An incident told in order: what was seen, which row said what, what was decided. Told from a replay, so that a row can
// be named that no effect mentions.

import { deriveRows, rowOf } from '../control/guard/interlocks.ts';
import { known } from '../control/guard/invariant.ts';
import type { State } from '../control/process/state.ts';
import { englishOf } from '../language/english.ts';
import type { Plant } from '../station/plant.ts';
import { LIMITS } from './limits.ts';
import type { Recording } from './recording.ts';
import { type Part, type Replayed, replay, type Verdict } from './replay.ts';
import { circleOf, forbidding, type Telling, tellingsOf, valueWords } from './telling.ts';

export interface StoryQuery extends Part {
  /** A row's id or key, `I-07` or `I-07/transfer`; without it, all that happened. */
  readonly why?: string;
}

/** One time that a row spoke. */
export interface Incident {
  readonly row: string;
  readonly hazard: string;
  readonly words: string;
  readonly response: string;
  readonly fromMs: number;
  /** Null where it still forbade something at the end. */
  readonly toMs: number | null;
  readonly latched: boolean;
  readonly forbade: readonly string[];
}

export interface Story {
  readonly station: string;
  readonly name: string;
  readonly incidents: readonly Incident[];
  readonly tellings: readonly Telling[];
  /** Lines beyond what one story holds were left out. */
  readonly leftOut: number;
  readonly verdict: Verdict;
}

/** The rows of this station that a question names; empty for none. */
export function rowsNamed(plant: Plant, why: string): string[] {
  return deriveRows(plant)
    .filter(({ id, key }) => id === why || key === why)
    .map(({ key }) => key);
}

/** @throws Damaged, JournalError */
export function tell(recording: Recording, query: StoryQuery): Story {
  const teller = new Teller(query);
  const verdict = replay(recording, query, (taken) => teller.take(taken));
  return { ...teller.end(), verdict };
}

interface Open extends Incident {
  toMs: number | null;
}

class Teller {
  readonly #query: StoryQuery;
  readonly #incidents: Open[] = [];
  readonly #open = new Map<string, Open>();
  readonly #tellings: Telling[] = [];
  readonly #circles = new Map<Plant, ReadonlyMap<string, ReadonlySet<string>>>();
  #recent: Telling[] = [];
  #leftOut = 0;
  #quietMs = Number.POSITIVE_INFINITY;
  #station = { station: '', name: '' };

  constructor(query: StoryQuery) {
    this.#query = query;
  }

  take(taken: Replayed): void {
    const { plant, wallMs, event } = taken;
    this.#station = { station: plant.id, name: plant.name };
    if (wallMs < (this.#query.fromMs ?? Number.NEGATIVE_INFINITY)) return;
    const asked = this.#circlesOf(plant);
    const began = this.#follow(taken, asked);
    const tellings = tellingsOf(taken).filter((telling) => this.#belongs(telling, taken, asked));
    this.#quietMs = began.length > 0 || this.#open.size > 0 ? 0 : this.#quietMs + event.elapsedMs;
    if (this.#query.why === undefined) return this.#keep(tellings);
    if (this.#quietMs > LIMITS.aroundMs) {
      this.#recent = [...this.#recent, ...tellings].filter(
        (telling) => telling.wallMs > wallMs - LIMITS.aroundMs,
      );
      return;
    }
    const context = began.flatMap((key) => lastSeen(taken, key, asked?.get(key) ?? new Set()));
    this.#keep([...this.#recent, ...context, ...tellings]);
    this.#recent = [];
  }

  end(): Omit<Story, 'verdict'> {
    const incidents = this.#incidents.toSorted((a, b) => a.fromMs - b.fromMs);
    return { ...this.#station, incidents, tellings: this.#tellings, leftOut: this.#leftOut };
  }

  /** The rows that are asked about, each with what it looks at and what it can switch off; null: all rows. */
  #circlesOf(plant: Plant): ReadonlyMap<string, ReadonlySet<string>> | null {
    const { why } = this.#query;
    if (why === undefined) return null;
    const there = this.#circles.get(plant);
    if (there) return there;
    const made = new Map(rowsNamed(plant, why).map((key) => [key, circleOf(plant, key)]));
    this.#circles.set(plant, made);
    return made;
  }

  /** @returns the rows that began to speak */
  #follow({ plant, wallMs, after }: Replayed, asked: ReadonlyMap<string, unknown> | null): string[] {
    const speaking = forbidding(after);
    for (const [key, incident] of this.#open) {
      if (speaking.has(key)) continue;
      incident.toMs = wallMs;
      this.#open.delete(key);
    }
    const began = [...speaking].filter(([key]) => !this.#open.has(key) && (asked === null || asked.has(key)));
    for (const [row, forbade] of began) {
      const { hazard, words, response } = saidOf(plant, row);
      const latched = after.trips[row] !== undefined;
      const incident: Open = { row, hazard, words, response, fromMs: wallMs, toMs: null, latched, forbade };
      this.#open.set(row, incident);
      // Without a question most rows are everyday life: a rest between two starts, a vat that is full.
      if (asked !== null || latched) this.#incidents.push(incident);
    }
    return began.map(([key]) => key);
  }

  #belongs(
    telling: Telling,
    taken: Replayed,
    asked: ReadonlyMap<string, ReadonlySet<string>> | null,
  ): boolean {
    if (telling.about.length === 0) return true;
    if (asked !== null)
      return [...asked.values()].some((circle) => telling.about.some((id) => circle.has(id)));
    return telling.kind !== 'row' || telling.about.some((key) => stopped(taken, key) || isTrip(taken, key));
  }

  #keep(tellings: readonly Telling[]): void {
    const room = LIMITS.tellings - this.#tellings.length;
    this.#tellings.push(...tellings.slice(0, room));
    this.#leftOut += Math.max(0, tellings.length - room);
  }
}

const isTrip = ({ before, after }: Replayed, key: string): boolean =>
  before.trips[key] !== undefined || after.trips[key] !== undefined;

/** Did this row end a run in this step? */
function stopped({ plant, before, after, effects }: Replayed, key: string): boolean {
  const targets = forbidding(after).get(key) ?? [];
  const off = new Set(effects.flatMap((e) => (e.do === 'command' && !e.on ? [e.actuator] : [])));
  return targets.some((target) => {
    const through = plant.routes[target]?.through ?? [plant.heaters[target]?.actuator ?? target];
    return through.some((id) => off.has(id) && before.devices[id]?.on === true);
  });
}

/** What there was to go by at the moment a row spoke: sensors, the flow of its route, the contents of its vessels. */
function lastSeen(
  { plant, step, wallMs, after }: Replayed,
  key: string,
  circle: ReadonlySet<string>,
): Telling[] {
  const subject = rowOf(plant, key)?.subject ?? key;
  const route = plant.routes[subject];
  const flowLpm = after.routes[subject]?.flowLpm ?? null;
  const vessels = route === undefined ? [subject] : [...new Set([route.from, route.to])];
  const lines = [
    ...Object.keys(plant.sensors)
      .filter((id) => circle.has(id))
      .map((id) => sensorWords(plant, after, id)),
    ...(route === undefined || flowLpm === null
      ? []
      : [`${route.name}: ${flowLpm.toFixed(2)} L/min by its meter`]),
    ...vessels.flatMap((id) => contentsWords(plant, after, id)),
  ];
  return lines.map((words) => ({ step, wallMs, kind: 'seen', words, about: [subject] }));
}

function contentsWords(plant: Plant, { vessels }: State, id: string): string[] {
  const held = vessels[id];
  if (held === undefined) return [];
  return [
    `${known(plant.vessels, id).name}: between ${held.leastL.toFixed(1)} and ${held.mostL.toFixed(1)} L`,
  ];
}

function sensorWords(plant: Plant, state: State, id: string): string {
  const sensor = known(plant.sensors, id);
  const { value, ageMs, live, fault } = known(state.sensors, id);
  if (value === null) return `${sensor.name} has said nothing yet`;
  const age = live ? `${(ageMs / 1000).toFixed(ageMs < 10_000 ? 1 : 0)} s before` : 'before the link came up';
  const doubt = fault === null ? '' : `, and now: ${fault}`;
  return `${sensor.name} said ${valueWords(sensor, value)} ${age}${doubt}`;
}

/** What a row says, in English; nothing of a row that this release does not have. */
function saidOf(plant: Plant, key: string): Pick<Incident, 'hazard' | 'words' | 'response'> {
  const row = rowOf(plant, key);
  if (row === undefined) return { hazard: '', words: '', response: '' };
  const say = englishOf(plant);
  return { hazard: say(row.hazard), words: say(row.words), response: say(row.response) };
}
