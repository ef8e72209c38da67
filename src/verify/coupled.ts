// The real core coupled to the simulated water in memory: no broker, no wall clock, station time only. Tests, campaigns
// and a simulated year drive the two together through this.
import type { Effect, Event, Input, Request } from '../control/guard/types.ts';
import { forgetful, initial, restored } from '../control/process/initial.ts';
import type { State } from '../control/process/state.ts';
import { type Stepped, step } from '../control/step.ts';
import { englishOf, type Say } from '../language/english.ts';
import { message } from '../language/message.ts';
import { told } from '../language/told.ts';
import type { Fault } from '../simulate/faults.ts';
import { makeTwin, type Twin, type TwinOptions } from '../simulate/twin.ts';
import type { Plant } from '../station/plant.ts';

export interface Happened {
  readonly atMs: number;
  readonly effect: Effect;
}

/** What a service that comes back finds: its state, nothing that it can read, or a station file with other plumbing. */
export type Memory = 'kept' | 'lost' | 'replumbed';

export interface Coupled {
  readonly plant: Plant;
  readonly twin: Twin;
  readonly state: () => State;
  /** Everything the core ever did; empty where an `onEffect` listens instead. */
  readonly log: readonly Happened[];
  readonly nowMs: () => number;
  /** Requests go in with the next step. */
  readonly request: (request: Request) => void;
  readonly input: (input: Input) => void;
  /** Messages from the station no longer arrive, and commands no longer leave; `isTold`: the client notices. */
  readonly setLink: (up: boolean, isTold?: boolean) => void;
  /** The service dies and comes back after a gap with what is left of the state it had saved. */
  readonly powerCut: (gapMs: number, memory?: Memory) => void;
  /** The service stands still for so long, and goes on with one long step. */
  readonly stall: (forMs: number) => void;
  /** Goes on from another state of the same station. */
  readonly adopt: (make: (state: State) => State) => void;
  /** Steps until the time has passed, or (returning true) until the condition holds after a step. */
  readonly run: (forMs: number, until?: (coupled: Coupled) => boolean) => boolean;
}

export interface CoupleOptions {
  readonly seed?: number;
  readonly faults?: readonly (string | Fault)[];
  /** Length of a step in whole milliseconds, or how long the next one shall be. Default 5000. */
  readonly stepMs?: number | ((state: State) => number);
  readonly twin?: TwinOptions;
  /** Hears every effect; then nothing is kept, so that a year does not fill the memory. */
  readonly onEffect?: (happened: Happened) => void;
  /** What becomes of the messages of a step before the core hears them. Default: they arrive. */
  readonly hears?: (inputs: readonly Input[]) => readonly Input[];
  /** What takes the place of the core. */
  readonly through?: (plant: Plant, state: State, event: Event) => Stepped;
  /** Whether an effect gets to the station. Default: it does, while the link is up. */
  readonly arrives?: (effect: Effect) => boolean;
}

/** `person-1`, `test-2`: one count for all who ask. */
function counting(): (from: string) => string {
  let count = 0;
  return (from) => {
    count += 1;
    return `${from}-${count}`;
  };
}

/** What arrives with a step. What a person says needs no wire. */
function heardFrom(twin: Twin, linked: boolean, newId: (from: string) => string): Input[] {
  const heard: Input[] = [];
  const reports = twin.inputs();
  if (linked) {
    for (const report of reports) heard.push(report);
    heard.push(twin.clock(), { type: 'echo' });
  }
  for (const request of twin.told()) heard.push({ type: 'request', id: newId('person'), request });
  return heard;
}

function carryOut(twin: Twin, effect: Effect, linked: boolean, say: Say): void {
  if (effect.do === 'command' && linked) twin.command(effect.actuator, effect.on, effect.leaseMs);
  if (effect.do === 'ask') twin.ask(effect.vessel, told(say, effect.task));
}

export function couple(plant: Plant, options: CoupleOptions = {}): Coupled {
  const { seed = 1, faults = [], stepMs = 5_000, onEffect, hears, through = step, arrives } = options;
  const nextStepMs = typeof stepMs === 'number' ? () => stepMs : stepMs;
  const say = englishOf(plant);
  const twin = makeTwin(plant, seed, faults, options.twin);
  const log: Happened[] = [];
  const tell = onEffect ?? ((happened: Happened) => log.push(happened));
  let state = initial(plant);
  let nowMs = 0;
  let linked = true;
  let waiting: Input[] = [{ type: 'link', up: true }];
  const newId = counting();

  const pass = (elapsedMs: number): number => {
    twin.advance(elapsedMs);
    nowMs += elapsedMs;
    return elapsedMs;
  };
  const one = (wantedMs: number): void => {
    const elapsedMs = pass(wantedMs);
    const heard = heardFrom(twin, linked, newId);
    const arrived = hears?.(heard) ?? heard;
    const inputs = waiting.length === 0 ? arrived : [...arrived, ...waiting];
    waiting = [];
    const done = through(plant, state, { elapsedMs, inputs, tick: true });
    state = done.state;
    for (const effect of done.effects) {
      tell({ atMs: nowMs, effect });
      carryOut(twin, effect, linked && (arrives?.(effect) ?? true), say);
    }
  };
  const coupled: Coupled = {
    plant,
    twin,
    log,
    state: () => state,
    nowMs: () => nowMs,
    request: (request) => waiting.push({ type: 'request', id: newId('test'), request }),
    input: (input) => waiting.push(input),
    setLink: (up, isTold = true) => {
      linked = up;
      if (isTold) waiting.push({ type: 'link', up });
    },
    powerCut: (gapMs, memory = 'kept') => {
      for (let left = gapMs; left > 0; ) {
        left -= pass(Math.min(left, nextStepMs(state)));
        twin.inputs();
      }
      const saved = JSON.parse(JSON.stringify(state));
      state =
        memory === 'lost'
          ? forgetful(plant, message('state-no-json'))
          : restored(plant, saved, gapMs, memory === 'kept');
      waiting.push({ type: 'link', up: true });
    },
    stall: one,
    adopt: (make) => {
      state = make(state);
    },
    run: (forMs, until) => {
      for (const endMs = nowMs + forMs; nowMs < endMs; ) {
        one(nextStepMs(state));
        if (until?.(coupled)) return true;
      }
      return false;
    },
  };
  return coupled;
}
