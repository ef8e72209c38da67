// A station that runs in memory with a journal beside it: the real core, the simulated water, random trouble, and a clock
// that only this file moves.

import { copyFileSync, existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Effect, Event, Input, Request } from '../../src/control/guard/types.ts';
import { initial, restored } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import { step } from '../../src/control/step.ts';
import type { Journal, JournalOptions } from '../../src/journal/journal.ts';
import { openJournal } from '../../src/journal/journal.ts';
import { orderOf } from '../../src/journal/order.ts';
import { openRecording } from '../../src/journal/recording.ts';
import { type Part, type Replayed, replay, type Verdict } from '../../src/journal/replay.ts';
import type { Stamp } from '../../src/journal/stamp.ts';
import type { Written } from '../../src/journal/trouble.ts';
import { makeTwin, type Twin } from '../../src/simulate/twin.ts';
import { loadStation } from '../../src/station/load.ts';
import type { Plant } from '../../src/station/plant.ts';
import { taskOf } from '../tools/english.ts';

export function plantOfFile(path: string): Plant {
  const text = readFileSync(new URL(`../../${path}`, import.meta.url), 'utf8');
  const loaded = loadStation(path, text);
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.errors));
  return loaded.plant;
}

export const MARRAM_POINT = plantOfFile('schemas/examples/marram-point.json');
export const BENCH_RIG = plantOfFile('test/stations/bench-rig.json');

const folders: string[] = [];

export function newFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'vatwarden-journal-'));
  folders.push(folder);
  return folder;
}

export function removeFolders(): void {
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true });
}

/** 2026-06-01 06:00 UTC: an hour that begins, so that hours are easy to count. */
export const START_MS = Date.UTC(2026, 5, 1, 6);

/** Both clocks start together; `jump` moves the wall clock alone. */
export interface HandClock {
  nowMs: number;
  jumpMs: number;
  boot: string;
  readonly stamp: () => Stamp;
}

export function handClock(): HandClock {
  const clock: HandClock = {
    nowMs: 0,
    jumpMs: 0,
    boot: 'boot-1',
    stamp: () => ({
      computerBoot: clock.boot,
      monotonicMs: 1_000 + clock.nowMs,
      wallMs: START_MS + clock.nowMs + clock.jumpMs,
    }),
  };
  return clock;
}

export interface Driven {
  /** A cut moves it to another folder. */
  readonly directory: string;
  readonly journal: Journal;
  readonly clock: HandClock;
  readonly twin: Twin;
  readonly state: State;
  readonly taken: readonly { event: Event; effects: readonly Effect[] }[];
  readonly request: (request: Request) => void;
  readonly input: (input: Input) => void;
  /** One step of the water, then the core, then the journal as the bridge would call it. */
  readonly step: (elapsedMs: number) => Written;
  readonly run: (forMs: number, stepMs?: number) => void;
  /** As if the process had gone: nothing that waits is written. Then back with what the journal knows. */
  readonly cut: (gapMs: number) => void;
  /** Closed in good order, and back. */
  readonly restart: (gapMs: number) => void;
}

export interface DrivenOptions extends JournalOptions {
  readonly seed?: number;
  readonly faults?: readonly string[];
  readonly directory?: string;
}

export function drive(plant: Plant, options: DrivenOptions = {}): Driven {
  const { seed = 1, faults = [], directory: first = newFolder(), ...rest } = options;
  const clock = handClock();
  const twin = makeTwin(plant, seed, faults);
  const open = (directory: string) =>
    openJournal(directory, plant, { stamp: clock.stamp, software: 'test', ...rest });
  const driven = {
    directory: first,
    journal: open(first),
    clock,
    twin,
    state: initial(plant),
    taken: [] as { event: Event; effects: readonly Effect[] }[],
  };
  let waiting: Input[] = [{ type: 'link', up: true }];
  let asked = 0;
  const nextId = (): number => {
    asked += 1;
    return asked;
  };
  driven.journal.begin(driven.state);

  const wake = (): void => {
    driven.journal = open(driven.directory);
    const saved = driven.journal.restore();
    driven.state = saved === null ? initial(plant) : restored(plant, saved.state, saved.gapMs);
    driven.journal.begin(driven.state);
    waiting = [{ type: 'link', up: true }];
  };
  const pass = (gapMs: number): void => {
    clock.nowMs += gapMs;
    twin.advance(gapMs);
    twin.inputs();
  };
  return Object.assign(driven, {
    request: (request: Request) => waiting.push({ type: 'request', id: `test-${nextId()}`, request }),
    input: (input: Input) => waiting.push(input),
    step: (elapsedMs: number): Written => {
      twin.advance(elapsedMs);
      clock.nowMs += elapsedMs;
      const told = twin
        .told()
        .map((request): Input => ({ type: 'request', id: `person-${nextId()}`, request }));
      const inputs: Input[] = [...twin.inputs(), { type: 'echo' }, twin.clock(), ...told, ...waiting];
      waiting = [];
      const event: Event = { elapsedMs, inputs, tick: true };
      const { state, effects } = step(plant, driven.state, event);
      driven.state = state;
      driven.taken.push({ event, effects });
      for (const effect of effects) {
        if (effect.do === 'command') twin.command(effect.actuator, effect.on, effect.leaseMs);
        if (effect.do === 'ask') twin.ask(effect.vessel, taskOf(plant, effect.task));
      }
      const taken = { event, effects, state };
      return orderOf(effects) === 'later' ? driven.journal.appendLater(taken) : driven.journal.append(taken);
    },
    run(this: Driven, forMs: number, stepMs = 5_000) {
      for (let passedMs = 0; passedMs < forMs; passedMs += stepMs) this.step(stepMs);
    },
    cut: (gapMs: number) => {
      const after = newFolder();
      copyFiles(driven.directory, after);
      driven.journal.close();
      driven.directory = after;
      pass(gapMs);
      wake();
    },
    restart: (gapMs: number) => {
      driven.journal.close();
      pass(gapMs);
      wake();
    },
  });
}

/** The file as the last commit left it, with the log that a dead process leaves beside it. */
export function copyFiles(from: string, to: string): void {
  for (const name of ['journal.db', 'journal.db-wal'])
    if (existsSync(join(from, name))) copyFileSync(join(from, name), join(to, name));
}

/** Replays a file. */
export function replayed(file: string, part: Part = {}, look: (taken: Replayed) => void = () => {}): Verdict {
  const recording = openRecording(file);
  try {
    return replay(recording, part, look);
  } finally {
    recording.close();
  }
}

export const fileIn = (directory: string): string => join(directory, 'journal.db');
