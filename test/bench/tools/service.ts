// The service as `run` puts it together (bridge, core, state file, journal), for one station or for many in one process.
//
// To measure the way from a wet sensor to `off` more than once a minute, the station can be put back: a word that the
// sensor is dry restores the state in which water was moving. Everything between `wet` and `off` is the real thing.

import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { Bridge } from '../../../src/bridge/bridge.ts';
import type { Core } from '../../../src/bridge/core.ts';
import { keeperOf } from '../../../src/bridge/keeper.ts';
import { machine, stampNow } from '../../../src/bridge/machine.ts';
import { openRecord, record } from '../../../src/cli/record.ts';
import type { Input } from '../../../src/control/guard/types.ts';
import { forgetful, initial, restored } from '../../../src/control/process/initial.ts';
import type { State } from '../../../src/control/process/state.ts';
import { step } from '../../../src/control/step.ts';
import type { Plant } from '../../../src/station/plant.ts';
import { statusOf } from '../../tools/english.ts';
import { answering, optionsGiven } from './children.ts';
import { withSensors } from './growing.ts';
import { movingOn, plantOf, twinOf } from './stations.ts';

export interface ServiceOptions {
  readonly port: number;
  readonly file: string;
  /** Leak sensors are added until the station has so many sensors; none: as the file is. */
  readonly sensors?: number;
  /** More than one: each under a name of its own, `many-1` and so on. */
  readonly stations: number;
  /** Null: nothing is kept. */
  readonly directory: string | null;
  readonly journal: boolean;
  /** Puts the state back, and with it the water on this route, when that contact says no. */
  /** Shorter bounds than the file's, so that a case takes seconds. */
  readonly link?: { readonly provenWithinMs: number; readonly tickWithinMs: number };
  readonly again: { readonly sensor: string; readonly route: string } | null;
}

export interface ServiceFigures {
  /** From sensors. */
  readonly messages: number;
  readonly firstMs: number;
  readonly lastMs: number;
  readonly steps: number;
  readonly inputs: number;
  /** Changes of contacts and feedback that reached the core. */
  readonly contacts: number;
  readonly ticksLateMs: readonly number[];
  readonly up: number;
  /** From a message that the connection handed over to the end of the step that it led to, `off` on its way, µs. */
  readonly insideUs: readonly number[];
  readonly rssBytes: number;
  readonly cpu: NodeJS.CpuUsage;
}

const CORE: Core<State> = { initial, step, restored, forgetful, describe: statusOf };
const silent = { debug: () => {}, info: () => {}, warn: () => {}, error: () => {} };
const { port, file, sensors, stations, directory, journal, again, link } = optionsGiven<ServiceOptions>();

let [messages, firstMs, lastMs, steps, inputs, contacts, up] = [0, 0, 0, 0, 0, 0, 0];
let ticksLateMs: number[] = [];
/** How far the wall clock is off, and how long the disk takes, from a message on. */
let [clockOffMs, diskMs] = [0, 0];
let insideUs: number[] = [];

function backOnDry(moving: State, sensor: string): Core<State> {
  const isDry = (input: Input) =>
    input.type === 'reading' && input.sensor === sensor && input.value === false;
  return {
    ...CORE,
    step: (plant, state, event) => {
      if (!event.inputs.some(isDry)) return step(plant, state, event);
      // On a computer that is behind, the next `wet` may come in the same gulp.
      const rest = event.inputs.slice(event.inputs.findLastIndex(isDry) + 1);
      return rest.length === 0
        ? { state: moving, effects: [] }
        : step(plant, moving, { ...event, inputs: rest });
    },
  };
}

function count(input: Input): void {
  inputs += 1;
  if (input.type === 'reading' && typeof input.value === 'boolean') contacts += 1;
}

function serve(plant: Plant, moving: State | null): void {
  const core = again === null || moving === null ? CORE : backOnDry(moving, again.sensor);
  const state = moving ?? initial(plant);
  const folder = directory === null ? null : join(directory, plant.id);
  if (folder !== null) mkdirSync(folder, { recursive: true });
  const keeper = folder === null ? null : keeperOf(folder, plant, stampNow);
  const bridge = new Bridge<State>({
    plant,
    core,
    state,
    settings: {
      address: { protocol: 'mqtt', host: '127.0.0.1', port, path: '' },
      version: 5,
      clientId: `vatwarden-${plant.id}`,
    },
    time: 'wall',
    boot: 'b0071234',
    machine: { ...machine, date: () => new Date(Date.now() + clockOffMs) },
    chance: Math.random,
    save:
      keeper === null
        ? null
        : async (next) => {
            if (diskMs > 0) await new Promise((resolve) => setTimeout(resolve, diskMs));
            return keeper.save(next);
          },
    clearRetained: false,
    log: silent,
  });
  const sensorTopics = new Set(Object.values(plant.sensors).map(({ topic }) => topic));
  let heardMs: number | null = null;
  bridge.news.subscribe((news) => {
    if (news.news === 'up') up += 1;
    // What the service itself says comes back to it, too, and long after a flood.
    if (news.news !== 'message' || !sensorTopics.has(news.message.topic)) return;
    lastMs = performance.now();
    heardMs ??= lastMs;
    if (messages === 0) firstMs = lastMs;
    messages += 1;
  });
  let tickMs = performance.now();
  bridge.turns.subscribe(({ event, beat, effects }) => {
    steps += 1;
    if (heardMs !== null && effects.some((effect) => effect.do === 'command' && !effect.on))
      insideUs.push(1_000 * (performance.now() - heardMs));
    heardMs = null;
    for (const input of event?.inputs ?? []) count(input);
    if (!beat.tick) return;
    const now = performance.now();
    ticksLateMs.push(now - tickMs - 250);
    tickMs = now;
  });
  if (folder !== null && journal) {
    const failed = (words: string) => process.stderr.write(`${words}\n`);
    record({ plant, state, bridge, journal: openRecord(folder, plant, failed), failed });
  }
  bridge.run().catch((error) => {
    process.stderr.write(`${error.stack}\n`);
    process.exit(1);
  });
}

const asWritten = sensors === undefined ? plantOf(file) : withSensors(file, sensors);
const plant = link === undefined ? asWritten : { ...asWritten, link: { ...asWritten.link, ...link } };
const moving = again === null ? null : movingOn(plant, again.route);
for (let nth = 1; nth <= stations; nth++) {
  serve(stations === 1 ? plant : twinOf(plant, `many-${nth}`), moving);
  // One after the other: a broker takes only so many greetings at once.
  if (nth % 20 === 0) await new Promise((resolve) => setTimeout(resolve, 50));
}

/** The whole process stands still, as on a computer that is short of everything. */
function standStill(ms: number): void {
  for (const endMs = performance.now() + ms; performance.now() < endMs; );
}

answering((message): ServiceFigures => {
  const { ms = 0 } = message as { ms?: number };
  if (message.do === 'stall') standStill(ms);
  if (message.do === 'clock') clockOffMs = ms;
  if (message.do === 'disk') diskMs = ms;
  if (message.do === 'begin') {
    [messages, firstMs, lastMs, steps, inputs, contacts] = [0, 0, 0, 0, 0, 0];
    ticksLateMs = [];
    insideUs = [];
  }
  return {
    messages,
    firstMs,
    lastMs,
    steps,
    inputs,
    contacts,
    ticksLateMs,
    insideUs,
    up,
    rssBytes: process.memoryUsage.rss(),
    cpu: process.cpuUsage(),
  };
});
