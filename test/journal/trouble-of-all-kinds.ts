// What may happen to a station, as data: a counterexample prints as what to do by hand.
import fc from 'fast-check';
import type { Input, Request } from '../../src/control/guard/types.ts';
import { BENCH_RIG, type Driven, MARRAM_POINT } from './driven.ts';

export const STATIONS = { 'marram-point': MARRAM_POINT, 'bench-rig': BENCH_RIG } as const;

export type Act =
  | { readonly act: 'run'; readonly steps: number; readonly stepMs: number }
  | { readonly act: 'ask'; readonly request: Request }
  | { readonly act: 'hear'; readonly input: Input }
  /** Somebody else switches the so-manieth actuator. */
  | { readonly act: 'meddle'; readonly which: number; readonly on: boolean | null }
  | { readonly act: 'cut'; readonly gapMs: number }
  | { readonly act: 'restart'; readonly gapMs: number }
  | { readonly act: 'snapshot' }
  | { readonly act: 'set-the-clock'; readonly byMs: number };

const requests: readonly Request[] = [
  { ask: 'start', unit: 'all' },
  { ask: 'hold', unit: 'batch' },
  { ask: 'restart', unit: 'all' },
  { ask: 'stop', unit: 'exchange' },
  { ask: 'abort', unit: 'batch' },
  { ask: 'reset', unit: 'all' },
  { ask: 'acknowledge', alarm: 'all' },
  { ask: 'reset-trip', trip: 'all' },
  { ask: 'salt-added', massKg: 2.5 },
  { ask: 'exchange-now', system: 'system', volumeL: 12 },
  { ask: 'out-of-service', device: 'fresh-high', reason: 'being cleaned' },
  { ask: 'into-service', device: 'fresh-high' },
];

/** Both stations have these sensors. */
const inputs: readonly Input[] = [
  { type: 'link', up: false },
  { type: 'link', up: true },
  { type: 'journal', writable: false },
  { type: 'journal', writable: true },
  { type: 'reading', sensor: 'fresh-high', value: true, live: true },
  { type: 'reading', sensor: 'mixing-low', value: false, live: false },
  { type: 'reading', sensor: 'tray-leak', value: true, live: true },
  { type: 'bad-reading', sensor: 'fresh-low', reason: 'unparsable' },
];

const gapMs = fc.integer({ min: 0, max: 7_200_000 });

export const acts: fc.Arbitrary<Act[]> = fc.array(
  fc.oneof(
    {
      weight: 8,
      arbitrary: fc.record({
        act: fc.constant('run' as const),
        steps: fc.integer({ min: 1, max: 60 }),
        stepMs: fc.constantFrom(0, 1, 250, 1_000, 5_000),
      }),
    },
    {
      weight: 4,
      arbitrary: fc.record({ act: fc.constant('ask' as const), request: fc.constantFrom(...requests) }),
    },
    {
      weight: 4,
      arbitrary: fc.record({ act: fc.constant('hear' as const), input: fc.constantFrom(...inputs) }),
    },
    {
      weight: 1,
      arbitrary: fc.record({
        act: fc.constant('meddle' as const),
        which: fc.nat(20),
        on: fc.constantFrom(true, false, null),
      }),
    },
    { weight: 1, arbitrary: fc.record({ act: fc.constant('cut' as const), gapMs }) },
    { weight: 1, arbitrary: fc.record({ act: fc.constant('restart' as const), gapMs }) },
    { weight: 1, arbitrary: fc.constant({ act: 'snapshot' as const }) },
    {
      weight: 1,
      arbitrary: fc.record({
        act: fc.constant('set-the-clock' as const),
        byMs: fc.integer({ min: -90_000_000, max: 90_000_000 }),
      }),
    },
  ),
  { minLength: 5, maxLength: 40 },
);

export function perform(driven: Driven, doing: Act): void {
  switch (doing.act) {
    case 'run':
      for (let count = 0; count < doing.steps; count++) driven.step(doing.stepMs);
      return;
    case 'ask':
      return driven.request(doing.request);
    case 'hear':
      return driven.input(doing.input);
    case 'meddle': {
      const actuators = Object.keys(driven.twin.plant.actuators);
      const actuator = actuators[doing.which % actuators.length] ?? '';
      return driven.input({ type: 'foreign-command', actuator, on: doing.on, retained: false });
    }
    case 'cut':
      return driven.cut(doing.gapMs);
    case 'restart':
      return driven.restart(doing.gapMs);
    case 'snapshot':
      driven.journal.snapshot();
      return;
    case 'set-the-clock':
      driven.clock.jumpMs += doing.byMs;
  }
}
