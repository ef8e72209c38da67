// What grows when the work does: a step with more sensors and more routes, opening a journal and drawing its lines with more
// history, and a whole year of it. A slope of 1 is linear.
import { cpSync, existsSync, mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Event } from '../../../src/control/guard/types.ts';
import { initial } from '../../../src/control/process/initial.ts';
import type { State } from '../../../src/control/process/state.ts';
import { step } from '../../../src/control/step.ts';
import { JOURNAL_FILE } from '../../../src/journal/file.ts';
import { openJournal } from '../../../src/journal/journal.ts';
import { orderOf } from '../../../src/journal/order.ts';
import type { Stamp } from '../../../src/journal/stamp.ts';
import type { Plant } from '../../../src/station/plant.ts';
import { couple } from '../../../src/verify/coupled.ts';
import { type Curve, type Figure, figure, type Part, slope } from '../tools/figures.ts';
import { withSensors, withSystems } from '../tools/growing.ts';
import { recorded } from '../tools/recorded.ts';
import { MARRAM, plantOf } from '../tools/stations.ts';

/** Microseconds of a step: the fastest of some runs over the same images, since everything else only adds. */
function stepUs(plant: Plant, runs: number): number {
  const events: Event[] = [];
  recorded(plant, 0.1, ({ event }) => events.push(event));
  const once = (): number => {
    let state: State = initial(plant);
    const fromMs = performance.now();
    for (const event of events) state = step(plant, state, event).state;
    return (1_000 * (performance.now() - fromMs)) / events.length;
  };
  return Math.min(...Array.from({ length: runs }, once));
}

const stampAt = (nowMs: number): Stamp => ({
  computerBoot: 'bench',
  monotonicMs: nowMs,
  wallMs: Date.UTC(2026, 5, 1) + nowMs,
});

/** A journal of so many hours, as the service writes it by the wall clock; station time alone goes by. */
function journalOf(plant: Plant, directory: string, hours: number): void {
  let nowMs = 0;
  const stamp = () => stampAt(nowMs);
  const journal = openJournal(directory, plant, { stamp });
  journal.begin(initial(plant));
  recorded(plant, hours, (taken) => {
    nowMs += taken.event.elapsedMs;
    if (orderOf(taken.effects) === 'first') journal.append(taken);
    else journal.appendLater(taken);
  });
  journal.close();
}

function timedMs(act: () => void): number {
  const fromMs = performance.now();
  act();
  return performance.now() - fromMs;
}

/** Opening with its last state, and the lines of one sensor over all that there is. */
function openedMs(plant: Plant, directory: string) {
  let journal = openJournal(directory, plant);
  const open = [0, 1, 2].map(() => {
    journal.close();
    return timedMs(() => {
      journal = openJournal(directory, plant);
      journal.restore();
    });
  });
  const span = { fromMs: Date.UTC(2026, 5, 1), toMs: Date.UTC(2027, 5, 2) };
  const lines = [0, 1, 2].map(() =>
    timedMs(() => {
      journal.history({ channels: ['contents/fresh', 'contents/mixing'], ...span, points: 500 });
    }),
  );
  journal.close();
  return { open: Math.min(...open), lines: Math.min(...lines) };
}

const YEAR_STEP_MS = 600_000;

/** A year in steps of ten minutes: everything that is kept by time is there, and what is kept by size has its bound. */
function yearOf(plant: Plant, directory: string, days: number): void {
  let nowMs = 0;
  const stamp = () => stampAt(nowMs);
  const journal = openJournal(directory, plant, { stamp });
  const coupled = couple(plant, { stepMs: YEAR_STEP_MS, onEffect: () => {} });
  journal.begin(initial(plant));
  let state: State = initial(plant);
  const inputs = () => [...coupled.twin.inputs(), coupled.twin.clock(), { type: 'echo' } as const];
  journal.appendLater({
    event: { elapsedMs: 0, inputs: [{ type: 'link', up: true }], tick: true },
    effects: [],
    state,
  });
  while (nowMs < days * 86_400_000) {
    coupled.twin.advance(YEAR_STEP_MS);
    nowMs += YEAR_STEP_MS;
    const event: Event = { elapsedMs: YEAR_STEP_MS, inputs: inputs(), tick: true };
    const done = step(plant, state, event);
    state = done.state;
    for (const effect of done.effects)
      if (effect.do === 'command') coupled.twin.command(effect.actuator, effect.on, effect.leaseMs);
    journal.appendLater({ event, effects: done.effects, state });
  }
  journal.close();
}

const curveOf = (
  words: string,
  x: string,
  y: string,
  points: readonly (readonly [number, number])[],
): Curve => ({
  words,
  x: { words: x, values: points.map(([across]) => across) },
  y: { words: y, values: points.map(([, up]) => up) },
});

export const measure: Part = async (size) => {
  const whole = size === 'whole';
  const runs = whole ? 5 : 3;
  const folder = mkdtempSync(join(tmpdir(), 'vatwarden-bench-'));
  try {
    const sensors = [1, 2, 4, 8].map((times) => {
      const plant = withSensors(MARRAM, 22 * times);
      return [Object.keys(plant.sensors).length, stepUs(plant, runs)] as const;
    });
    const routes = [1, 3, 8].map((systems) => {
      const plant = withSystems(MARRAM, systems);
      return [Object.keys(plant.routes).length, stepUs(plant, runs)] as const;
    });
    const plant = plantOf(MARRAM);
    const hours = whole ? [0.2, 0.7, 2] : [0.1, 0.3];
    const history = hours.map((each) => {
      journalOf(plant, join(folder, `history-${each}`), each);
      return [each, openedMs(plant, join(folder, `history-${each}`))] as const;
    });
    const curves = {
      sensors: curveOf('A step against the number of sensors', 'sensors', 'µs for each step', sensors),
      routes: curveOf('A step against the number of routes', 'routes', 'µs for each step', routes),
      history: curveOf(
        'Opening a journal against the hours in it',
        'hours of steps',
        'ms to open and restore',
        history.map(([each, { open }]) => [each, open]),
      ),
      lines: curveOf(
        'The lines of a sensor against the hours in the journal',
        'hours of steps',
        'ms for all lines',
        history.map(([each, { lines }]) => [each, lines]),
      ),
    };
    const figures: Record<string, Figure> = Object.fromEntries(
      Object.entries(curves).map(([name, curve]) => [`${name}-slope`, figure([slope(curve)], '')]),
    );
    if (whole) Object.assign(figures, year(plant, join(folder, 'year')));
    return { figures, curves };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
};

function year(plant: Plant, directory: string): Record<string, Figure> {
  // Written where a flush costs nothing: that is another part's matter, and here there are as many flushes as steps.
  const beside = mkdtempSync(join(existsSync('/dev/shm') ? '/dev/shm' : tmpdir(), 'vatwarden-bench-'));
  try {
    yearOf(plant, beside, 365);
    cpSync(beside, directory, { recursive: true });
  } finally {
    rmSync(beside, { recursive: true, force: true });
  }
  const { open, lines } = openedMs(plant, directory);
  const bytes = statSync(join(directory, JOURNAL_FILE)).size;
  return {
    'year-size': figure([bytes / 2 ** 20], 'MiB'),
    'year-open': figure([open], 'ms'),
    'year-lines': figure([lines], 'ms'),
  };
}
