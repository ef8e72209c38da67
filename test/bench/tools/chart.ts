// The same phases as a chart of `xstate`: refill, batch and exchange side by side, moved by what the sensors say. It has the
// phases only: no interlock, no contents, no lease, no alarm. One transition for an input image, as `step()` takes one.
import { assign, initialTransition, setup, transition } from 'xstate';
import type { Event } from '../../../src/control/guard/types.ts';

interface Context {
  readonly readings: Readonly<Record<string, number | boolean>>;
}

type Image = { readonly type: 'image'; readonly event: Event };

const at = (context: Context, sensor: string): number => Number(context.readings[sensor] ?? 0);
const wet = (context: Context, sensor: string): boolean => context.readings[sensor] === true;

const machine = setup({
  types: { context: {} as Context, events: {} as Image },
  actions: {
    read: assign(({ context, event }) => {
      const readings = { ...context.readings };
      for (const input of event.event.inputs) {
        if (input.type === 'reading' && input.live) readings[input.sensor] = input.value;
      }
      return { readings };
    }),
  },
  guards: {
    low: ({ context }) => at(context, 'fresh-level') < 250,
    full: ({ context }) => wet(context, 'fresh-high') || at(context, 'fresh-level') >= 280,
    enough: ({ context }) => at(context, 'fresh-level') > 200 && !wet(context, 'mixing-high'),
    filled: ({ context }) => wet(context, 'mixing-high') || at(context, 'mixing-level') >= 260,
    salted: ({ event }) =>
      event.event.inputs.some((input) => input.type === 'request' && input.request.ask === 'salt-added'),
    within: ({ context }) => Math.abs(at(context, 'mixing-conductivity') - 53) < 0.5,
    below: ({ context }) => at(context, 'mixing-conductivity') <= 52.5,
    warm: ({ context }) => at(context, 'mixing-temperature') >= 25,
    cool: ({ context }) => at(context, 'mixing-temperature') < 24.5,
    spent: ({ context }) => !wet(context, 'mixing-low'),
    due: ({ context }) => wet(context, 'system-low') && !wet(context, 'system-high'),
    drained: ({ context }) => !wet(context, 'system-low'),
    supplied: ({ context }) => wet(context, 'system-high'),
    leak: ({ context }) => wet(context, 'tray-leak') || wet(context, 'sump-leak'),
  },
}).createMachine({
  id: 'station',
  type: 'parallel',
  context: { readings: {} },
  on: { image: { actions: 'read' } },
  states: {
    refill: {
      initial: 'idle',
      states: {
        idle: { on: { image: { guard: 'low', target: 'filling', actions: 'read' } } },
        filling: {
          on: {
            image: [
              { guard: 'leak', target: 'held', actions: 'read' },
              { guard: 'full', target: 'idle', actions: 'read' },
            ],
          },
        },
        held: {},
      },
    },
    batch: {
      initial: 'idle',
      states: {
        idle: { on: { image: { guard: 'enough', target: 'transfer' } } },
        transfer: {
          on: {
            image: [
              { guard: 'leak', target: 'held' },
              { guard: 'filled', target: 'assess' },
            ],
          },
        },
        assess: {
          on: {
            image: [
              { guard: 'within', target: 'measure' },
              { guard: 'below', target: 'salt' },
            ],
          },
        },
        salt: { on: { image: { guard: 'salted', target: 'dissolve' } } },
        dissolve: { on: { image: { guard: 'within', target: 'measure' } } },
        measure: {
          on: {
            image: [
              { guard: 'within', target: 'heat' },
              { guard: 'below', target: 'salt' },
            ],
          },
        },
        heat: { on: { image: { guard: 'warm', target: 'ready' } } },
        ready: {
          on: {
            image: [
              { guard: 'cool', target: 'heat' },
              { guard: 'spent', target: 'idle' },
            ],
          },
        },
        held: {},
      },
    },
    exchange: {
      initial: 'rest',
      states: {
        rest: { on: { image: { guard: 'due', target: 'drain' } } },
        drain: { on: { image: { guard: 'drained', target: 'supply' } } },
        supply: { on: { image: { guard: 'supplied', target: 'rest' } } },
      },
    },
  },
});

/** Takes the images one after the other. */
export function chart(): (event: Event) => void {
  let [snapshot] = initialTransition(machine);
  return (event) => {
    [snapshot] = transition(machine, snapshot, { type: 'image', event });
  };
}
