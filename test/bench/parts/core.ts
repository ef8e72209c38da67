// How many input images a second the core takes on one processor, all interlocks on, and what a step allocates; against the
// refill rule alone, written by hand, and against a pure transition of `xstate` on a chart of the same phases.
import type { Event } from '../../../src/control/guard/types.ts';
import { initial } from '../../../src/control/process/initial.ts';
import type { State } from '../../../src/control/process/state.ts';
import { step } from '../../../src/control/step.ts';
import { chart } from '../tools/chart.ts';
import { figure, type Part, ratio } from '../tools/figures.ts';
import { recorded } from '../tools/recorded.ts';
import { MARRAM, plantOf } from '../tools/stations.ts';

const plant = plantOf(MARRAM);

/** The refill rule and nothing else: what somebody would write who has one valve and two contacts. */
function refillRule(): (event: Event) => boolean {
  let on = false;
  const is: Record<string, number | boolean> = {};
  return ({ inputs }) => {
    for (const input of inputs) if (input.type === 'reading') is[input.sensor] = input.value;
    if (is['fresh-high'] === true || is['tray-leak'] === true) on = false;
    else if (Number(is['fresh-level']) < 250) on = true;
    else if (Number(is['fresh-level']) >= 280) on = false;
    return on;
  };
}

function core(): (event: Event) => void {
  let state: State = initial(plant);
  return (event) => {
    state = step(plant, state, event).state;
  };
}

function perSecond(events: readonly Event[], take: (event: Event) => unknown): number {
  const fromMs = performance.now();
  for (const event of events) take(event);
  return (1_000 * events.length) / (performance.now() - fromMs);
}

/** Bytes for each event; the young generation is large enough that nothing is collected meanwhile (see bench.ts). */
function allocated(events: readonly Event[], take: (event: Event) => unknown): number {
  globalThis.gc?.();
  const before = process.memoryUsage().heapUsed;
  for (const event of events) take(event);
  return (process.memoryUsage().heapUsed - before) / events.length;
}

export const measure: Part = async (size) => {
  if (globalThis.gc === undefined) throw new Error('start node with --expose-gc');
  const events: Event[] = [];
  recorded(plant, size === 'whole' ? 1 : 0.5, ({ event }) => events.push(event));
  const repetitions = size === 'whole' ? 11 : 5;
  const rates = { core: [] as number[], rule: [] as number[], chart: [] as number[] };
  // Twice for the compiler, then in turn.
  for (let nth = -2; nth < repetitions; nth++) {
    const now = {
      core: perSecond(events, core()),
      rule: perSecond(events, refillRule()),
      chart: perSecond(events.slice(0, 10_000), chart()),
    };
    if (nth < 0) continue;
    for (const name of ['core', 'rule', 'chart'] as const) rates[name].push(now[name]);
  }
  const few = events.slice(0, 2_000);
  const bytes = Array.from({ length: 5 }, () => allocated(few, core()));
  return {
    figures: {
      'steps-per-second': figure(rates.core, '1/s'),
      'rule-per-second': figure(rates.rule, '1/s'),
      'chart-per-second': figure(rates.chart, '1/s'),
      'by-rule': ratio(rates.core, rates.rule),
      'by-chart': ratio(rates.core, rates.chart),
      'bytes-per-step': figure(bytes, 'B'),
    },
  };
};
