// One tick of core and coarse water together, in the order of a real minute: hands, water, messages, the core, commands.
// The core is the real `step()`; nothing here decides anything.
import { InvariantError } from '../../control/guard/invariant.ts';
import { AGE_CAP_MS } from '../../control/guard/limits.ts';
import type { Effect, Event, Input, Request } from '../../control/guard/types.ts';
import { forgetful, restored } from '../../control/process/initial.ts';
import type { State } from '../../control/process/state.ts';
import { type Stepped, step } from '../../control/step.ts';
import { message } from '../../language/message.ts';
import type { Plant } from '../../station/plant.ts';
import { abstracted } from './abstraction.ts';
import type { Broken } from './broken.ts';
import { TICK_MS } from './coarse-plant.ts';
import type { Defect } from './defects.ts';
import { type Help, help, helpsFor } from './helper.ts';
import type { Model } from './model.ts';
import { heard, heardWithin, isTruthful } from './senses.ts';
import { command, copyOf, FOREVER, type Harm, pass, type Water } from './water.ts';

export interface Place {
  readonly state: State;
  readonly water: Water;
}

export interface Ticked extends Place {
  readonly harms: readonly Harm[];
  readonly effects: readonly Effect[];
  /** All that the core heard at the end of the tick. */
  readonly inputs: readonly Input[];
  readonly requests: readonly Request[];
  /** Whatever may lie said what is so: the tick is one with healthy devices. */
  readonly truthful: boolean;
  /** The core threw. */
  readonly thrown: string | null;
}

export interface Choice {
  readonly broken: Broken;
  /** Defects that happen in this tick and are over. */
  readonly once: readonly Defect[];
  /** Which of its ways whatever lies goes. */
  readonly way: number;
  /** What the person does who comes in this tick; null: nobody comes. */
  readonly helps: Help | null;
  /** In place of core and person: see `hostile.ts`. */
  readonly hostile?: Hostile;
}

/** A process that wants just this in a tick, and a person who comes with it. */
export interface Hostile {
  readonly step: (plant: Plant, state: State, event: Event) => Stepped;
  /** What the person does by hand, and asks. */
  readonly person: (water: Water) => readonly Request[];
}

/** What a person who comes now could do; nothing: there is nothing to do. */
export function helpsAt(model: Model, from: Place, broken: Broken): readonly Help[] {
  return helpsFor(from.state).filter((kind) => {
    const water = copyOf(from.water);
    return help(model, from.state, water, broken, kind).length > 0 || !isSame(water, from.water);
  });
}

/** As far as a person's hands can change it. */
const isSame = (one: Water, other: Water): boolean =>
  one.floor === other.floor &&
  one.salt === other.salt &&
  one.loose === other.loose &&
  one.mixC === other.mixC &&
  one.level.every((held, at) => held === other.level[at]);

export const GAP_TICKS: Readonly<Record<string, number>> = {
  'service-restarts': 1,
  'service-away': 3,
  'memory-lost': 1,
  'file-changed': 1,
  'tick-late': 1,
};

/** @param form what the core's state is brought into before the next tick */
export function tick(
  model: Model,
  from: Place,
  { broken, once, way, helps, hostile }: Choice,
  form: (plant: Plant, state: State) => State = abstracted,
): Ticked {
  const water = copyOf(from.water);
  let { state } = from;
  const harms: Harm[] = [];
  const requests = hostile
    ? [...hostile.person(water)]
    : helps === null
      ? []
      : help(model, state, water, broken, helps);
  const through = hostile?.step ?? step;
  const inputs: Input[] = [];
  let elapsedMs = TICK_MS;
  for (const defect of once) {
    const gap = GAP_TICKS[defect.kind] ?? 0;
    for (let gone = 0; gone < gap; gone++) harms.push(...pass(model, water, broken, way));
    if (defect.kind === 'tick-late') elapsedMs += gap * TICK_MS;
    else if (defect.kind === 'grows-old') state = grown(state, defect);
    else if (gap > 0) state = cameBack(model.plant, state, defect, gap);
    else intervene(model, water, defect, inputs, requests);
  }
  harms.push(...pass(model, water, broken, way));
  const linked = broken.link === 'up';
  const effects: Effect[] = [];
  let truthful = false;
  const told: Input[] = [];
  try {
    // A gap that nobody watched stays one step.
    const pieces = elapsedMs === TICK_MS ? model.pieces : 1;
    const one = (messages: readonly Input[], tick: boolean): State => {
      const heardNow = [...linkInputs(state, broken), ...messages];
      const done = through(model.plant, state, { elapsedMs: elapsedMs / pieces, inputs: heardNow, tick });
      effects.push(...done.effects);
      // What is switched off within a tick says so at its end; the water of this tick has passed.
      if (linked) act(model, water, broken, done.effects);
      return done.state;
    };
    for (let piece = 1; piece < pieces; piece++) {
      const share = piece / pieces;
      state = one(linked ? heardWithin(model, state, from.water, water, broken, way, share) : [], false);
    }
    truthful = isTruthful(model, state, water, broken, way);
    const messages = linked
      ? [...heard(model, state, water, broken, way), ...inputs, ...asked(requests)]
      : [];
    if (state.link.journalWritable === broken.journalFull)
      messages.push({ type: 'journal', writable: !broken.journalFull });
    told.push(...messages);
    const last = one(messages, true);
    settleCounters(model, last, water);
    const next = form(model.plant, last);
    return { state: next, water, harms, effects, inputs: told, requests, truthful, thrown: null };
  } catch (error) {
    const name = error instanceof InvariantError ? '' : `${(error as Error).name}: `;
    return {
      state,
      water,
      harms,
      effects: [],
      inputs: told,
      requests,
      truthful,
      thrown: `${name}${(error as Error).message}`,
    };
  }
}

/** The service after a gap, with what it finds of its memory. */
function cameBack(plant: Plant, state: State, { kind }: Defect, gapTicks: number): State {
  if (kind === 'memory-lost') return forgetful(plant, message('state-no-json'));
  return restored(plant, state, gapTicks === 1 ? TICK_MS : null, kind !== 'file-changed');
}

/** Days have passed, as far as what was measured is concerned, or the batch. */
function grown(state: State, { what, word }: Defect): State {
  if (word === 'batch') return { ...state, batch: { ...state.batch, ageMs: AGE_CAP_MS } };
  const water = state.salinity[what];
  if (water === undefined) return state;
  const old = { ...water, probeAgeMs: AGE_CAP_MS, measuredAgeMs: AGE_CAP_MS };
  return { ...state, salinity: { ...state.salinity, [what]: old } };
}

function linkInputs(state: State, { link }: Broken): Input[] {
  if (link === 'mute') return [];
  if (link === 'lost') return state.link.up ? [{ type: 'link', up: false }] : [];
  return state.link.up ? [{ type: 'echo' }] : [{ type: 'link', up: true }, { type: 'echo' }];
}

const asked = (requests: readonly Request[]): Input[] =>
  requests.map((request, at) => ({ type: 'request', id: `${at}`, request }));

function act(model: Model, water: Water, broken: Broken, effects: readonly Effect[]): void {
  for (const effect of effects) {
    if (effect.do !== 'command') continue;
    const at = model.switches.findIndex(({ id }) => id === effect.actuator);
    command(model, water, broken, at, effect.on);
  }
}

/** A counter's absolute value means nothing: both sides of it start again from what the core has heard. */
function settleCounters({ sensors }: Model, state: State, water: Water): void {
  sensors.forEach((sensor, at) => {
    if (sensor.measures !== 'total') return;
    const last = state.routes[sensor.route]?.lastTotalL ?? null;
    water.unheard[at] = last === null ? 0 : (water.unheard[at] ?? 0) - last;
  });
}

function intervene(model: Model, water: Water, defect: Defect, inputs: Input[], requests: Request[]): void {
  const { kind, what, at } = defect;
  switch (kind) {
    case 'restarts-on':
      water.relay[at] = FOREVER;
      return;
    case 'foreign-on':
    case 'foreign-off': {
      const on = kind === 'foreign-on';
      water.relay[at] = on ? FOREVER : 0;
      inputs.push({ type: 'foreign-command', actuator: what, on, retained: false });
      return;
    }
    case 'cools':
      water.mixC -= 2;
      return;
    case 'resets':
      // Any count below what was heard before.
      water.unheard[at] = -FOREVER;
      return;
    case 'asks':
      requests.push(untimely(model, what));
      return;
    default:
      throw new Error(`'${kind}' does not happen in one tick`);
  }
}

function untimely({ plant }: Model, what: string): Request {
  switch (what) {
    case 'exchange-now':
      return { ask: 'exchange-now', system: plant.systemIds[0] ?? '', volumeL: 1 };
    case 'salt-added':
      return { ask: 'salt-added', massKg: 1 };
    case 'reset-trip':
      return { ask: 'reset-trip', trip: 'all' };
    default:
      return { ask: what as 'hold', unit: 'all' };
  }
}
