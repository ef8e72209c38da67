// A station in memory whose time runs as fast as somebody wants, with its page: what the tests of the page drive.
import { readFileSync } from 'node:fs';
import type { Journal } from '../../src/journal/journal.ts';
import { openTemporary } from '../../src/journal/temporary.ts';
import { type MemorySource, memorySource } from '../../src/panel/memory-source.ts';
import { type Panel, type PanelOptions, startPanel } from '../../src/panel/server.ts';
import { salinityOf } from '../../src/simulate/world.ts';
import { type Coupled, couple, plantAt } from './coupled.ts';

/** A Monday; its minutes of the day are the simulated clock's. */
const MONDAY_MS = Date.UTC(2026, 2, 30);
const STEP_MS = 5_000;

const opened: Journal[] = [];
process.once('exit', () => {
  for (const journal of opened) journal.close();
});

export interface StationOptions {
  readonly file?: string;
  readonly seed?: number;
  readonly faults?: readonly string[];
  /** Told to the page; the water is simulated either way. */
  readonly simulated?: boolean;
  /** How long an answer of the core may take by the wall. */
  readonly answerWithinMs?: number;
}

export interface PanelStation {
  readonly coupled: Coupled;
  readonly source: MemorySource;
  /** What the page asks of the past. */
  readonly journal: Journal;
  /** Moves the station on at once. */
  readonly run: (forMs: number, until?: () => boolean) => boolean;
  /** So many station seconds in each second of the wall, until `stop`. */
  readonly pace: (speed: number) => void;
  readonly stop: () => void;
}

/** Does by hand what the first batch of a station asks: measures the vat when the sheet says so, until the batch stands ready. */
export function untilReady(station: PanelStation, withinMs: number): boolean {
  const { coupled, source, run } = station;
  const isReady = () => coupled.state().batch.stage === 'ready';
  const asks = () => coupled.state().tasks[coupled.plant.mixingId]?.task === 'measure-salinity';
  if (!run(withinMs, () => isReady() || asks())) return false;
  const vessel = coupled.plant.mixingId;
  const body = coupled.twin.world.bodies[vessel];
  if (!isReady() && body !== undefined)
    void source.request({
      ask: 'salinity-measured',
      vessel,
      salinity: salinityOf(body),
      instrument: 'refractometer',
    });
  return run(withinMs, isReady);
}

/** By default nobody is there but whoever uses the page. */
export function panelStation(options: StationOptions = {}): PanelStation {
  const { file = 'schemas/examples/marram-point.json', seed = 1, faults = ['nobody-there:all@0'] } = options;
  const { simulated = true } = options;
  const plant = plantAt(file);
  const coupled = couple(plant, { seed, faults: [...faults], stepMs: STEP_MS });
  const startMs = MONDAY_MS + coupled.twin.works.startMinute * 60_000;
  let nowMs = startMs;
  const stamp = () => ({ computerBoot: null, monotonicMs: nowMs, wallMs: nowMs });
  const journal = openTemporary(plant, { stamp });
  opened.push(journal);
  journal.begin(coupled.state());
  const source = memorySource({
    plant,
    journal,
    state: coupled.state(),
    startMs,
    simulated,
    ...(options.answerWithinMs === undefined ? {} : { answerWithinMs: options.answerWithinMs }),
    send: (id, request) => {
      // Whoever says that salt went in has poured it.
      if (request.ask === 'salt-added')
        coupled.twin.pour(plant.mixingId, request.massKg ?? coupled.state().batch.askedKg);
      coupled.input({ type: 'request', id, request });
    },
  });
  let told = 0;
  const step = (): void => {
    coupled.run(STEP_MS);
    const effects = coupled.log.slice(told).map(({ effect }) => effect);
    told = coupled.log.length;
    nowMs += STEP_MS;
    // What arrived nobody replays here.
    journal.append({
      event: { elapsedMs: STEP_MS, inputs: [], tick: true },
      effects,
      state: coupled.state(),
    });
    source.observe(coupled.state(), effects, STEP_MS);
  };
  let timer: ReturnType<typeof setInterval> | undefined;
  let oweMs = 0;
  return {
    coupled,
    source,
    journal,
    run: (forMs, until) => {
      for (let left = forMs; left > 0; left -= STEP_MS) {
        step();
        if (until?.()) return true;
      }
      return false;
    },
    pace: (speed) => {
      clearInterval(timer);
      const everyMs = 50;
      timer = setInterval(() => {
        oweMs += everyMs * speed;
        for (; oweMs >= STEP_MS; oweMs -= STEP_MS) step();
      }, everyMs);
    },
    stop: () => clearInterval(timer),
  };
}

export function textOfStation(file = 'schemas/examples/marram-point.json'): string {
  return readFileSync(file, 'utf8');
}

/** With its page, on any free port. */
export async function servedStation(
  options: StationOptions & Omit<Partial<PanelOptions>, 'source'> = {},
): Promise<PanelStation & { readonly panel: Panel; readonly close: () => Promise<void> }> {
  const { file, seed, faults, simulated, answerWithinMs, ...rest } = options;
  const station = panelStation({
    ...(file === undefined ? {} : { file }),
    ...(seed === undefined ? {} : { seed }),
    ...(faults === undefined ? {} : { faults }),
    ...(simulated === undefined ? {} : { simulated }),
    ...(answerWithinMs === undefined ? {} : { answerWithinMs }),
  });
  const panel = await startPanel({ port: 0, ...rest, source: station.source });
  return {
    ...station,
    panel,
    close: async () => {
      station.stop();
      await panel.close();
    },
  };
}
