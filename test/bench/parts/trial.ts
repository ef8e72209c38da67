// Simulated time: how many seconds of a station go by in one second of `trial`, physics, judges and all, on one processor
// and on two.
import { spawnSync } from 'node:child_process';
import { availableParallelism } from 'node:os';
import { figure, type Part, ratio } from '../tools/figures.ts';
import { MARRAM } from '../tools/stations.ts';

interface Campaign {
  readonly stationHours: number;
  readonly steps: number;
  readonly nights: number;
}

function nights(seeds: number, workers: number): { readonly rate: number; readonly steps: number } {
  const args = ['trial', MARRAM, '--seeds', String(seeds), '--workers', String(workers), '--json'];
  const fromMs = performance.now();
  const { stdout, stderr, error } = spawnSync(process.execPath, ['dist/cli/main.js', ...args], {
    encoding: 'utf8',
    maxBuffer: 1 << 28,
  });
  const seconds = (performance.now() - fromMs) / 1_000;
  if (error !== undefined || stdout === '') throw new Error(`trial: ${error?.message ?? stderr.slice(-500)}`);
  const { stationHours, steps } = JSON.parse(stdout) as Campaign;
  return { rate: (stationHours * 3_600) / seconds, steps: steps / seconds };
}

export const measure: Part = async (size) => {
  const [seeds, repetitions] = size === 'whole' ? [6, 3] : [2, 1];
  const two = Math.min(2, availableParallelism());
  const rates = { one: [] as number[], two: [] as number[], steps: [] as number[] };
  for (let nth = 0; nth < repetitions; nth++) {
    const alone = nights(seeds, 1);
    rates.one.push(alone.rate);
    rates.steps.push(alone.steps);
    rates.two.push(nights(seeds * two, two).rate);
  }
  return {
    figures: {
      'station-seconds-per-second': figure(rates.one, 'x real time'),
      'on-two': figure(rates.two, 'x real time'),
      'two-by-one': ratio(rates.two, rates.one),
      'steps-per-second': figure(rates.steps, '1/s'),
    },
    ...(two < 2 ? { notes: ['This machine has one processor: nothing can be said about two.'] } : {}),
  };
};
