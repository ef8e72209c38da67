// The real core coupled to the simulated water in memory: no broker, no wall clock, station time only. Tests, campaigns
// and a simulated year drive the two together through this.
import { initial, restored, type State } from '../control/state.ts';
import { step } from '../control/step.ts';
import type { Effect, Input, Request } from '../control/types.ts';
import { makeTwin, type Twin, type TwinOptions } from '../simulate/twin.ts';
import type { Plant } from '../station/plant.ts';

export interface Happened {
  readonly atMs: number;
  readonly effect: Effect;
}

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
  /** Messages from the station no longer arrive, and commands no longer leave. */
  readonly setLink: (up: boolean) => void;
  /** The service dies and comes back after a gap with the state it had saved. */
  readonly powerCut: (gapMs: number) => void;
  /** Steps until the time has passed, or (returning true) until the condition holds after a step. */
  readonly run: (forMs: number, until?: (coupled: Coupled) => boolean) => boolean;
}

export interface CoupleOptions {
  readonly seed?: number;
  readonly faults?: readonly string[];
  /** Length of a step in whole milliseconds, or how long the next one shall be. Default 5000. */
  readonly stepMs?: number | ((state: State) => number);
  readonly twin?: TwinOptions;
  /** Hears every effect; then nothing is kept, so that a year does not fill the memory. */
  readonly onEffect?: (happened: Happened) => void;
}

export function couple(plant: Plant, options: CoupleOptions = {}): Coupled {
  const { seed = 1, faults = [], stepMs = 5_000, onEffect } = options;
  const nextStepMs = typeof stepMs === 'number' ? () => stepMs : stepMs;
  const twin = makeTwin(plant, seed, faults, options.twin);
  const log: Happened[] = [];
  const tell = onEffect ?? ((happened: Happened) => log.push(happened));
  let state = initial(plant);
  let nowMs = 0;
  let linked = true;
  let waiting: Input[] = [{ type: 'link', up: true }];
  let asked = 0;

  const act = (effects: readonly Effect[]): void => {
    for (const effect of effects) {
      tell({ atMs: nowMs, effect });
      if (effect.do === 'command' && linked) twin.command(effect.actuator, effect.on, effect.leaseMs);
      if (effect.do === 'ask') twin.ask(effect.vessel, effect.task);
    }
  };
  const one = (): void => {
    const elapsedMs = nextStepMs(state);
    twin.advance(elapsedMs);
    nowMs += elapsedMs;
    const heard: Input[] = [];
    const reports = twin.inputs();
    if (linked) heard.push(...reports, twin.clock(), { type: 'echo' });
    for (const told of twin.told()) {
      asked += 1;
      heard.push({ type: 'request', id: `person-${asked}`, request: told });
    }
    const inputs = [...heard, ...waiting];
    waiting = [];
    const done = step(plant, state, { elapsedMs, inputs, tick: true });
    state = done.state;
    act(done.effects);
  };
  const coupled: Coupled = {
    plant,
    twin,
    log,
    state: () => state,
    nowMs: () => nowMs,
    request: (request) => {
      asked += 1;
      waiting.push({ type: 'request', id: `test-${asked}`, request });
    },
    input: (input) => waiting.push(input),
    setLink: (up) => {
      linked = up;
      waiting.push({ type: 'link', up });
    },
    powerCut: (gapMs) => {
      for (let left = gapMs; left > 0; ) {
        const pieceMs = Math.min(left, nextStepMs(state));
        twin.advance(pieceMs);
        twin.inputs();
        nowMs += pieceMs;
        left -= pieceMs;
      }
      state = restored(plant, JSON.parse(JSON.stringify(state)), gapMs);
      waiting.push({ type: 'link', up: true });
    },
    run: (forMs, until) => {
      for (const endMs = nowMs + forMs; nowMs < endMs; ) {
        one();
        if (until?.(coupled)) return true;
      }
      return false;
    },
  };
  return coupled;
}
