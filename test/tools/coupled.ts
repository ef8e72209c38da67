// The real core coupled to the simulated water in memory: no broker, no wall clock, station time only.
import { readFileSync } from 'node:fs';
import { initial, restored, type State } from '../../src/control/state.ts';
import { step } from '../../src/control/step.ts';
import type { Effect, Input, Request } from '../../src/control/types.ts';
import { makeTwin, type Twin } from '../../src/simulate/twin.ts';
import { loadStation } from '../../src/station/load.ts';
import type { Plant } from '../../src/station/plant.ts';

export function plantAt(file: string): Plant {
  const loaded = loadStation(file, readFileSync(file, 'utf8'));
  if (!loaded.ok) throw new Error(`${file}: ${JSON.stringify(loaded.errors, null, 1)}`);
  return loaded.plant;
}

export interface Happened {
  readonly atMs: number;
  readonly effect: Effect;
}

export interface Coupled {
  readonly plant: Plant;
  readonly twin: Twin;
  readonly state: () => State;
  readonly log: readonly Happened[];
  readonly nowMs: () => number;
  /** Requests go in with the next step. */
  readonly request: (request: Request) => void;
  readonly input: (input: Input) => void;
  /** Messages from the station no longer arrive, and commands no longer leave. */
  readonly setLink: (up: boolean) => void;
  /** The service dies and comes back after a gap with the state it had saved. */
  readonly powerCut: (gapMs: number) => void;
  readonly run: (forMs: number, until?: (coupled: Coupled) => boolean) => boolean;
}

export function couple(
  plant: Plant,
  options: { seed?: number; faults?: string[]; stepMs?: number } = {},
): Coupled {
  const { seed = 1, faults = [], stepMs = 5_000 } = options;
  const twin = makeTwin(plant, seed, faults);
  const log: Happened[] = [];
  let state = initial(plant);
  let nowMs = 0;
  let linked = true;
  let waiting: Input[] = [{ type: 'link', up: true }];
  let asked = 0;

  const act = (effects: readonly Effect[]): void => {
    for (const effect of effects) {
      log.push({ atMs: nowMs, effect });
      if (effect.do === 'command' && linked) twin.command(effect.actuator, effect.on, effect.leaseMs);
      if (effect.do === 'ask') twin.ask(effect.vessel, effect.task);
    }
  };
  const one = (): void => {
    twin.advance(stepMs);
    nowMs += stepMs;
    const heard: Input[] = [];
    const reports = twin.inputs();
    if (linked) heard.push(...reports, twin.clock(), { type: 'echo' });
    for (const told of twin.told()) {
      asked += 1;
      heard.push({ type: 'request', id: `person-${asked}`, request: told });
    }
    const inputs = [...heard, ...waiting];
    waiting = [];
    const done = step(plant, state, { elapsedMs: stepMs, inputs, tick: true });
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
      for (let left = gapMs; left > 0; left -= stepMs) {
        twin.advance(stepMs);
        twin.inputs();
        nowMs += stepMs;
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
