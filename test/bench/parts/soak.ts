// Endurance: a month of a station over a real broker, the service a process of its own in lock step with the water, every
// day with faults drawn from its seed, and a person who puts things right each evening. What must not grow does not:
// memory, handles, the journal; what must agree agrees: hours with the water's own, durations with the days that went by.
// SOAK_DAYS shortens it.
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Status } from '../../../src/control/process/describe.ts';
import { JOURNAL_FILE } from '../../../src/journal/file.ts';
import { openJournal } from '../../../src/journal/journal.ts';
import { LIMITS } from '../../../src/journal/limits.ts';
import type { Fault } from '../../../src/simulate/faults.ts';
import { startWater } from '../../../src/simulate/station-water.ts';
import { verdictOf } from '../../../src/simulate/verdict.ts';
import { isFault } from '../../../src/verify/trial/misfortunes.ts';
import { swarmFor } from '../../../src/verify/trial/swarm.ts';
import { mosquitto } from '../../tools/brokers.ts';
import { clientOf } from '../tools/clients.ts';
import { figure, median, type Part } from '../tools/figures.ts';
import { MARRAM, plantOf } from '../tools/stations.ts';

const plant = plantOf(MARRAM);
const DAY_MS = 86_400_000;
const HOUR_MS = 3_600_000;
/** What a pump of the station moves in one step. */
const STEP_L = 0.6;
/** Faults come by night and in the morning, the person in the evening, and the rest of the day is for work. */
const FAULTS_END_MS = 14 * HOUR_MS;
/** What a person can't wait for and software can't hold belongs to the trials; here the station must go on. */
const LEFT_OUT = ['siphon', 'stuck-on', 'hose-off'];

function faultsOf(days: number): Fault[] {
  return Array.from({ length: days }, (_, day) =>
    swarmFor(plant, day + 1, FAULTS_END_MS)
      .filter(isFault)
      .filter(({ kind }) => !LEFT_OUT.includes(kind))
      .map((fault) => ({ ...fault, fromMs: fault.fromMs + day * DAY_MS, toMs: fault.toMs + day * DAY_MS })),
  ).flat();
}

interface Hour {
  readonly drainedL: number;
  readonly deliveredL: number;
}

interface Sample {
  readonly atMs: number;
  readonly rssMiB: number;
  readonly handles: number;
  readonly journalMiB: number;
}

function sampleOf(pid: number, directory: string, atMs: number): Sample {
  const status = readFileSync(`/proc/${pid}/status`, 'utf8');
  const file = join(directory, 'journal', JOURNAL_FILE);
  return {
    atMs,
    rssMiB: Number(/VmRSS:\s+(\d+)/u.exec(status)?.[1]) / 1_024,
    handles: readdirSync(`/proc/${pid}/fd`).length,
    journalMiB: existsSync(file) ? statSync(file).size / 2 ** 20 : 0,
  };
}

/** The last quarter against the first: a file that is just being written is a handle, too, for a moment. */
function gained(values: readonly number[]): number {
  const quarter = Math.ceil(values.length / 4);
  return Math.round(median(values.slice(-quarter)) - median(values.slice(0, quarter)));
}

/** What grows in a day, by the straight line through the samples. */
function perDay(samples: readonly Sample[], of: (sample: Sample) => number): number {
  const mean = (values: readonly number[]) => values.reduce((a, b) => a + b, 0) / values.length;
  const days = samples.map(({ atMs }) => atMs / DAY_MS);
  const values = samples.map(of);
  const [midX, midY] = [mean(days), mean(values)];
  const up = days.reduce((sum, day, nth) => sum + (day - midX) * ((values[nth] as number) - midY), 0);
  return up / days.reduce((sum, day) => sum + (day - midX) ** 2, 0);
}

export const measure: Part = async () => {
  if (!existsSync('/proc/self/fd')) throw new Error('handles are counted by way of /proc: Linux only');
  const days = Number(process.env.SOAK_DAYS ?? 30);
  const directory = mkdtempSync(join(tmpdir(), 'vatwarden-bench-'));
  const broker = await mosquitto();
  const url = `mqtt://127.0.0.1:${broker.port}`;
  const args = ['dist/cli/main.js', 'run', MARRAM, '--broker', url, '--state', directory, '--time', 'topic'];
  const service = spawn(process.execPath, args, { stdio: ['ignore', 'ignore', 'pipe'] });
  let said = '';
  service.stderr.on('data', (chunk) => {
    said = `${said}${chunk}`.slice(-2_000);
  });
  const pid = service.pid as number;
  const person = await clientOf(broker.port);
  let status: Status | null = null;
  person.on('message', (_, payload) => {
    status = JSON.parse(payload.toString()) as Status;
  });
  await person.subscribeAsync(`vatwarden/${plant.id}/status`, { qos: 1 });

  const faults = faultsOf(Math.ceil(days));
  const samples: Sample[] = [];
  const hours: Hour[] = [];
  let nth = 0;
  const ask = (request: object) => {
    nth += 1;
    const text = JSON.stringify({ id: `evening-${nth}`, ...request });
    person.publish(`vatwarden/${plant.id}/request`, text, { qos: 1 });
  };
  const putRight = (mop: () => void) => {
    mop();
    for (const { row } of (status as Status | null)?.trips.map(({ row }) => ({ row })) ?? [])
      ask({ request: 'reset-trip', trip: row });
    for (const { alarm } of (status as Status | null)?.alarms ?? []) ask({ request: 'acknowledge', alarm });
    ask({ request: 'restart', unit: 'all' });
  };
  try {
    const water = startWater({
      plant,
      broker: url,
      seed: 1,
      faults,
      forMs: Math.round(days * DAY_MS),
      stepMs: 5_000,
      answersWithinMs: 60_000,
      onStep: (_, twin) => {
        const { nowMs } = twin.world;
        if (nowMs % HOUR_MS !== 0) return;
        const { litresMoved } = verdictOf(twin);
        hours.push({ drainedL: litresMoved.drain ?? 0, deliveredL: litresMoved.supply ?? 0 });
        samples.push(sampleOf(pid, directory, nowMs));
        const hour = (nowMs % DAY_MS) / HOUR_MS;
        if (hour === 15 || hour === 16) putRight(() => twin.mop());
      },
    });
    const verdict = await water.done.catch((error) => {
      throw new Error(`${error instanceof Error ? error.message : error}; the service said: ${said}`);
    });
    const exit = once(service, 'exit');
    service.kill('SIGTERM');
    await exit;
    const { state } = JSON.parse(readFileSync(join(directory, 'state.json'), 'utf8'));
    const { sinceStartMs, pendingMs } = state.proofs as { sinceStartMs: number; pendingMs: number };
    const closed = ledgerOf(directory, hours, faults);
    // The first tenth is for warming up.
    const settled = samples.slice(Math.floor(samples.length / 10));
    const rss = settled.map(({ rssMiB }) => rssMiB);
    const handles = settled.map((sample) => sample.handles);
    const growth = perDay(settled, ({ rssMiB }) => rssMiB);
    const mean = rss.reduce((a, b) => a + b, 0) / rss.length;
    const journalMiB = Math.max(...samples.map((sample) => sample.journalMiB));
    return {
      figures: {
        'station-days': figure([days], ''),
        faults: figure([faults.length], ''),
        delivered: figure([verdict.deliveredL], 'L'),
        spilled: figure(
          [Object.values(verdict.vessels).reduce((sum, { spilledL }) => sum + spilledL, 0)],
          'L',
        ),
        memory: figure(rss, 'MiB'),
        'memory-slope': figure([growth / mean], 'of it a day'),
        'handles-gained': figure([gained(handles)], ''),
        journal: figure([journalMiB], 'MiB'),
        'journal-by-bound': figure([(journalMiB * 2 ** 20) / LIMITS.fileBytes], 'x'),
        drift: figure([Math.abs(sinceStartMs + pendingMs - water.twin.world.nowMs)], 'ms'),
        hours: figure([closed.hours], ''),
        'hours-open': figure([closed.open], ''),
      },
      curves: {
        memory: {
          words: 'Memory of the service over the days',
          x: { words: 'days', values: settled.map(({ atMs }) => atMs / DAY_MS) },
          y: { words: 'MiB', values: rss },
        },
      },
      notes: [
        'An hour is held against the water where no fault was at a meter or a level in it or in the hour before: a meter that lies makes a ledger that lies, which is what its row is there to find.',
      ],
    };
  } finally {
    if (service.exitCode === null && service.signalCode === null) service.kill('SIGKILL');
    await person.endAsync(true);
    await broker.close();
    rmSync(directory, { recursive: true, force: true });
  }
};

/** Each hour of the journal's ledger against what truly went through the pipes, within the error that the ledger states. */
function ledgerOf(directory: string, hours: readonly Hour[], faults: readonly Fault[]) {
  const measured = new Set(
    Object.values(plant.sensors).flatMap(({ id, measures }) =>
      measures === 'total' || measures === 'flow' || measures === 'level' ? [id] : [],
    ),
  );
  const isDisturbed = (hour: number) =>
    faults.some(
      ({ what, fromMs, toMs }) =>
        measured.has(what) && fromMs < (hour + 1) * HOUR_MS && toMs > (hour - 1) * HOUR_MS,
    );
  const journal = openJournal(join(directory, 'journal'), plant);
  const entries = journal.ledger({ by: 'hour' });
  journal.close();
  const startHour = 6;
  let [counted, open] = [0, 0];
  hours.forEach((end, nth) => {
    const begin = hours[nth - 1] ?? { drainedL: 0, deliveredL: 0 };
    const at = nth + startHour;
    const entry = entries.find(({ day, hour }) => day === Math.floor(at / 24) && hour === at % 24);
    if (isDisturbed(nth)) return;
    counted += 1;
    const [drainedL, deliveredL] = [end.drainedL - begin.drainedL, end.deliveredL - begin.deliveredL];
    const { errorL = 0.05 } = entry ?? {};
    const off = Math.abs(drainedL - (entry?.drainedL ?? 0)) + Math.abs(deliveredL - (entry?.deliveredL ?? 0));
    // The turn of an hour falls into a step of five seconds: as much may be booked on its other side.
    if (off > 2 * errorL + 2 * STEP_L) open += 1;
  });
  return { hours: counted, open };
}
