// The service is killed (SIGKILL) at random instants of simulated days, in the middle of a step, and started again. The water
// lives in this process and goes on meanwhile. 12 kills usually; KILLS=500 for the long run.

import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { afterAll, expect, test } from 'vitest';
import type { Input, Request, Task } from '../../src/control/guard/types.ts';
import { openRecording } from '../../src/journal/recording.ts';
import { chance, keyOf } from '../../src/simulate/chance.ts';
import { makeTwin } from '../../src/simulate/twin.ts';
import { verdictOf } from '../../src/simulate/verdict.ts';
import { salinityOf } from '../../src/simulate/world.ts';
import { paceOf } from '../../src/verify/trial/pace.ts';
import { replayed } from '../journal/driven.ts';
import { plantAt } from '../tools/coupled.ts';
import { taskOf } from '../tools/english.ts';

const KILLS = Number(process.env.KILLS ?? 12);
/** In one day, on one journal. */
const A_DAY = 25;
const DAY_MS = 24 * 3_600_000;
const STATION = 'schemas/examples/marram-point.json';

const folders: string[] = [];
const children = new Set<ChildProcess>();
afterAll(() => {
  for (const child of children) child.kill('SIGKILL');
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
});

interface Said {
  readonly command?: { readonly actuator: string; readonly on: boolean; readonly leaseMs: number };
  readonly ask?: { readonly vessel: string; readonly task: Task | null };
  readonly woke?: string | null;
  readonly journal?: string | null;
  readonly begun?: boolean;
  readonly done?: { readonly held: boolean; readonly trips: readonly string[]; readonly batch: string };
}

interface Service {
  /** What it said to an event, up to its end or its own. */
  readonly take: (line: unknown, killAfterMs: number | null) => Promise<readonly Said[]>;
  readonly isDead: () => boolean;
  readonly errors: () => string;
  readonly stop: () => Promise<void>;
}

function serviceIn(directory: string): Service {
  const child = spawn(process.execPath, ['test/verify/service.mjs', STATION, directory]);
  children.add(child);
  let errors = '';
  child.stderr.on('data', (data) => {
    errors += data;
  });
  child.stdin.on('error', () => {});
  const lines = createInterface({ input: child.stdout })[Symbol.asyncIterator]();
  let dead = false;
  child.once('exit', () => {
    dead = true;
    children.delete(child);
  });
  return {
    take: async (line, killAfterMs) => {
      child.stdin.write(`${JSON.stringify(line)}\n`);
      if (killAfterMs === 0) child.kill('SIGKILL');
      else if (killAfterMs !== null) setTimeout(() => child.kill('SIGKILL'), killAfterMs);
      const said: Said[] = [];
      for (;;) {
        const { value, done } = await lines.next();
        if (done) return said;
        const one = JSON.parse(value) as Said;
        said.push(one);
        if (one.done && killAfterMs === null) return said;
      }
    },
    isDead: () => dead,
    errors: () => errors,
    stop: async () => {
      if (dead) return;
      child.kill('SIGKILL');
      await once(child, 'exit');
    },
  };
}

interface Day {
  readonly kills: number;
  readonly deliveredL: number;
  readonly drainedL: number;
  readonly steps: number;
}

/** A day of the station with so many kills. Everything that must hold is expected on the way. */
async function day(seed: number, kills: number): Promise<Day> {
  const plant = plantAt(STATION);
  const directory = mkdtempSync(join(tmpdir(), 'vatwarden-kills-'));
  folders.push(directory);
  const twin = makeTwin(plant, seed);
  const pace = paceOf(plant, () => twin);
  /** When wrong water was first delivered, and how it was: a sum at the end would not say. */
  let offSpec = '';
  const lookAtDelivery = (isServed: boolean): void => {
    const body = twin.world.bodies.mixing;
    if (offSpec !== '' || body === undefined || twin.world.ledger.deliveredOffSpecL === 0) return;
    offSpec = `seed ${seed}, ${nowMs / 1000} s, ${isServed ? 'with' : 'without'} a service: salinity ${salinityOf(body)}, ${body.temperatureC} degC, flows ${JSON.stringify(twin.world.flowLpm)}`;
  };
  const luck = (name: string, nth = 0) => chance(seed, keyOf(name), nth);
  const leaseMs = Math.max(...Object.values(plant.actuators).map((actuator) => actuator.leaseMs));
  // Half of the ends come while something runs, though that is a small part of a day.
  const instants = Array.from({ length: kills }, (_, nth) => DAY_MS * luck('instant', nth)).toSorted(
    (one, other) => one - other,
  );
  let service = serviceIn(directory);
  let nowMs = 0;
  let steps = 0;
  let asked = 0;
  let killed = 0;
  let firstWords = true;
  let waiting: Input[] = [{ type: 'link', up: true }];
  let heldSinceMs: number | null = null;
  const request = (one: Request): void => {
    asked += 1;
    waiting.push({ type: 'request', id: `person-${asked}`, request: one });
  };
  const obey = (said: readonly Said[]): void => {
    for (const { command, ask } of said) {
      if (command) {
        // The first words after waking up are `off` to everything that moves water or heat.
        const isSignal = plant.actuators[command.actuator]?.kind === 'signal';
        if (firstWords && !isSignal) expect(command.on).toBe(false);
        if (twin.isOn(command.actuator) !== command.on) pace.commanded();
        twin.command(command.actuator, command.on, command.leaseMs);
      }
      if (ask) twin.ask(ask.vessel, taskOf(plant, ask.task));
    }
    if (said.some(({ done }) => done)) firstWords = false;
  };
  while (nowMs < DAY_MS) {
    const elapsedMs = pace.stepMs();
    twin.advance(elapsedMs);
    nowMs += elapsedMs;
    lookAtDelivery(true);
    steps += 1;
    const told = twin.told().map((one): Input => {
      asked += 1;
      return { type: 'request', id: `person-${asked}`, request: one };
    });
    const event = {
      elapsedMs: firstWords ? 0 : elapsedMs,
      inputs: [...twin.inputs(), twin.clock(), { type: 'echo' }, ...told, ...waiting],
      tick: true,
    };
    waiting = [];
    const moves = Object.values(twin.world.flowLpm).some((lpm) => lpm > 0);
    const due = killed < kills && nowMs >= (instants[killed] ?? Number.POSITIVE_INFINITY);
    // A due kill waits for water to move, in every second case.
    const kill = due && !firstWords && (killed % 2 === 0 || moves || nowMs > DAY_MS * 0.95);
    const said = await service.take(
      { atMs: nowMs, event },
      kill ? Math.floor(8 * luck('after', killed)) : null,
    );
    expect(service.errors()).toBe('');
    obey(said);
    const end = said.findLast(({ done }) => done)?.done;
    if (end) heldSinceMs = end.held ? (heldSinceMs ?? nowMs) : null;
    if (heldSinceMs !== null && nowMs - heldSinceMs > 10 * 60_000) {
      // What the policy does not let go on by itself, a person does.
      if ((end?.trips.length ?? 0) > 0) request({ ask: 'reset-trip', trip: 'all' });
      request({ ask: 'restart', unit: 'all' });
      heldSinceMs = null;
    }
    if (!kill) {
      for (const { woke, journal, begun } of said)
        if (woke !== undefined) expect([journal, begun]).toEqual([null, true]);
      continue;
    }
    await service.stop();
    killed += 1;
    const gapMs = Math.ceil(leaseMs / 1000 + 60 * luck('gap', killed)) * 1000;
    for (let left = gapMs; left > 0; left -= 1000) {
      twin.advance(1000);
      twin.inputs();
      nowMs += 1000;
      lookAtDelivery(false);
    }
    // Whoever is away for a lease has everything off.
    for (const id of Object.keys(plant.actuators)) expect([id, twin.isOn(id)]).toEqual([id, false]);
    service = serviceIn(directory);
    firstWords = true;
    waiting.push({ type: 'link', up: true });
  }
  await service.stop();
  const { db, close } = openRecording(join(directory, 'journal', 'journal.db'));
  try {
    expect(db.pragma('integrity_check', { simple: true })).toBe('ok');
  } finally {
    close();
  }
  const replay = replayed(join(directory, 'journal', 'journal.db'));
  expect(replay.difference).toBeNull();
  const verdict = verdictOf(twin);
  const { deliveredL, drainedL, deliveredOffSpecL } = twin.world.ledger;
  expect(Object.values(verdict.vessels).map(({ spilledL }) => spilledL)).toEqual(
    Object.values(verdict.vessels).map(() => 0),
  );
  expect(Object.values(twin.world.ledger.pumpDryS).every((seconds) => seconds < 1)).toBe(true);
  expect(deliveredOffSpecL, offSpec).toBe(0);
  // Delivered twice, a step would show: no more came in than went out, but for what a pump moves within one lease.
  const supply = plant.routes.supply;
  const leaseL = ((supply?.flowMostLpm ?? 0) * (supply?.leaseMs ?? 0)) / 60_000;
  expect(deliveredL).toBeLessThanOrEqual(drainedL + leaseL);
  const productKg = twin.world.ledger.productAddedKg.mixing ?? 0;
  expect(productKg).toBeLessThan(1.05 * saltFor(plant.process.batch.contentsL));
  return { kills: killed, deliveredL, drainedL, steps };
}

/** Dry salt for one batch from purified water: 35 g of salt in a litre, at the example's yield. */
const saltFor = (litres: number): number => (litres * 0.0361) / 0.75;

test(
  `killed ${KILLS} times: outputs off within the lease, nothing delivered twice, the journal whole, the replay identical`,
  async () => {
    const days: Day[] = [];
    for (let left = KILLS, seed = 1; left > 0; left -= A_DAY, seed++)
      days.push(await day(seed, Math.min(A_DAY, left)));
    const sum = (of: (one: Day) => number) => days.reduce((total, one) => total + of(one), 0);
    console.log(
      `${sum(({ kills }) => kills)} kills in ${days.length} days of ${sum(({ steps }) => steps)} steps: ` +
        `${sum(({ drainedL }) => drainedL).toFixed(1)} L drained, ${sum(({ deliveredL }) => deliveredL).toFixed(1)} L delivered`,
    );
    expect(sum(({ kills }) => kills)).toBe(KILLS);
    expect(sum(({ deliveredL }) => deliveredL)).toBeGreaterThan(0);
  },
  900_000 + KILLS * 10_000,
);
