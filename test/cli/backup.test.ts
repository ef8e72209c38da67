// A state directory copied while its station runs, lost, put back, and started from; and what `/readyz` says of a memory
// that is not kept.
import {
  copyFileSync,
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { beforeEach, describe, expect, it } from 'vitest';
import { copyJournal } from '../../src/journal/copying.ts';
import { openDatabase } from '../../src/journal/driver.ts';
import { startWater } from '../../src/simulate/station-water.ts';
import { stationPlant, until } from '../bridge/rig.ts';
import { BENCH_RIG, drive, fileIn, newFolder, removeFolders, replayed } from '../journal/driven.ts';
import { embedded, freePort } from '../tools/brokers.ts';
import { type Cli, cli } from '../tools/cli.ts';
import { openedThings } from '../tools/opened.ts';

const STATION = fileURLToPath(new URL('../stations/bench-rig.json', import.meta.url));
const plant = stationPlant('test/stations/bench-rig.json');

const { keep, afterwards } = openedThings();
let directory: string;
beforeEach(() => {
  directory = mkdtempSync(join(tmpdir(), 'vatwarden-backup-'));
  afterwards(() => rmSync(directory, { recursive: true, force: true }));
  afterwards(removeFolders);
});

const backup = async (from: string, to: string) => {
  const one = keep(cli(['backup', from, to]));
  return { code: await one.code, out: one.out(), err: one.err() };
};
const lastStep = (file: string): number => {
  const db = openDatabase(file, { readonly: true });
  try {
    return db.prepare<[], number>('SELECT coalesce(max(seq + count - 1), 0) FROM steps').pluck().get() ?? 0;
  } finally {
    db.close();
  }
};

describe('a journal that is being written', () => {
  it('is copied whole, to the last durable step; the same file copied by hand is behind, and the writer goes on', () => {
    const driven = drive(BENCH_RIG);
    driven.run(600_000);
    driven.journal.flush();
    const written = driven.taken.length;
    const file = fileIn(driven.directory);
    const byHand = join(newFolder(), 'journal.db');
    copyFileSync(file, byHand);
    const copy = join(newFolder(), 'journal.db');
    expect(copyJournal(file, copy).lastStep).toBe(written);
    driven.run(60_000);
    expect(driven.journal.flush()).toEqual({ ok: true });
    expect(lastStep(copy)).toBe(written);
    expect(replayed(copy)).toMatchObject({ difference: null, steps: written });
    // What a plain copy misses stands in the log.
    let missing = 'unreadable';
    try {
      missing = String(written - lastStep(byHand));
    } catch {
      // Not even a table is in it.
    }
    expect(missing).not.toBe('0');
    driven.journal.close();
  });

  it('stays a journal of its version and its station, and can be gone on with', () => {
    const driven = drive(BENCH_RIG);
    driven.run(60_000);
    driven.journal.flush();
    const elsewhere = newFolder();
    copyJournal(fileIn(driven.directory), fileIn(elsewhere));
    driven.journal.close();
    const again = drive(BENCH_RIG, { directory: elsewhere });
    again.run(60_000);
    expect(again.journal.close()).toEqual({ ok: true });
    expect(replayed(fileIn(elsewhere))).toMatchObject({ difference: null });
  });

  it('what is no journal, what is damaged, and a copy that can not be written are named, and nothing is left half done', () => {
    const folder = newFolder();
    writeFileSync(join(folder, 'text'), 'no journal at all');
    expect(() => copyJournal(join(folder, 'text'), join(folder, 'copy'))).toThrow(/text/u);
    const driven = drive(BENCH_RIG);
    driven.run(60_000);
    driven.journal.close();
    const file = fileIn(driven.directory);
    expect(() => copyJournal(file, join(folder, 'nowhere', 'copy'))).toThrow();
    const bytes = readFileSync(file);
    bytes.fill(0xaa, 8192, Math.min(bytes.length, 40_960));
    writeFileSync(file, bytes);
    expect(() => copyJournal(file, join(folder, 'copy'))).toThrow(/damaged|malformed/u);
  });
});

describe('a running station', () => {
  const start = async (port: number, state: string, ...more: string[]): Promise<Cli> => {
    const service = keep(
      cli([
        'run',
        STATION,
        '--broker',
        `mqtt://127.0.0.1:${port}`,
        '--mqtt',
        '3.1.1',
        '--state',
        state,
        ...more,
      ]),
    );
    await until(
      () => service.out().includes('link up'),
      `the link; it said: ${service.out()}${service.err()}`,
      300_000,
    );
    return service;
  };

  it('is backed up while it runs, put back after its directory was lost, and moves nothing before somebody has looked', async () => {
    const broker = keep(await embedded());
    const water = startWater({
      plant,
      broker: `mqtt://127.0.0.1:${broker.port}`,
      mqtt: '3.1.1',
      pace: 'real-time',
    });
    keep({
      close: async () => {
        water.stop();
        await water.done;
      },
    });
    const [state, copy] = [join(directory, 'state'), join(directory, 'copy')];
    const service = await start(broker.port, state, '--panel', '0');
    await until(
      () => existsSync(join(state, 'journal/journal.db')) && lastStep(join(state, 'journal/journal.db')) > 20,
      'steps',
      300_000,
    );
    const made = await backup(state, copy);
    expect([made.code, made.err]).toEqual([0, '']);
    expect(made.out).toMatch(/journal: to step \d+, /u);
    expect(made.out).toContain('whole and on the disk');
    // Who was at home and when is nobody else's business.
    expect(statSync(copy).mode & 0o077).toBe(0);
    expect(readdirSync(copy, { recursive: true }).toSorted()).toEqual(
      expect.arrayContaining(['journal', 'journal/journal.db', 'state.json']),
    );
    expect(readdirSync(copy)).not.toContain('lock');
    const kept = lastStep(join(copy, 'journal/journal.db'));
    // Lost, with everything that happened since.
    service.child.kill('SIGKILL');
    await service.code;
    renameSync(state, `${state}.before`);
    cpSync(copy, state, { recursive: true });
    const again = await start(broker.port, state);
    expect(again.out()).toMatch(
      /the state file comes from a backup of .+, and what has happened since is not known/u,
    );
    expect(again.out()).toContain('nothing moves before somebody has looked at every vat');
    await until(
      () => lastStep(join(state, 'journal/journal.db')) > kept,
      'it writes on behind the old steps',
      300_000,
    );
    again.child.kill('SIGTERM');
    await again.code;
    const replay = keep(cli(['replay', join(state, 'journal/journal.db')]));
    expect([await replay.code, replay.err()]).toEqual([0, '']);
    expect(lastStep(join(state, 'journal/journal.db'))).toBeGreaterThan(kept);
    // Once more, and it is a station like any other.
    const third = await start(broker.port, state);
    expect(third.out()).toContain('went on from the saved state');
  });

  it('never writes over anything, and says what is no state directory', async () => {
    const [state, copy] = [join(directory, 'state'), join(directory, 'copy')];
    mkdirSync(copy);
    mkdirSync(state);
    expect(await backup(state, join(directory, 'other'))).toMatchObject({
      code: 4,
      err: expect.stringContaining('no state directory'),
    });
    writeFileSync(join(state, 'state.json'), '{"version":1}');
    expect(await backup(state, copy)).toMatchObject({
      code: 2,
      err: expect.stringContaining('already there'),
    });
    expect(await backup(join(directory, 'nowhere'), join(directory, 'other'))).toMatchObject({ code: 4 });
    mkdirSync(join(state, 'journal'));
    writeFileSync(join(state, 'journal/journal.db'), 'scribbled over'.repeat(1000));
    expect(await backup(state, join(directory, 'other'))).toMatchObject({ code: 4, out: '' });
    expect(readdirSync(directory).toSorted()).toEqual(['copy', 'state']);
  });

  it('whose journal can not be written is alive and not ready, and says what is missing', async () => {
    const broker = keep(await embedded());
    const [state, port] = [join(directory, 'state'), await freePort()];
    mkdirSync(state);
    writeFileSync(join(state, 'journal'), 'a file where a directory ought to be');
    const service = await start(broker.port, state, '--observe', String(port));
    const ask = async (path: string) => {
      const response = await fetch(`http://127.0.0.1:${port}/${path}`);
      return [response.status, ((await response.json()) as { troubles: unknown }).troubles];
    };
    expect(await ask('healthz')).toEqual([200, []]);
    expect(await ask('readyz')).toEqual([503, ['the journal can not be written: what happens is not kept']]);
    service.child.kill('SIGTERM');
    await service.code;
    rmSync(join(state, 'journal'));
    await start(broker.port, state, '--observe', String(port));
    expect(await ask('readyz')).toEqual([200, []]);
  });
});
