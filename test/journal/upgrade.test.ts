// A journal of version 1, as that version wrote it: rows without a digest, no samples, no proof tests.
import { readFileSync } from 'node:fs';
import { afterEach, describe, expect, it } from 'vitest';
import type { Effect, Event } from '../../src/control/guard/types.ts';
import { initial } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import { step } from '../../src/control/step.ts';
import { type Database, openDatabase } from '../../src/journal/driver.ts';
import { openJournal } from '../../src/journal/journal.ts';
import {
  chainOf,
  dictionaryOf,
  digestOf,
  foldSteps,
  foldText,
  hashOf,
  plantText,
  textOf,
} from '../../src/journal/packing.ts';
import { startSum } from '../../src/journal/reading.ts';
import { upgrade, VERSION, versionOf } from '../../src/journal/schema.ts';
import { makeTwin } from '../../src/simulate/twin.ts';
import { BENCH_RIG, fileIn, newFolder, removeFolders, replayed, START_MS } from './driven.ts';

afterEach(removeFolders);

interface Old {
  readonly directory: string;
  readonly state: State;
  readonly effects: readonly (readonly Effect[])[];
}

function version1(): Old {
  const directory = newFolder();
  const db = openDatabase(fileIn(directory));
  db.pragma('journal_mode = WAL');
  upgrade(db, 1);
  db.prepare('INSERT INTO station VALUES (?, ?)').run(BENCH_RIG.id, BENCH_RIG.name);
  const begun = begin(db);
  const twin = makeTwin(BENCH_RIG, 4);
  const effects: (readonly Effect[])[] = [];
  let { state, chain } = begun;
  for (let seq = 1; seq <= 200; seq++) {
    twin.advance(500);
    const link: Event['inputs'] = seq === 1 ? [{ type: 'link', up: true }] : [];
    const event: Event = {
      elapsedMs: 500,
      inputs: [...twin.inputs(), { type: 'echo' }, ...link],
      tick: true,
    };
    const done = step(BENCH_RIG, state, event);
    state = done.state;
    effects.push(done.effects);
    for (const effect of done.effects)
      if (effect.do === 'command') twin.command(effect.actuator, effect.on, effect.leaseMs);
    const [wall, mono] = [START_MS + seq * 500, seq * 500];
    const body = foldSteps([textOf({ event, effects: done.effects })], dictionaryOf(BENCH_RIG));
    chain = chainOf(chain, [seq, 1, 1, wall, mono], body);
    db.prepare('INSERT INTO steps VALUES (?, 1, 1, ?, ?, ?, ?)').run(seq, wall, mono, chain, body);
  }
  db.prepare("INSERT INTO records (seq, wall, about, words) VALUES (7, ?, 'phase', 'batch running')").run(
    START_MS,
  );
  db.close();
  return { directory, state, effects };
}

function begin(db: Database): { state: State; chain: number } {
  const text = plantText(BENCH_RIG);
  const hash = hashOf(text);
  const folded = foldText(dictionaryOf(BENCH_RIG).toString('utf8'));
  db.prepare('INSERT INTO plants VALUES (?, ?, ?)').run(hash, foldText(text), folded);
  const stamp = { computerBoot: null, monotonicMs: 0, wallMs: START_MS };
  const start = {
    id: 1,
    step: 1,
    stamp,
    cause: 'first',
    gapMs: null,
    words: '',
    software: '0',
    stationHash: hash,
  } as const;
  const sum = startSum({ ...start, plantHash: hash });
  db.prepare("INSERT INTO starts VALUES (1, 1, ?, 0, NULL, 'first', NULL, '', '0', ?, ?, ?, NULL)").run(
    START_MS,
    hash,
    hash,
    sum,
  );
  const state = initial(BENCH_RIG);
  db.prepare('INSERT INTO snapshots VALUES (1, 1, ?, 0, 0, ?, ?)').run(
    START_MS,
    digestOf(state),
    foldText(JSON.stringify(state)),
  );
  return { state, chain: 0 };
}

describe('a journal of version 1', () => {
  it('is opened, goes on in the present version, and forgets nothing', () => {
    const { directory, state } = version1();
    const journal = openJournal(directory, BENCH_RIG);
    expect(journal.words).toBeNull();
    expect(journal.restore()?.state).toEqual(state);
    expect(journal.records()).toMatchObject([
      { step: 7, about: 'phase', words: { id: 'told-before', values: { what: 'batch running' } } },
    ]);
    expect(journal.begin(state)).toEqual({ ok: true });
    const event: Event = { elapsedMs: 500, inputs: [], tick: true };
    const done = step(BENCH_RIG, state, event);
    expect(journal.append({ event, ...done })).toEqual({ ok: true });
    expect(journal.addProofTest({ row: 'I-02/fresh', who: 'one', passed: false, words: 'stuck' })).toEqual({
      ok: true,
    });
    expect(journal.close()).toEqual({ ok: true });
    const db = openDatabase(fileIn(directory), { readonly: true });
    expect(versionOf(db)).toBe(VERSION);
    db.close();
    expect(replayed(fileIn(directory))).toMatchObject({ difference: null, steps: 201, starts: 2 });
  });

  it('is replayed as it is, from a copy, and the file itself stays of version 1', () => {
    const { directory, effects } = version1();
    const before = readFileSync(fileIn(directory));
    const seen: unknown[] = [];
    expect(replayed(fileIn(directory), {}, (taken) => seen.push(taken.effects)).difference).toBeNull();
    expect(seen).toEqual(effects);
    expect(readFileSync(fileIn(directory)).equals(before)).toBe(true);
  });

  it('stays whole and of version 1 when the way to the present version fails in the middle', () => {
    const { directory } = version1();
    const db = openDatabase(fileIn(directory));
    // In the way of a table of version 2, after others of its changes.
    db.exec('CREATE TABLE proof_tests (id INTEGER)');
    expect(() => upgrade(db)).toThrow('already exists');
    expect(versionOf(db)).toBe(1);
    const tables = db.prepare("SELECT name FROM sqlite_schema WHERE type = 'table'").pluck().all();
    expect(tables).not.toContain('channels');
    expect(db.prepare('SELECT count(*) FROM steps').pluck().get()).toBe(200);
    db.exec('DROP TABLE proof_tests');
    db.close();
    const journal = openJournal(directory, BENCH_RIG);
    expect(journal.restore()).not.toBeNull();
    journal.close();
  });

  it('has the same tables after the upgrade as a journal that was new', () => {
    const { directory } = version1();
    openJournal(directory, BENCH_RIG).close();
    const fresh = newFolder();
    openJournal(fresh, BENCH_RIG).close();
    const tablesOf = (file: string) => {
      const db = openDatabase(file, { readonly: true });
      const found = db.prepare('SELECT name, sql FROM sqlite_schema ORDER BY name').all();
      db.close();
      return found;
    };
    expect(tablesOf(fileIn(directory))).toEqual(tablesOf(fileIn(fresh)));
  });
});
