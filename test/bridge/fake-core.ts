// A core for trying the bridge: it keeps the fill valve open while the high float is dry, the link is up and a person
// does not ask it to contradict itself. Small enough to be sure of, and nothing like the real one.

import type { Core, Status } from '../../src/bridge/core.ts';
import type { Effect, Input } from '../../src/control/guard/types.ts';
import { englishOf } from '../../src/language/english.ts';
import { message } from '../../src/language/message.ts';
import type { Plant } from '../../src/station/plant.ts';

export interface FakeState {
  readonly isUp: boolean;
  readonly isDry: boolean | null;
  readonly isOn: boolean;
  readonly sinceSentMs: number;
  readonly elapsedMs: number;
  /** Everything that was heard, newest last; echoes and clocks are counted only. */
  readonly heard: readonly Input[];
  readonly echoes: number;
  readonly clocks: number;
  readonly words: string;
}

export const FLOAT = 'fresh-high';
export const VALVE = 'fill';

const FIRST: FakeState = {
  isUp: false,
  isDry: null,
  isOn: false,
  sinceSentMs: 0,
  elapsedMs: 0,
  heard: [],
  echoes: 0,
  clocks: 0,
  words: 'new',
};

export const fakeCore: Core<FakeState> = {
  initial: () => FIRST,
  restored: (_, saved, gapMs) => ({
    ...FIRST,
    heard: saved.heard,
    words: `restored after ${gapMs === null ? 'nobody knows' : 'a while'}`,
  }),
  forgetful: (plant, lost) => ({ ...FIRST, words: englishOf(plant)(lost) }),
  describe: (_, { isOn, words }) => ({ alarms: [], task: null, actuators: {}, isOn, words }) as Status,
  step: (plant, state, { elapsedMs, inputs, tick }) => {
    const next = inputs.reduce(hear, {
      ...state,
      elapsedMs: state.elapsedMs + elapsedMs,
      sinceSentMs: state.sinceSentMs + elapsedMs,
    });
    const { state: after, commands } = commandsOf(plant, next, tick);
    const answers = inputs.flatMap((input): Effect[] =>
      input.type === 'request'
        ? [
            {
              do: 'answer',
              request: input.id,
              accepted: true,
              words: message('told-before', { what: input.request.ask }),
            },
          ]
        : [],
    );
    return { state: after, effects: [...commands, ...answers] };
  },
};

function hear(state: FakeState, input: Input): FakeState {
  if (input.type === 'echo') return { ...state, echoes: state.echoes + 1 };
  if (input.type === 'clock') return { ...state, clocks: state.clocks + 1 };
  if (input.type === 'request' && input.request.ask === 'abort')
    throw new Error('the core contradicts itself');
  const heard = [...state.heard, input].slice(-500);
  if (input.type === 'link') return { ...state, heard, isUp: input.up, isDry: input.up ? state.isDry : null };
  if (input.type === 'reading' && input.sensor === FLOAT && input.live)
    return { ...state, heard, isDry: input.value === false };
  if (input.type === 'bad-reading' && input.sensor === FLOAT) return { ...state, heard, isDry: null };
  return { ...state, heard };
}

function commandsOf(
  plant: Plant,
  state: FakeState,
  tick: boolean,
): { state: FakeState; commands: readonly Effect[] } {
  const leaseMs = plant.actuators[VALVE]?.leaseMs ?? 0;
  const isWanted = state.isUp && state.isDry === true;
  if (!isWanted && state.isOn) {
    return {
      state: { ...state, isOn: false },
      commands: [{ do: 'command', actuator: VALVE, on: false, leaseMs: 0 }],
    };
  }
  if (isWanted && tick && (!state.isOn || state.sinceSentMs >= leaseMs / 3)) {
    return {
      state: { ...state, isOn: true, sinceSentMs: 0 },
      commands: [{ do: 'command', actuator: VALVE, on: true, leaseMs }],
    };
  }
  return { state, commands: [] };
}
