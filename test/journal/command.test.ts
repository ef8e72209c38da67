// The command: once as it is shipped, in a process of its own, and from then on in this one.

import { copyFileSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Command } from 'commander';
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import { addReplay } from '../../src/cli/replay.ts';
import { toldOf } from '../../src/cli/telling.ts';
import type { Effect } from '../../src/control/guard/types.ts';
import { openDatabase } from '../../src/journal/driver.ts';
import type { Story } from '../../src/journal/story.ts';
import { message } from '../../src/language/message.ts';
import { build, type Run, vatwarden as shipped } from '../calc/cli.ts';
import { drive, fileIn, MARRAM_POINT, newFolder, removeFolders, START_MS } from './driven.ts';

/** A transfer pump that loses its strength after ten minutes; a person acknowledges, and resets when it is well again. */
let file: string;

beforeAll(() => {
  build();
  const driven = drive(MARRAM_POINT, { seed: 2, faults: ['weak:transfer-pump=0.1@10min-40min'] });
  driven.run(20 * 60_000, 1_000);
  driven.request({ ask: 'acknowledge', alarm: 'all' });
  driven.run(25 * 60_000, 1_000);
  driven.request({ ask: 'reset-trip', trip: 'I-07/transfer', who: 'Ann', seen: 'the valve was shut' });
  driven.run(60_000, 1_000);
  driven.request({ ask: 'restart', unit: 'all' });
  driven.run(10 * 60_000, 1_000);
  driven.journal.close();
  file = fileIn(driven.directory);
});
afterAll(removeFolders);

afterEach(() => {
  vi.restoreAllMocks();
  process.exitCode = undefined;
});

function vatwarden(args: readonly string[]): Run {
  let [out, err] = ['', ''];
  const program = new Command().exitOverride().configureOutput({ outputError: () => {} });
  addReplay(program);
  const printed = vi.spyOn(process.stdout, 'write').mockImplementation((text) => {
    out += text;
    return true;
  });
  let status: number | null = null;
  try {
    program.parse(args, { from: 'user' });
    status = Number(process.exitCode ?? 0);
  } catch (error) {
    const told = toldOf(error, { name: 'replay', isVerbose: false });
    err += told.text;
    status = told.exit;
  }
  printed.mockRestore();
  process.exitCode = undefined;
  return { status, out, err };
}

const at = (minutes: number): string => new Date(START_MS + minutes * 60_000).toISOString();

describe('vatwarden replay', () => {
  it('says how much it replayed, and that it is identical', () => {
    const { status, out, err } = shipped(['replay', file]);
    expect(err).toBe('');
    expect(out).toMatch(/^Replayed 3360 steps \(1 to 3360, .*\): identical\.\n$/u);
    expect(status).toBe(0);
    expect(JSON.parse(vatwarden(['replay', file, '--json']).out)).toMatchObject({
      verdict: { steps: 3_360, difference: null },
    });
  });

  it('tells with --why what a row saw, what it said, and what came of it, in that order', () => {
    const { status, out } = vatwarden(['replay', file, '--why', 'I-07']);
    expect(status).toBe(0);
    const order = [
      'I-07/transfer (dry running, closed valve, or air; latched) forbade transfer',
      'Check the pump, and whether its inlet is under water',
      'Transfer meter said',
      'L/min by its meter',
      'Fresh vat: between',
      'I-07/transfer forbids Transfer',
      'latched until a person resets it',
      'Transfer pump: off',
      'urgent alarm I-07/transfer',
      'Transfer pump reports off',
      'batch held, transfer',
      'acknowledge all: acknowledged',
      'reset-trip I-07/transfer: reset: 1 of 1. Ann saw: the valve was shut',
      'I-07/transfer no longer forbids anything',
      'identical.',
    ];
    let from = 0;
    for (const words of order) {
      const found = out.indexOf(words, from);
      expect(found, words).toBeGreaterThanOrEqual(from);
      from = found;
    }
    expect(out).not.toContain('I-15');
    expect(out).not.toContain('Sump, high float');
  });

  it('tells of one row among its kind, and says so where it did not speak', () => {
    expect(vatwarden(['replay', file, '--why', 'I-07/transfer']).out).toContain('I-07/transfer forbids');
    const { status, out } = vatwarden(['replay', file, '--why', 'I-07/drain']);
    expect(out).toContain('I-07/drain forbade nothing in this time.');
    expect(status).toBe(0);
  });

  it('tells a stretch of time, and nothing outside it', () => {
    const { out } = vatwarden(['replay', file, '--from', at(9), '--to', at(12), '--json']);
    const { tellings, verdict } = JSON.parse(out) as Story;
    expect(tellings.length).toBeGreaterThan(5);
    expect(
      tellings.every(({ wallMs }) => wallMs >= START_MS + 9 * 60_000 && wallMs <= START_MS + 12 * 60_000),
    ).toBe(true);
    expect(tellings.some(({ words }) => words.startsWith('I-07/transfer forbids'))).toBe(true);
    expect(verdict.difference).toBeNull();
    const quiet = vatwarden(['replay', file, '--from', at(35), '--to', at(35.5)]);
    expect(quiet.out).toContain('Nothing happened in this time.');
  });

  it('shows both sides and the event where the core decides otherwise now, and exits with 1', () => {
    const driven = drive(MARRAM_POINT, { seed: 2 });
    driven.run(60_000, 1_000);
    const effect: Effect = {
      do: 'record',
      about: 'phase',
      words: message('told-before', { what: 'a phase that this release knows nothing of' }),
    };
    const { event } = driven.taken.at(-1) ?? { event: { elapsedMs: 1, inputs: [], tick: true } };
    driven.journal.append({ event, effects: [effect], state: driven.state });
    driven.journal.close();
    const { status, out } = vatwarden(['replay', fileIn(driven.directory)]);
    expect(status).toBe(1);
    expect(out).toMatch(/^Step 61, .*: the effects differ\.\nThe event:\n/u);
    expect(out).toContain('"what": "a phase that this release knows nothing of"');
    expect(out.indexOf('Recorded:')).toBeLessThan(out.indexOf('Replayed:'));
    expect(out).toContain('It was recorded by release test.');
  });

  it('refuses a file that is damaged, with 4, and leaves it as it is', () => {
    const folder = newFolder();
    copyFileSync(file, fileIn(folder));
    const db = openDatabase(fileIn(folder));
    db.exec('DELETE FROM steps WHERE seq = (SELECT seq FROM steps ORDER BY seq LIMIT 1 OFFSET 40)');
    db.close();
    const before = readFileSync(fileIn(folder));
    const { status, out, err } = shipped(['replay', fileIn(folder)]);
    expect(status).toBe(4);
    expect(out).toBe('');
    expect(err).toMatch(
      /^replay: the journal .* is damaged \(step \d+ is missing, the next one there is \d+\)\. /u,
    );
    expect(readFileSync(fileIn(folder)).equals(before)).toBe(true);
  });

  it('refuses a file that is no journal, or is not there, with 4', () => {
    const folder = newFolder();
    writeFileSync(join(folder, 'notes.txt'), 'salt: 8.6 kg');
    const notes = vatwarden(['replay', join(folder, 'notes.txt')]);
    expect([notes.status, notes.out]).toEqual([4, '']);
    const other = openDatabase(join(folder, 'other.db'));
    other.exec('CREATE TABLE recipes (name TEXT)');
    other.close();
    expect(vatwarden(['replay', join(folder, 'other.db')])).toMatchObject({ status: 4 });
    expect(vatwarden(['replay', join(folder, 'other.db')]).err).toContain('is not a journal');
    const missing = vatwarden(['replay', join(folder, 'missing.db')]);
    expect(missing.status).toBe(4);
    expect(missing.err).toContain('there is no file');
  });

  it('refuses a question that makes no sense, with 2, and says what would', () => {
    const wrong = (...args: string[]) => vatwarden(['replay', file, ...args]);
    expect(wrong('--why', 'I-99')).toMatchObject({ status: 2 });
    expect(wrong('--why', 'I-99').err).toMatch(/no interlock 'I-99'; it has .*I-01, .*I-07/u);
    expect(wrong('--from', 'yesterday').err).toContain('write for example 2026-06-01T07:40');
    expect(wrong('--from', '2026-02-31T10:00').status).toBe(2);
    expect(wrong('--from', at(20), '--to', at(10)).err).toContain('is not before');
    expect(wrong('--from', '2031-01-01').err).toContain('nothing is recorded after it');
  });

  it('reads the journal of a service that is running, without standing in its way', () => {
    const driven = drive(MARRAM_POINT, { seed: 4 });
    driven.run(30_000, 1_000);
    driven.journal.flush();
    expect(vatwarden(['replay', fileIn(driven.directory)])).toMatchObject({ status: 0 });
    driven.run(30_000, 1_000);
    expect(driven.journal.flush()).toEqual({ ok: true });
    expect(vatwarden(['replay', fileIn(driven.directory)]).out).toContain('Replayed 60 steps');
    driven.journal.close();
  });
});
