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
import type { Core } from '../../src/bridge/core.ts';
import { gapOf, keeperOf, type Stamp } from '../../src/bridge/keeper.ts';
import { LIMITS } from '../../src/bridge/limits.ts';
import { computerBoot, LockError, lockDirectory } from '../../src/bridge/lock.ts';
import { wakeUp } from '../../src/bridge/wake-up.ts';
import type { Plant } from '../../src/station/plant.ts';
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
const keeper = (stamp: Stamp = noon, own = plant) => keeperOf(directory, own, () => stamp);
const file = () => join(directory, 'state.json');
const aside = () => readdirSync(directory).filter((name) => name.includes('unusable'));
const awake = (own = plant) =>
  wakeUp<FakeState>(fakeCore, own, keeper(noon, own), { ...noon, monotonicMs: 7000 });
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
    const one = keeperOf(nowhere, plant, () => noon);
    expect(await one.save(STATE)).toBe(false);
    mkdirSync(nowhere);
    expect(await one.save(STATE)).toBe(true);
  });
});

describe('waking up', () => {
  it('for the first time: the initial state, and nothing to say', () => {
    expect(awake()).toEqual({ isNew: true, state: fakeCore.initial(plant), words: null });
  });

  it.each([
    ['a journal', () => mkdirSync(join(directory, 'journal'))],
    ['a state that was put aside', () => writeFileSync(join(directory, 'state.unusable-0.json'), '')],
  ])('without a state file beside %s: the memory is lost, not empty', (_, leave) => {
    leave();
    const { isNew, state, words } = awake();
    expect([isNew, state.words]).toEqual([
      true,
      'the state file is missing, and this station has run before',
    ]);
    expect(words).toContain('nothing moves before somebody has looked');
  });

  it('after a while: what was saved, restored', async () => {
    await keeper().save(STATE);
    const { state, words } = awake();
    expect(state.words).toBe('restored after a while');
    expect(words).toContain('2 s');
  });

  it.each([
    ['half a file', (text: string) => text.slice(0, text.length / 2), 'damaged'],
    ['an empty file', () => '', 'damaged'],
    ['no object', () => 'null', 'damaged'],
    ['one digit that fell over', (text: string) => text.replace('"known"', '"knoen"'), 'digest'],
    ['an older format', (text: string) => text.replace('"version":3', '"version":2'), 'format 2'],
    ['a newer format', (text: string) => text.replace('"version":3', '"version":4'), 'format 4'],
  ])(
    '%s: kept aside, said clearly, and nothing moves before a person has looked',
    async (_, spoil, words) => {
      await keeper().save(STATE);
      const spoilt = spoil(readFileSync(file(), 'utf8'));
      writeFileSync(file(), spoilt);
      const woken = awake();
      expect(woken.words).toContain(words);
      expect(woken.state.words).toContain(words);
      expect(woken.state.words).toContain(join(directory, aside()[0] ?? 'none'));
      expect(aside()).toHaveLength(1);
      expect(readFileSync(join(directory, aside()[0] ?? ''), 'utf8')).toBe(spoilt);
    },
  );

  const renamed: Plant = { ...plant, id: 'another-id', name: 'Another name' };
  const [first = '', ...others] = Object.keys(plant.sensors);
  const poorer: Plant = {
    ...plant,
    sensors: Object.fromEntries(others.map((id) => [id, plant.sensors[id] as Plant['sensors'][string]])),
  };
  it.each([
    ['the same file', plant, true, false],
    ['another name and another id', renamed, true, true],
    [`a file without ${first}`, poorer, false, true],
  ])(
    'with %s: what was saved goes to the core, which is told whether the plumbing is the same',
    async (_, own, isSame, isChanged) => {
      await keeper().save(STATE);
      const told: unknown[] = [];
      const core: Core<FakeState> = {
        ...fakeCore,
        restored: (...all) => {
          told.push(all[0], all[1], all[3]);
          return fakeCore.restored(...all);
        },
      };
      const { words } = wakeUp<FakeState>(core, own, keeper(noon, own), noon);
      expect(told).toEqual([own, STATE, isSame]);
      expect(words?.includes('the station file was changed meanwhile')).toBe(isChanged);
      expect(aside()).toEqual([]);
    },
  );

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
