// One step in plain words: what was seen, what was asked, which row spoke, what was decided, what was told. Only what
// changed is worth a line; a lease that is renewed and a reading that says the same again are not.

import { rowOf } from '../control/guard/interlocks.ts';
import { actuatorsOf } from '../control/guard/row-kinds.ts';
import type { Effect, Input, Request } from '../control/guard/types.ts';
import type { State } from '../control/process/state.ts';
import { englishOf } from '../language/english.ts';
import { alarmText, told } from '../language/told.ts';
import { houseUnitOf, isNumberSensor } from '../station/kinds.ts';
import type { Plant, Sensor } from '../station/plant.ts';
import type { Replayed } from './replay.ts';

export type TellingKind = 'seen' | 'asked' | 'row' | 'decided' | 'told';

export interface Telling {
  readonly step: number;
  readonly wallMs: number;
  readonly kind: TellingKind;
  readonly words: string;
  /** Ids of sensors, actuators, targets, rows; empty: of the whole station. */
  readonly about: readonly string[];
}

type Line = Omit<Telling, 'step' | 'wallMs'>;

export function tellingsOf(taken: Replayed): Telling[] {
  const { plant, step, wallMs, event, effects, before, after } = taken;
  const lines = [
    ...event.inputs.flatMap((input) => seen(plant, before, input)),
    ...event.inputs.flatMap((input) => (input.type === 'request' ? asked(plant, input, effects) : [])),
    ...rowsThatChanged(plant, before, after),
    ...effects.flatMap((effect) => done(plant, before, effect)),
  ];
  return lines.map((line) => ({ step, wallMs, ...line }));
}

function seen(plant: Plant, before: State, input: Input): Line[] {
  switch (input.type) {
    case 'reading': {
      const sensor = plant.sensors[input.sensor];
      const was = before.sensors[input.sensor];
      if (sensor === undefined || !input.live || typeof input.value === 'number') return [];
      if (was?.live && was.value === input.value && was.fault === null) return [];
      return [
        { kind: 'seen', words: `${sensor.name}: ${valueWords(sensor, input.value)}`, about: [input.sensor] },
      ];
    }
    case 'bad-reading': {
      if (before.sensors[input.sensor]?.fault === input.reason) return [];
      const name = plant.sensors[input.sensor]?.name ?? input.sensor;
      return [{ kind: 'seen', words: `${name}: nothing to go by (${input.reason})`, about: [input.sensor] }];
    }
    case 'feedback': {
      const was = before.devices[input.actuator];
      if (!input.live || (was?.feedbackLive && was.feedback === input.on)) return [];
      const words = `${nameOf(plant, input.actuator)} reports ${onOff(input.on)}`;
      return [{ kind: 'seen', words, about: [input.actuator] }];
    }
    case 'bad-feedback': {
      if (before.devices[input.actuator]?.feedbackFault === input.reason) return [];
      const words = `the feedback of ${nameOf(plant, input.actuator)}: nothing to go by (${input.reason})`;
      return [{ kind: 'seen', words, about: [input.actuator] }];
    }
    case 'foreign-command': {
      const to = input.on === null ? 'sent something unreadable to' : `switched ${onOff(input.on)}`;
      const kept = input.retained ? ', and the broker keeps it' : '';
      const words = `somebody else ${to} ${nameOf(plant, input.actuator)}${kept}`;
      return [{ kind: 'seen', words, about: [input.actuator] }];
    }
    case 'empty-command': {
      const words = `somebody else sent an empty message to ${nameOf(plant, input.actuator)}`;
      return [{ kind: 'seen', words, about: [input.actuator] }];
    }
    case 'link':
      return [
        { kind: 'seen', words: `the link to the broker ${input.up ? 'came up' : 'went down'}`, about: [] },
      ];
    case 'journal':
      return [
        { kind: 'seen', words: `the journal ${input.writable ? 'can be' : "can't be"} written`, about: [] },
      ];
    case 'sinks': {
      const words =
        input.failing.length === 0
          ? 'messages to people arrive'
          : `messages do not arrive at ${input.failing.join(', ')}`;
      return [{ kind: 'seen', words, about: [] }];
    }
    case 'clock':
    case 'echo':
    case 'request':
      return [];
  }
}

/** A sensor's value as people say it; numbers in the house unit. */
export function valueWords(sensor: Sensor, value: number | boolean): string {
  if (typeof value === 'boolean') {
    if (sensor.measures === 'top-off') return value ? 'running' : 'resting';
    return value ? 'wet' : 'dry';
  }
  const unit = isNumberSensor(sensor) ? houseUnitOf(sensor) : '';
  return `${Number(value.toPrecision(5))} ${unit}`.trimEnd();
}

const onOff = (on: boolean): string => (on ? 'on' : 'off');

const nameOf = (plant: Plant, id: string): string =>
  (plant.actuators[id] ?? plant.sensors[id] ?? plant.routes[id] ?? plant.heaters[id] ?? plant.vessels[id])
    ?.name ?? id;

function asked(
  plant: Plant,
  { id, request }: Extract<Input, { type: 'request' }>,
  effects: readonly Effect[],
): Line[] {
  const answer = effects.find((effect) => effect.do === 'answer' && effect.request === id);
  if (answer?.do !== 'answer')
    return [{ kind: 'asked', words: `${wish(request, false)}: no answer`, about: [] }];
  const said = `${answer.accepted ? '' : 'refused, '}${englishOf(plant)(answer.words)}`;
  const isToldThere = answer.words.id === 'trips-reset-seen';
  return [{ kind: 'asked', words: `${wish(request, isToldThere)}: ${said}`, about: [] }];
}

/** What was asked for; who looked and what they saw stand in the answer of a reset that was done, and are not told twice. */
function wish(request: Request, isToldThere: boolean): string {
  const { ask, ...rest } = request;
  const isTold = request.ask === 'reset-trip' && isToldThere;
  const details = isTold ? [request.trip] : Object.values(rest).filter((value) => value !== null);
  return `${ask} ${details.join(' ')}`.trim();
}

/** Every row that forbids something in a state, with what it forbids. */
export function forbidding(state: State): ReadonlyMap<string, readonly string[]> {
  const rows = new Map<string, string[]>();
  for (const [target, keys] of Object.entries(state.verdicts))
    for (const key of keys) rows.set(key, [...(rows.get(key) ?? []), target]);
  return rows;
}

function rowsThatChanged(plant: Plant, before: State, after: State): Line[] {
  const was = forbidding(before);
  const is = forbidding(after);
  const begins = [...is].filter(([key]) => !was.has(key));
  const ends = [...was].filter(([key]) => !is.has(key));
  return [
    ...begins.map(([key, targets]): Line => {
      const row = rowOf(plant, key);
      const latched = after.trips[key] === undefined ? '' : ', latched until a person resets it';
      const names = targets.map((target) => nameOf(plant, target)).join(', ');
      const words = `${key} forbids ${names}: ${row === undefined ? 'a row of another release' : englishOf(plant)(row.words)}${latched}`;
      return { kind: 'row', words, about: [key] };
    }),
    ...ends.map(([key]): Line => ({ kind: 'row', words: `${key} no longer forbids anything`, about: [key] })),
  ];
}

function done(plant: Plant, before: State, decided: Effect): Line[] {
  const effect = told(englishOf(plant), decided);
  switch (effect.do) {
    case 'command': {
      if (before.devices[effect.actuator]?.on === effect.on) return [];
      const until = effect.on ? `, for ${effect.leaseMs / 1000} s at a time` : '';
      const words = `${nameOf(plant, effect.actuator)}: ${onOff(effect.on)}${until}`;
      return [{ kind: 'decided', words, about: [effect.actuator] }];
    }
    case 'ask':
      return [
        {
          kind: 'told',
          words:
            effect.task === null
              ? 'nothing more is asked of a person'
              : `a person is asked: ${effect.task.message.text}`,
          about: [],
        },
      ];
    case 'alarm': {
      const { alarm, state, priority, message, response } = effect;
      const isNews = state === 'unacknowledged';
      const text = isNews
        ? `${priority} alarm ${alarm}: ${alarmText(message, response)}`
        : `alarm ${alarm} is ${stateWords(state)}`;
      return [{ kind: 'told', words: text, about: [alarm] }];
    }
    // A request's record says what its answer says, a trip's what its row says.
    case 'proof-test': {
      const { row, who, passed, seen } = effect;
      const words = `${who} tried ${row} by hand: ${passed ? 'passed' : 'failed'}, ${seen}`;
      return [{ kind: 'told', words, about: [row, effect.sensor] }];
    }
    case 'record':
      return effect.about === 'phase' || effect.about === 'exercise'
        ? [{ kind: 'decided', words: effect.message.text, about: [] }]
        : [];
    case 'answer':
      return [];
  }
}

const stateWords = (state: string): string => state.replaceAll('-', ' ');

/** What a row looks at and what it can switch off, by id. */
export function circleOf(plant: Plant, key: string): ReadonlySet<string> {
  const row = rowOf(plant, key);
  if (row === undefined) return new Set([key]);
  const { subject } = row;
  const sensors = Object.values(plant.sensors).filter((sensor) => {
    if (row.needs.includes(sensor.id) || sensor.id === subject) return true;
    return 'route' in sensor ? sensor.route === subject : 'vessel' in sensor && sensor.vessel === subject;
  });
  const actuators = row.forbids.flatMap((target) => actuatorsOf(plant, target));
  return new Set([key, ...row.forbids, ...actuators, ...sensors.map(({ id }) => id)]);
}
