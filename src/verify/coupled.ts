// The real core coupled to the simulated water in memory: no broker, no wall clock, station time only. Campaigns, plans
// and tests share this one; whoever wants another pace or another misfortune hands it in.
import { initial, restored, type State } from '../control/state.ts';
import { step } from '../control/step.ts';
import type { Effect, Input, Request } from '../control/types.ts';
import type { Fault } from '../simulate/faults.ts';
import { makeTwin, type Twin } from '../simulate/twin.ts';
import type { Plant } from '../station/plant.ts';

export interface Happened {
  readonly atMs: number;
  readonly effect: Effect;
}

export interface CoupledOptions {
  readonly seed?: number;
  readonly faults?: readonly (string | Fault)[];
  /** Station time of one step; a function is asked before each. Default 5 s. */
  readonly stepMs?: number | ((coupled: Coupled) => number);
  /** Local time at the beginning, minutes. */
  readonly startMinute?: number;
  /** What becomes of the messages of a step before the core hears them. */
  readonly hears?: (inputs: readonly Input[]) => readonly Input[];
  /** Whether a command that was sent arrives. */
  readonly arrives?: (effect: Effect & { readonly do: 'command' }) => boolean;
  /** Keeps `log`; a campaign of a thousand nights does without. */
  readonly keepsLog?: boolean;
}

export interface Coupled {
  readonly plant: Plant;
  readonly twin: Twin;
  readonly state: () => State;
  readonly log: readonly Happened[];
  readonly nowMs: () => number;
  /** What the last step answered. */
  readonly effects: () => readonly Effect[];
  /** Requests go in with the next step. */
  readonly request: (request: Request) => void;
  readonly input: (input: Input) => void;
  /** Messages from the station no longer arrive, and commands no longer leave; `isTold`: the client notices. */
  readonly setLink: (up: boolean, isTold?: boolean) => void;
  /** The service dies and comes back after a gap with the state it had saved. */
  readonly powerCut: (gapMs: number) => void;
  /** The service stands still for so long: it goes on with one long step. */
  readonly stall: (forMs: number) => void;
  readonly run: (forMs: number, until?: (coupled: Coupled) => boolean) => boolean;
}

const USUAL_STEP_MS = 5_000;

export function couple(plant: Plant, options: CoupledOptions = {}): Coupled {
  const { seed = 1, faults = [], stepMs = USUAL_STEP_MS, startMinute, keepsLog = true } = options;
  const twin = makeTwin(plant, seed, faults, startMinute === undefined ? {} : { startMinute });
  const log: Happened[] = [];
  let state = initial(plant);
  let effects: readonly Effect[] = [];
  let linked = true;
  let waiting: Input[] = [{ type: 'link', up: true }];
  let asked = 0;

  const act = (): void => {
    for (const effect of effects) {
      if (keepsLog) log.push({ atMs: twin.world.nowMs, effect });
      if (effect.do === 'command' && linked && (options.arrives?.(effect) ?? true))
        twin.command(effect.actuator, effect.on, effect.leaseMs);
      if (effect.do === 'ask') twin.ask(effect.vessel, effect.task);
    }
  };
  const one = (elapsedMs: number): void => {
    twin.advance(elapsedMs);
    const reports = twin.inputs();
    const heard: Input[] = linked ? [...reports, twin.clock(), { type: 'echo' }] : [];
    for (const told of twin.told()) {
      asked += 1;
      heard.push({ type: 'request', id: `person-${asked}`, request: told });
    }
    const inputs = [...(options.hears?.(heard) ?? heard), ...waiting];
    waiting = [];
    const done = step(plant, state, { elapsedMs, inputs, tick: true });
    state = done.state;
    effects = done.effects;
    act();
  };
  const coupled: Coupled = {
    plant,
    twin,
    log,
    state: () => state,
    nowMs: () => twin.world.nowMs,
    effects: () => effects,
    request: (request) => {
      asked += 1;
      waiting.push({ type: 'request', id: `test-${asked}`, request });
    },
    input: (input) => waiting.push(input),
    setLink: (up, isTold = true) => {
      linked = up;
      if (isTold) waiting.push({ type: 'link', up });
    },
    powerCut: (gapMs) => {
      twin.advance(gapMs);
      twin.inputs();
      state = restored(plant, JSON.parse(JSON.stringify(state)), gapMs);
      waiting.push({ type: 'link', up: true });
    },
    stall: (forMs) => one(forMs),
    run: (forMs, until) => {
      for (const endMs = twin.world.nowMs + forMs; twin.world.nowMs < endMs; ) {
        const wantedMs = typeof stepMs === 'number' ? stepMs : stepMs(coupled);
        one(Math.min(wantedMs, endMs - twin.world.nowMs));
        if (until?.(coupled)) return true;
      }
      return false;
    },
  };
  return coupled;
}
