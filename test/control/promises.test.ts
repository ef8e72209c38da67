// Every wait ends, or a person is told: each row of the table of waits in a state that is in it, just before and just after
// the longest that it may last; and random nights in which no unit waits outside the table.

import { describe, expect, test } from 'vitest';
import { PERSON_PATIENCE_MS, STANDSTILL_MS } from '../../src/control/guard/limits.ts';
import { quiet } from '../../src/control/process/alarms.ts';
import { draftOf } from '../../src/control/process/draft.ts';
import { blockerOf, passPromises, promiseNews } from '../../src/control/process/promises.ts';
import type { State } from '../../src/control/process/state.ts';
import { type UnitId, unitOf, WAITS, waitOf } from '../../src/control/process/waits.ts';
import { message } from '../../src/language/message.ts';
import type { Plant } from '../../src/station/plant.ts';
import { isFault } from '../../src/verify/trial/misfortunes.ts';
import { swarmFor } from '../../src/verify/trial/swarm.ts';
import { couple, fileOf, plantAt } from '../tools/coupled.ts';
import { say } from '../tools/english.ts';
import { turnOf } from '../tools/turn.ts';
import { baseline } from './baseline.ts';

const HOUR_MS = 3_600_000;
const unequal = baseline('unequal-vats');
const marram = baseline('marram-point');

interface Case {
  readonly wait: string;
  readonly unit: UnitId;
  readonly at?: typeof marram;
  readonly make: (state: State, plant: Plant) => void;
  /** What the alarm names. */
  readonly names: RegExp;
}

const running = { procedure: 'running', cause: null, words: message('waiting-to-fill') } as const;
const batchIn = (stage: State['batch']['stage']) => (state: State) => {
  Object.assign(state.batch, running, { stage, words: message('the-row', { row: stage }) });
};
const forbid = (state: State, ...targets: readonly string[]): void => {
  state.verdicts = Object.fromEntries(targets.map((target) => [target, ['I-12/fresh-low']]));
};
const due = (state: State): void => {
  Object.assign(state.exchange.system as object, running, { requestedL: 4, restMs: HOUR_MS, step: 'rest' });
};

// biome-ignore format: a table reads as a table
const CASES: readonly Case[] = [
  { wait: 'paused', unit: 'batch', make: (s) => Object.assign(s.batch, { procedure: 'held', cause: 'person' }), names: /a person has paused it/ },
  { wait: 'stopped', unit: 'batch', make: (s) => Object.assign(s.batch, { procedure: 'aborted' }), names: /a person has stopped it/ },
  { wait: 'coming-to-rest', unit: 'batch', make: (s) => Object.assign(s.batch, { procedure: 'holding', cause: 'link' }), names: /not proven off/ },
  { wait: 'tripped', unit: 'batch', make: (s) => { Object.assign(s.batch, { procedure: 'held', cause: 'trip' }); s.trips['I-11/tray-leak'] = 0; }, names: /^$/ },
  { wait: 'held', unit: 'batch', make: (s) => Object.assign(s.batch, { procedure: 'held', cause: 'process' }), names: /^$/ },
  { wait: 'restarting', unit: 'batch', make: (s) => Object.assign(s.batch, { procedure: 'restarting', words: message('going-on-by-itself') }), names: /resumes by itself/ },
  { wait: 'refill-by-a-person', unit: 'refill', make: (s, p) => { Object.assign(p.policy.starts, { refill: 'person' }); Object.assign(s.refill, { procedure: 'idle' }); Object.assign(s.vessels.fresh as object, { leastL: 20 }); }, names: /only a person starts it/ },
  { wait: 'quiet-hours', unit: 'refill', make: (s, p) => { Object.assign(p.process, { quietHours: { fromMinute: 0, toMinute: 1, rest: ['refill', 'exchange'] } }); Object.assign(s.clock, { trusted: false }); Object.assign(s.refill, { procedure: 'idle', words: message('waiting-quiet-hours') }); Object.assign(s.vessels.fresh as object, { leastL: 20 }); }, names: /quiet hours/ },
  { wait: 'flush', unit: 'refill', at: unequal, make: (s) => { s.verdicts = {}; Object.assign(s.refill, running, { flushed: false, words: message('flushing') }); }, names: /flushing/ },
  { wait: 'no-way-to-fill', unit: 'refill', make: (s) => { Object.assign(s.refill, running); forbid(s, 'refill'); }, names: /Fresh vat, low float is silent|fresh-low.*silent/ },
  { wait: 'filling', unit: 'refill', make: (s) => { Object.assign(s.refill, running); s.verdicts = {}; }, names: /slowest flow/ },
  { wait: 'fresh-vat-below-its-mark', unit: 'refill', make: (s) => { Object.assign(s.refill, { procedure: 'idle', words: message('idle') }); Object.assign(s.vessels.fresh as object, { leastL: 20 }); }, names: /idle/ },
  { wait: 'task', unit: 'batch', make: (s) => { batchIn('mix/salt')(s); s.tasks.mixing = { task: 'add-salt', vessel: 'mixing', massKg: 1, words: message('task-salt-seen', { vessel: 'mixing' }) }; }, names: /^$/ },
  { wait: 'batch-by-a-person', unit: 'batch', make: (s, p) => { Object.assign(p.policy.starts, { batch: 'person' }); Object.assign(s.batch, { procedure: 'idle', stage: 'idle' }); due(s); }, names: /only a person starts it/ },
  { wait: 'water-for-a-batch', unit: 'batch', make: (s) => Object.assign(s.batch, { procedure: 'idle', stage: 'idle', words: message('waiting-for-fresh-water-to-begin') }), names: /the refill: / },
  { wait: 'too-little-to-mix', unit: 'batch', make: (s) => { batchIn('mix/dissolve')(s); Object.assign(s.vessels.mixing as object, { leastL: 0 }); forbid(s, 'circulate'); }, names: /silent/ },
  { wait: 'water-goes-over', unit: 'batch', make: batchIn('transfer'), names: /transfer/ },
  { wait: 'salt', unit: 'batch', make: batchIn('mix/salt'), names: /mix\/salt/ },
  { wait: 'dissolving', unit: 'batch', make: batchIn('mix/dissolve'), names: /dissolve/ },
  { wait: 'measuring', unit: 'batch', make: batchIn('mix/measure'), names: /measure/ },
  { wait: 'heating', unit: 'batch', make: batchIn('heat'), names: /heat/ },
  { wait: 'pace', unit: 'system', make: (s) => { due(s); Object.assign(s.exchange.system as object, { restMs: 0, words: message('settling-between-steps') }); }, names: /settling/ },
  { wait: 'next-batch', unit: 'system', make: (s) => { due(s); batchIn('mix/measure')(s); Object.assign(s.exchange.system as object, { words: message('waiting-for-batch'), restMs: 1e9 }); }, names: /the batch: mix\/measure/ },
  { wait: 'too-little-in-the-vat', unit: 'system', make: (s) => { due(s); Object.assign(s.exchange.system as object, { restMs: 1e9, words: message('waiting-for-next-batch') }); Object.assign(s.vessels.mixing as object, { leastL: 0 }); }, names: /the batch: / },
  { wait: 'in-a-step', unit: 'system', make: (s) => { due(s); Object.assign(s.exchange.system as object, { step: 'supply', words: message('delivering-to-go', { volumeL: 1 }) }); }, names: /delivering/ },
  { wait: 'forbidden', unit: 'system', make: (s) => { due(s); Object.assign(s.exchange.system as object, { restMs: 1e9 }); forbid(s, 'drain'); }, names: /silent/ },
];

describe('the table of waits', () => {
  test('has a case here for every row, and every row says what ends it and who is told', () => {
    const cases = new Set(CASES.map(({ wait }) => wait));
    expect(WAITS.map(({ id }) => id).filter((id) => !cases.has(id))).toEqual([]);
    for (const { ends } of WAITS) expect(ends.length).toBeGreaterThan(5);
  });

  test.each(CASES)(
    '$wait of $unit: told once it has lasted too long, and not before',
    ({ wait, unit, at = marram, make, names }) => {
      const plant = structuredClone(at.plant);
      const state = at.draft();
      Object.assign(state.link, { up: true, echoAgeMs: 0 });
      make(state, plant);
      const found = waitOf(plant, state, unit);
      expect(found?.id).toBe(wait);
      if (found === undefined || found.told !== 'A-10') return;
      passPromises(plant, state, 0);
      const longestMs = found.longestMs(plant, state, unit);
      expect(longestMs).toBeGreaterThan(0);
      const told = (): readonly string[] =>
        promiseNews(plant, state).flatMap(({ alarm, active, words }) =>
          active && alarm === `A-10/${unit}` ? [say(words, plant)] : [],
        );
      // In pieces, so that what limits itself by an age is not stopped by that.
      passPromises(plant, state, longestMs - 1);
      expect(told()).toEqual([]);
      passPromises(plant, state, 2);
      expect(told().join()).toMatch(names);
      expect(told()).toHaveLength(1);
    },
  );

  test('headway ends it at once', () => {
    const { plant } = marram;
    const state = marram.draft();
    Object.assign(state.link, { up: true, echoAgeMs: 0 });
    batchIn('mix/dissolve')(state);
    passPromises(plant, state, 0);
    passPromises(plant, state, 100 * HOUR_MS);
    expect(promiseNews(plant, state).map(({ alarm }) => alarm)).toContain('A-10/batch');
    batchIn('mix/measure')(state);
    passPromises(plant, state, 1000);
    const now = promiseNews(plant, state).filter(({ alarm, active }) => active && alarm === 'A-10/batch');
    expect(now).toEqual([]);
  });

  test('a row that has an alarm of its own is not told twice', () => {
    const { plant } = marram;
    const state = marram.draft();
    Object.assign(state.link, { up: true, echoAgeMs: 0 });
    due(state);
    Object.assign(state.exchange.system as object, { restMs: 1e9 });
    forbid(state, 'drain');
    passPromises(plant, state, 0);
    passPromises(plant, state, 50 * HOUR_MS);
    expect(promiseNews(plant, state).filter(({ active }) => active)).toHaveLength(1);
    state.alarms['I-12/fresh-low'] = ALARM;
    expect(promiseNews(plant, state).filter(({ active }) => active)).toHaveLength(0);
    // Nor is what stands beside it, though that one is told of nowhere and is the worse of the two.
    delete state.alarms['I-12/fresh-low'];
    state.verdicts = { drain: ['I-12/fresh-low', 'I-21/drain/low'] };
    expect(promiseNews(plant, state).filter(({ active }) => active)).toHaveLength(1);
    state.alarms['I-21/drain/low'] = ALARM;
    expect(promiseNews(plant, state).filter(({ active }) => active)).toHaveLength(0);
  });

  test('waits for persons are shorter than a night, and standstills shorter than that', () => {
    expect(STANDSTILL_MS).toBeLessThan(PERSON_PATIENCE_MS);
  });
});

// SEQUENCES plays the nights of all three seeds, as `npm run measure -- sequences` does.
const ALARM = {
  ...quiet('soon', message('nothing'), message('nothing')),
  state: 'unacknowledged',
  active: true,
} as const;

/** Words by which a unit says that it waits, asked without the table. */
const SAYS_SO = /^(waiting|asked|settling|still waiting)|: waiting|^held/u;

describe.each(['marram-point', 'unequal-vats', 'two-systems'])('random nights of %s', (name) => {
  test.each(process.env.SEQUENCES === undefined ? [11 + turnOf(3)] : [11, 12, 13])(
    'seed %i: no unit waits outside the table, nor longer than it says unless somebody is told',
    (seed) => {
      const plant = plantAt(fileOf(name));
      const faults = swarmFor(plant, seed, 10 * HOUR_MS).filter(isFault);
      const coupled = couple(plant, { seed, faults, onEffect: () => {} });
      coupled.run(10 * HOUR_MS, ({ state }) => {
        const now = state();
        for (const unit of Object.keys(now.promises)) {
          const wait = waitOf(plant, now, unit);
          const { procedure, words } = unitOf(now, unit);
          const idles = procedure === 'idle' || words.id === 'waiting-for-request';
          if (SAYS_SO.test(say(words, plant)) && !idles)
            expect(wait?.id, `${unit}: ${words.id}`).toBeDefined();
          const lateMs = (now.promises[unit]?.inMs ?? 0) - (wait?.longestMs(plant, now, unit) ?? Infinity);
          if (lateMs <= 5 * 60_000) continue;
          const told = Object.values(now.alarms).some(
            ({ state }) => state !== 'normal' && state !== 'returned-unacknowledged',
          );
          expect(
            told,
            `${unit} waits for ${say(blockerOf(plant, now, unit), plant)}, and nobody is told`,
          ).toBe(true);
        }
        return false;
      });
      expect(draftOf(coupled.state()).promises).toEqual(coupled.state().promises);
    },
    300_000,
  );
});
