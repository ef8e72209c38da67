// The process is killed (SIGKILL) at random instants while it writes. 20 times usually; JOURNAL_KILLS=500 for the long run.
import { spawn } from 'node:child_process';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { endOf } from '../../src/journal/reading.ts';
import { openRecording } from '../../src/journal/recording.ts';
import { fileIn, newFolder, removeFolders, replayed } from './driven.ts';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const KILLS = Number(process.env.JOURNAL_KILLS ?? 20);
/** Kills in a row on one journal; then it is replayed from its beginning, across all of them. */
const IN_A_ROW = 10;

afterAll(removeFolders);

interface Death {
  /** Steps of this run that were said to be durable before the end. */
  readonly durable: number;
  readonly hadBegun: boolean;
  readonly words: readonly string[];
  readonly errors: string;
}

/** Runs the appender, and kills it some ms after it began to write, or after it was started. */
function killOnce(folder: string, seed: number, afterMs: number, fromBegin: boolean): Promise<Death> {
  const station = join(ROOT, 'test/stations/bench-rig.json');
  const args = [join(ROOT, 'test/journal/appender.mjs'), join(ROOT, 'dist'), station, folder, String(seed)];
  const child = spawn(process.execPath, args, { stdio: ['ignore', 'pipe', 'pipe'] });
  let out = '';
  let errors = '';
  const kill = () => setTimeout(() => child.kill('SIGKILL'), afterMs);
  if (!fromBegin) kill();
  child.stdout.setEncoding('utf8').on('data', (data: string) => {
    const isFirst = fromBegin && !out.includes('begun') && (out + data).includes('begun');
    out += data;
    if (isFirst) kill();
  });
  child.stderr.setEncoding('utf8').on('data', (data: string) => {
    errors += data;
  });
  return new Promise((resolve, reject) => {
    child.on('error', reject);
    child.on('close', () => {
      const lines = out.split('\n').slice(0, -1);
      const durable = lines.findLast((line) => line.startsWith('durable '));
      resolve({
        durable: Number(durable?.slice('durable '.length) ?? 0),
        hadBegun: lines.includes('begun'),
        words: lines.filter((line) => line.startsWith('words ')),
        errors,
      });
    });
  });
}

function stepsIn(file: string): number {
  const { db, close } = openRecording(file);
  try {
    expect(db.pragma('integrity_check', { simple: true })).toBe('ok');
    return endOf(db).step - 1;
  } finally {
    close();
  }
}

describe('a journal whose service is killed while it writes', () => {
  it(
    `is whole every time in ${KILLS}, holds every step that was called durable, and replays identically`,
    async () => {
      let written = 0;
      let begun = 0;
      for (let from = 0; from < KILLS; from += IN_A_ROW) {
        const folder = newFolder();
        let before = 0;
        for (let kill = from; kill < Math.min(KILLS, from + IN_A_ROW); kill++) {
          // One in ten dies while it starts: opening, restoring, beginning.
          const whileStarting = kill % IN_A_ROW === 9;
          const afterMs = Math.random() * (whileStarting ? 400 : 150);
          const death = await killOnce(folder, kill + 1, afterMs, !whileStarting);
          expect(death.errors).toBe('');
          expect(death.words).toEqual([]);
          if (death.hadBegun) begun += 1;
          const steps = stepsIn(fileIn(folder));
          expect(steps).toBeGreaterThanOrEqual(before + death.durable);
          before = steps;
        }
        const verdict = replayed(fileIn(folder));
        expect(verdict.difference).toBeNull();
        expect(verdict.steps).toBe(before);
        written += before;
      }
      console.log(`${KILLS} kills, ${begun} while writing, ${written} steps survived`);
      expect(written).toBeGreaterThan(KILLS);
    },
    KILLS * 4_000,
  );
});
