// The journal of a service that keeps none: bounded while it runs, and gone with it.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { openRecord } from '../../src/cli/record.ts';
import type { Effect } from '../../src/control/guard/types.ts';
import { initial } from '../../src/control/process/initial.ts';
import { openDatabase } from '../../src/journal/driver.ts';
import { LIMITS, SPANS } from '../../src/journal/limits.ts';
import { lookInto } from '../../src/journal/looking.ts';
import { openTemporary } from '../../src/journal/temporary.ts';
import { message } from '../../src/language/message.ts';
import { BENCH_RIG, START_MS } from './driven.ts';

const STATE = initial(BENCH_RIG);
const ALARM: Effect = {
  do: 'alarm',
  alarm: 'A-01',
  state: 'unacknowledged',
  priority: 'soon',
  words: message('task-done'),
  response: message('task-done'),
};

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'vatwarden-test-'));
  vi.stubEnv('TMPDIR', folder);
});
afterEach(() => {
  vi.unstubAllEnvs();
  rmSync(folder, { recursive: true, force: true });
});

describe('a temporary journal', () => {
  /** Steps of 5 s: each brings a moment, so that those come as fast as they can. */
  function filled(steps: number) {
    let nowMs = START_MS;
    const stamp = () => ({ computerBoot: null, monotonicMs: nowMs, wallMs: nowMs });
    const journal = openTemporary(BENCH_RIG, { stamp });
    journal.begin(STATE);
    const event = { elapsedMs: SPANS.moment, inputs: [], tick: true };
    for (let count = 0; count < steps; count += 1) {
      nowMs += SPANS.moment;
      expect(journal.appendLater({ event, effects: [ALARM], state: STATE })).toEqual({ ok: true });
    }
    expect(journal.flush()).toEqual({ ok: true });
    return journal;
  }

  it('keeps no steps, and no more moments than its bound and what comes between two snapshots', () => {
    const steps = LIMITS.moments + 5 * LIMITS.snapshotSteps;
    const journal = filled(steps);
    const db = openDatabase(journal.file, { readonly: true });
    const count = (what: string) => db.prepare<[], number>(`SELECT count(*) FROM ${what}`).pluck().get() ?? 0;
    expect([count('steps'), count('snapshots'), count('starts')]).toEqual([0, 1, 1]);
    expect(count('alarms')).toBe(steps);
    const moments = count(`samples WHERE span = ${SPANS.moment}`);
    expect(moments).toBeGreaterThanOrEqual(LIMITS.moments);
    expect(moments).toBeLessThanOrEqual(LIMITS.moments + LIMITS.snapshotSteps + LIMITS.laterSteps);
    db.close();
    journal.close();
  }, 120_000);

  it('can be looked into, and takes its folder along when it is closed', () => {
    const journal = filled(3);
    expect(dirname(dirname(journal.file))).toBe(folder);
    const looking = lookInto(journal.file);
    expect(looking.alarms()).toHaveLength(3);
    looking.close();
    expect(journal.close()).toEqual({ ok: true });
    expect(readdirSync(folder)).toEqual([]);
  });

  it('goes with a process that ends without closing it', () => {
    const script = `
      import { openTemporary } from './src/journal/temporary.ts';
      import { BENCH_RIG } from './test/journal/driven.ts';
      console.log(openTemporary(BENCH_RIG).file);
      process.exit(3);`;
    const ended = spawnSync(
      process.execPath,
      ['--import', './test/bench/tools/typescript.mjs', '--input-type=module', '-e', script],
      { encoding: 'utf8', env: { ...process.env, TMPDIR: folder } },
    );
    expect(ended.status, ended.stderr).toBe(3);
    expect(ended.stdout).toContain(folder);
    expect(readdirSync(folder)).toEqual([]);
  }, 120_000);

  it('that has no place is said in words with a way out, and nothing fails over it', () => {
    const nowhere = join(folder, 'nowhere');
    vi.stubEnv('TMPDIR', nowhere);
    const said: string[] = [];
    expect(openRecord(null, BENCH_RIG, (words) => said.push(words))).toBeNull();
    expect(said).toHaveLength(1);
    expect(said[0]).toContain(nowhere);
    expect(said[0]).toMatch(/The page has no past to show \[E-41\d\]\.$/u);
    expect(existsSync(nowhere)).toBe(false);
  });
});

describe('a note', () => {
  it('stands among the records, in the order of the steps, from the next commit on', () => {
    const journal = openTemporary(BENCH_RIG);
    expect(() => journal.note('service', message('targets-changed'))).toThrow('begun with a state');
    journal.begin(STATE);
    const event = { elapsedMs: 100, inputs: [], tick: true };
    journal.append({
      event,
      effects: [{ do: 'record', about: 'phase', words: message('task-done') }],
      state: STATE,
    });
    journal.note('service', message('salt-counted', { massKg: 40 }));
    expect(journal.records()).toHaveLength(1);
    journal.append({
      event,
      effects: [{ do: 'record', about: 'phase', words: message('task-done') }],
      state: STATE,
    });
    const records = journal.records();
    expect(records.map(({ about }) => about)).toEqual(['phase', 'service', 'phase']);
    expect(records[1]?.words).toEqual(message('salt-counted', { massKg: 40 }));
    const steps = records.map(({ step }) => step);
    expect(steps).toEqual(steps.toSorted((a, b) => b - a));
    journal.close();
  });
});
