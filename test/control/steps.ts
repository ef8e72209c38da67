// Takes a state of the core on, step by step, over a proven link: for tests that need more than one step and no water.
import type { Effect, Input, Request } from '../../src/control/guard/types.ts';
import type { State } from '../../src/control/process/state.ts';
import { step } from '../../src/control/step.ts';
import type { Plant } from '../../src/station/plant.ts';
import { say } from '../tools/english.ts';

export interface Walk {
  state: State;
  readonly effects: Effect[];
  /** One step of so long, with these inputs; everything that was fresh stays it. */
  readonly go: (inputs?: readonly Input[], elapsedMs?: number) => readonly Effect[];
  /** So many steps of a second. */
  readonly wait: (seconds: number) => void;
  /** @returns the words of the answer, behind `refused: ` where it was */
  readonly ask: (request: Request) => string;
  readonly says: (sensor: string, value: boolean) => void;
}

export function walk(plant: Plant, from: State): Walk {
  const refreshed = (state: State): Input[] => [
    { type: 'echo' },
    ...Object.entries(state.sensors).flatMap(([sensor, { value, live }]): Input[] =>
      live && value !== null ? [{ type: 'reading', sensor, value, live: true }] : [],
    ),
    ...Object.keys(state.devices).flatMap((actuator): Input[] =>
      plant.actuators[actuator]?.feedback
        ? [{ type: 'feedback', actuator, on: state.devices[actuator]?.on ?? false, live: true }]
        : [],
    ),
  ];
  const self: Walk = {
    state: from,
    effects: [],
    go: (inputs = [], elapsedMs = 1_000) => {
      const all = [...refreshed(self.state), ...inputs];
      const done = step(plant, self.state, { elapsedMs, inputs: all, tick: true });
      self.state = done.state;
      self.effects.push(...done.effects);
      return done.effects;
    },
    wait: (seconds) => {
      for (let i = 0; i < seconds; i += 1) self.go();
    },
    ask: (request) => {
      const effects = self.go([{ type: 'request', id: 'test', request }]);
      const given = effects.find((effect) => effect.do === 'answer');
      if (given?.do !== 'answer') throw new Error('no answer');
      const words = say(given.words, plant);
      return given.accepted ? words : `refused: ${words}`;
    },
    says: (sensor, value) => void self.go([{ type: 'reading', sensor, value, live: true }]),
  };
  return self;
}
