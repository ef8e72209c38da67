import {
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { hostname, tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { cautious } from '../../src/bridge/core.ts';
import { gapOf, hashOf, keeperOf, type Stamp } from '../../src/bridge/keeper.ts';
import { LIMITS } from '../../src/bridge/limits.ts';
import { computerBoot, LockError, lockDirectory } from '../../src/bridge/lock.ts';
import { wakeUp } from '../../src/bridge/wake-up.ts';
import { type FakeState, fakeCore } from './fake-core.ts';
import { plant } from './rig.ts';

let directory: string;
beforeEach(() => {
  directory = mkdtempSync(join(tmpdir(), 'vatwarden-state-'));
});
afterEach(() => {
  rmSync(directory, { recursive: true, force: true });
});

const noon: Stamp = { computerBoot: 'boot-1', monotonicMs: 5000, wallMs: Date.UTC(2026, 5, 1, 12) };
const hash = hashOf(plant);
const keeper = (stamp: Stamp = noon, plantHash = hash) => keeperOf(directory, plantHash, () => stamp);
const file = () => join(directory, 'state.json');
const aside = () => readdirSync(directory).filter((name) => name.includes('unusable'));
const awake = (plantHash = hash) =>
  wakeUp<FakeState>(fakeCore, plant, keeper(noon, plantHash), { ...noon, monotonicMs: 7000 });
const STATE = { ...fakeCore.initial(plant), words: 'known', numbers: [0.1, 1e-7, 3] };

describe('the state file', () => {
  it('gives back exactly what was saved, byte for byte', async () => {
    expect(await keeper().save(STATE)).toBe(true);
    const loaded = keeper().load();
    expect(loaded.found === 'state' && JSON.stringify(loaded.state)).toBe(JSON.stringify(STATE));
  });

  it('of many that are to be saved at once the newest is what stands there, and everybody is told when theirs is safe', async () => {
    const one = keeper();
    const told = await Promise.all(Array.from({ length: 50 }, (_, n) => one.save({ n })));
    expect(told.every(Boolean)).toBe(true);
    const loaded = keeper().load();
    expect(loaded).toMatchObject({ found: 'state', state: { n: 49 } });
  });

  it('leaves nothing half done in the directory', async () => {
    await keeper().save(STATE);
    expect(readdirSync(directory)).toEqual(['state.json']);
  });

  it('says so when it can not write, and when it can again (F35)', async () => {
    const nowhere = join(directory, 'gone');
    const one = keeperOf(nowhere, hash, () => noon);
    expect(await one.save(STATE)).toBe(false);
    mkdirSync(nowhere);
    expect(await one.save(STATE)).toBe(true);
  });
});

describe('waking up', () => {
  it('for the first time: the initial state under the normal policy, and nothing to say', () => {
    expect(awake()).toEqual({ isNew: true, plant, state: fakeCore.initial(plant), words: null });
  });

  it('after a while: what was saved, restored', async () => {
    await keeper().save(STATE);
    const { state, plant: same, words } = awake();
    expect(state.words).toBe('restored after a while');
    expect(same).toBe(plant);
    expect(words).toContain('2 s');
  });

  it.each([
    ['half a file', (text: string) => text.slice(0, text.length / 2), 'damaged'],
    ['an empty file', () => '', 'damaged'],
    ['no object', () => 'null', 'version undefined'],
    ['one digit that fell over', (text: string) => text.replace('"known"', '"knoen"'), 'digest'],
    ['another version', (text: string) => text.replace('"version":1', '"version":2'), 'version 2'],
    [
      'another station',
      (text: string) =>
        text.replace(
          hash,
          hash.replace(/^./u, (c) => (c === 'a' ? 'b' : 'a')),
        ),
      'another station',
    ],
  ])('%s: kept aside, said clearly, and nothing starts by itself', async (_, spoil, words) => {
    await keeper().save(STATE);
    const spoilt = spoil(readFileSync(file(), 'utf8'));
    writeFileSync(file(), spoilt);
    const woken = awake();
    expect(woken.words).toContain(words);
    expect(woken.state).toEqual(fakeCore.initial(plant));
    expect(woken.plant).toEqual(cautious(plant));
    expect(Object.values(woken.plant.policy.starts)).toEqual(['person', 'person', 'person']);
    expect(aside()).toHaveLength(1);
    expect(readFileSync(join(directory, aside()[0] ?? ''), 'utf8')).toBe(spoilt);
  });

  it('a state that the core can not make sense of is kept aside, too', async () => {
    await keeper().save(STATE);
    const core = {
      ...fakeCore,
      restored: () => {
        throw new Error('no such vessel');
      },
    };
    const woken = wakeUp<FakeState>(core, plant, keeper(), noon);
    expect(woken.words).toContain('no such vessel');
    expect(aside()).toHaveLength(1);
  });
});

describe('how long the service was away', () => {
  const year = LIMITS.earliestYear;
  it('within one start of the computer its monotonic clock tells, whatever the wall clock says', () => {
    expect(gapOf(noon, { ...noon, monotonicMs: 9000, wallMs: 0 }, year)).toBe(4000);
  });
  it('across a restart the wall clock tells', () => {
    expect(gapOf(noon, { computerBoot: 'boot-2', monotonicMs: 10, wallMs: noon.wallMs + 60_000 }, year)).toBe(
      60_000,
    );
  });
  it('a clock that went back, or was not set when it was saved, tells nothing', () => {
    expect(gapOf(noon, { computerBoot: 'boot-2', monotonicMs: 10, wallMs: noon.wallMs - 1 }, year)).toBe(
      null,
    );
    expect(
      gapOf({ ...noon, wallMs: 0 }, { computerBoot: 'boot-2', monotonicMs: 10, wallMs: noon.wallMs }, year),
    ).toBe(null);
  });
  it('where the system does not say which start it is, only the wall clock counts', () => {
    expect(
      gapOf({ ...noon, computerBoot: null }, { ...noon, computerBoot: null, monotonicMs: 9000 }, year),
    ).toBe(0);
  });
});

describe('one instance to a state directory', () => {
  const holder = (changes: object) => {
    const lock = lockDirectory(directory);
    const mine = JSON.parse(readFileSync(join(directory, 'lock'), 'utf8'));
    lock.release();
    writeFileSync(join(directory, 'lock'), JSON.stringify({ ...mine, ...changes }));
  };

  it('the second is refused and told who is there; after the first has gone it gets in', () => {
    const lock = lockDirectory(directory);
    expect(() => lockDirectory(directory)).toThrow(LockError);
    expect(() => lockDirectory(directory)).toThrow(`process ${process.pid} on ${hostname()}`);
    lock.release();
    lockDirectory(directory).release();
    expect(readdirSync(directory)).toEqual([]);
  });

  it('a dead process holds nothing, nor one of before the computer was started, nor an id that is used again', () => {
    holder({ pid: 2 ** 22 + 1 });
    lockDirectory(directory).release();
    holder({ computerBoot: 'another start' });
    lockDirectory(directory).release();
    if (computerBoot() !== null) {
      holder({ started: '1' });
      lockDirectory(directory).release();
    }
  });

  it('another computer holds it while it keeps touching it', () => {
    holder({ host: 'elsewhere' });
    expect(() => lockDirectory(directory)).toThrow('elsewhere');
    const old = new Date(Date.now() - LIMITS.lockStaleMs - 1000);
    utimesSync(join(directory, 'lock'), old, old);
    lockDirectory(directory).release();
  });

  it('nonsense in the lock file keeps nobody out for ever', () => {
    writeFileSync(join(directory, 'lock'), 'nonsense');
    lockDirectory(directory).release();
  });

  it('a directory that can not be written is refused with its name', () => {
    symlinkSync('/proc/version', join(directory, 'no-directory'));
    expect(() => lockDirectory(join(directory, 'no-directory'))).toThrow('no-directory');
  });
});
