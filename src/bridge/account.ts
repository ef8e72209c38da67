// The day in words, made from nothing but what goes over the wire: whoever listens on the same topics can tell the same
// story. One entry for each thing that happened, one an hour for what is in the vats.
import type { Stage } from '../control/process/state.ts';
import type { Sentence } from '../language/told.ts';
import type { Plant } from '../station/plant.ts';
import { documentOf } from './values.ts';
import { type Topics, topicsOf } from './wire-out.ts';

export interface Entry {
  readonly day: number;
  /** Station time, `14:05`. */
  readonly time: string;
  readonly about: 'batch' | 'refill' | 'exchange' | 'vats' | 'task' | 'person' | 'answer' | 'alarm' | 'trip';
  readonly words: string;
}

/** The part of the status that is told; see control/process/describe.ts. */
interface Told {
  readonly units: {
    readonly refill: { readonly procedure: string };
    readonly batch: {
      readonly procedure: string;
      readonly message: Sentence;
      readonly stage: string;
      readonly number: number;
      readonly accepted: boolean;
    };
    readonly exchange: Readonly<
      Record<
        string,
        {
          readonly procedure: string;
          readonly message: Sentence;
          readonly step: string;
          readonly steps: number;
          readonly todayL: number;
        }
      >
    >;
  };
  readonly vessels: Readonly<
    Record<
      string,
      {
        readonly leastL: number;
        readonly mostL: number;
        readonly salinity: number | null;
        readonly temperatureC: number | null;
      }
    >
  >;
  readonly trips: readonly { readonly row: string; readonly message: Sentence }[];
}

const STAGES: Readonly<Record<Exclude<Stage, 'idle' | 'ready'>, string>> = {
  transfer: 'fresh water moves to the mixing vat',
  'mix/assess': 'what is in the mixing vat is measured before any salt goes in',
  'mix/salt': 'now it needs salt',
  'mix/dissolve': 'the salt dissolves while the water goes round',
  'mix/measure': 'the salinity is measured until it stands still',
  'mix/trim-salt': 'a little too thin: a trim with salt',
  'mix/trim-water': 'a little too strong: a trim with fresh water',
  heat: 'it has the right salinity and is warmed',
};

export class Account {
  readonly #plant: Plant;
  readonly #topics: Topics;
  #day = 0;
  #minute = 0;
  #hasClock = false;
  #status: Told | null = null;
  #hourSaid = -1;
  #stepsAtHour = 0;

  constructor(plant: Plant) {
    this.#plant = plant;
    this.#topics = topicsOf(plant.id);
  }

  setClock(day: number, minuteOfDay: number): void {
    this.#day = day;
    this.#minute = minuteOfDay;
    this.#hasClock = true;
  }

  /** A batch was accepted (which includes its warming) and a step of an exchange was begun. */
  isFullCycle(): boolean {
    return this.#status?.units.batch.accepted === true && this.#steps() > 0;
  }

  /** Nothing is being exchanged: what was begun has come to its end. */
  isBetweenSteps(): boolean {
    return Object.values(this.#status?.units.exchange ?? {}).every(({ step }) => step === 'rest');
  }

  /** What is left to say when the story ends between two hours. */
  close(): readonly Entry[] {
    this.#hourSaid = this.#hourSaid === -1 ? -1 : -2;
    return this.#status === null ? [] : this.#hourly(this.#status);
  }

  hear(topic: string, payload: Uint8Array): readonly Entry[] {
    const { status, time, request, answer } = this.#topics;
    const json = documentOf(payload).json() as Record<string, unknown> | undefined;
    if (json === undefined || json === null) return [];
    if (topic === time) {
      this.setClock(Number(json.day), Number(json.minuteOfDay));
      return [];
    }
    // Before the water says what time it is there is no story to put a time on.
    if (!this.#hasClock) return [];
    if (topic === status) return this.#hearStatus(json as unknown as Told);
    if (topic === request) return [this.#entry('person', requestWords(json))];
    if (topic === answer)
      return [
        this.#entry('answer', `${json.accepted === true ? 'accepted' : 'refused'}: ${textIn(json.message)}`),
      ];
    if (topic.startsWith(this.#topics.task(''))) return [this.#entry('task', textIn(json.message))];
    if (topic.startsWith(this.#topics.alarm(''))) {
      return [this.#entry('alarm', `${json.priority}, ${json.state}: ${json.text}`)];
    }
    return [];
  }

  #hearStatus(now: Told): readonly Entry[] {
    const before = this.#status;
    this.#status = now;
    return [
      ...this.#batch(before?.units.batch, now),
      ...this.#refill(before, now),
      ...this.#exchanges(before, now),
      ...this.#trips(before, now),
      ...this.#hourly(now),
    ];
  }

  #batch(before: Told['units']['batch'] | undefined, now: Told): readonly Entry[] {
    const { procedure, stage, message, number, accepted } = now.units.batch;
    if (before?.procedure === procedure && before.stage === stage) return [];
    if (procedure !== 'running')
      return before === undefined ? [] : [this.#entry('batch', `${procedure}: ${message.text}`)];
    if (stage === 'ready' && accepted) {
      return [this.#entry('batch', `batch ${number} is ready: ${this.#contents(this.#plant.mixingId, now)}`)];
    }
    const said = (STAGES as Readonly<Record<string, string>>)[stage];
    return said === undefined
      ? []
      : [this.#entry('batch', `${said} (${this.#contents(this.#plant.mixingId, now)})`)];
  }

  #refill(before: Told | null, now: Told): readonly Entry[] {
    const { procedure } = now.units.refill;
    const { freshId } = this.#plant;
    if (freshId === null || before === null || before.units.refill.procedure === procedure) return [];
    if (procedure === 'idle') return [];
    const said = { running: 'the purifier fills the fresh vat', complete: 'the fresh vat is full' }[
      procedure
    ];
    return [this.#entry('refill', `${said ?? procedure} (${this.#contents(freshId, now)})`)];
  }

  #exchanges(before: Told | null, now: Told): readonly Entry[] {
    return Object.entries(now.units.exchange).flatMap(([system, { procedure, message }]) => {
      const was = before?.units.exchange[system]?.procedure;
      if (was === undefined || was === procedure) return [];
      const name = this.#plant.vessels[system]?.name ?? system;
      return [
        this.#entry(
          'exchange',
          `${name}: ${procedure === 'running' ? 'the daily exchange begins' : `${procedure}, ${message.text}`}`,
        ),
      ];
    });
  }

  #trips(before: Told | null, now: Told): readonly Entry[] {
    const known = before?.trips.map(({ row }) => row) ?? [];
    return now.trips
      .filter(({ row }) => !known.includes(row))
      .map(({ row, message }) => this.#entry('trip', `${row}: ${message.text}`));
  }

  /** What is in the vats once an hour; and the exchange's small steps, which nobody wants to read one by one. */
  #hourly(now: Told): readonly Entry[] {
    const hour = this.#day * 24 + Math.floor(this.#minute / 60);
    if (hour === this.#hourSaid) return [];
    const isFirst = this.#hourSaid === -1;
    this.#hourSaid = hour;
    const steps = this.#steps() - this.#stepsAtHour;
    this.#stepsAtHour = this.#steps();
    const vats = this.#entry(
      'vats',
      Object.keys(now.vessels)
        .map((id) => `${this.#plant.vessels[id]?.name ?? id} ${this.#contents(id, now)}`)
        .join('; '),
    );
    if (isFirst || steps === 0) return [vats];
    const today = Object.values(now.units.exchange).reduce((sum, { todayL }) => sum + todayL, 0);
    return [
      vats,
      this.#entry(
        'exchange',
        `${steps} ${steps === 1 ? 'step' : 'steps'} more, ${today.toFixed(1)} L delivered today`,
      ),
    ];
  }

  #steps(): number {
    return Object.values(this.#status?.units.exchange ?? {}).reduce((sum, { steps }) => sum + steps, 0);
  }

  /** `268 L, salinity 34.9, 24.9 degC`; where the contents are not known well, from least to most. */
  #contents(id: string, { vessels }: Told): string {
    const held = vessels[id];
    if (held === undefined) return 'unknown';
    const { leastL, mostL, salinity, temperatureC } = held;
    const isTight = mostL - leastL <= 0.02 * (this.#plant.vessels[id]?.capacityL ?? 0);
    const litres = isTight
      ? `${((leastL + mostL) / 2).toFixed(0)} L`
      : `${leastL.toFixed(0)} to ${mostL.toFixed(0)} L`;
    const salty = salinity === null ? '' : `, salinity ${salinity.toFixed(1)}`;
    return `${litres}${salty}${temperatureC === null ? '' : `, ${temperatureC.toFixed(1)} degC`}`;
  }

  #entry(about: Entry['about'], words: string): Entry {
    const two = (value: number) => String(value).padStart(2, '0');
    return {
      day: this.#day,
      time: `${two(Math.floor(this.#minute / 60))}:${two(this.#minute % 60)}`,
      about,
      words,
    };
  }
}

const textIn = (message: unknown): string => String((message as Partial<Sentence> | undefined)?.text);

function requestWords({
  request,
  mass,
  vessel,
  value,
  instrument,
  ...rest
}: Record<string, unknown>): string {
  if (request === 'salt-added') return `"I have added ${mass} of salt."`;
  if (request === 'salinity-measured') return `"I have measured ${value} in ${vessel}, with: ${instrument}."`;
  const { id: _, ...said } = rest;
  return `asks: ${[request, ...Object.values(said)].join(' ')}`;
}
