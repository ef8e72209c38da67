// Proof tests: what a person who moves a contact by hand sees, that nothing runs meanwhile, and what becomes of the schedule.

import { describe, expect, test } from 'vitest';
import { isAllowed } from '../../src/control/guard/interlocks.ts';
import { PROOF_WAIT_MS } from '../../src/control/guard/limits.ts';
import { provable, provenBefore, standingOf } from '../../src/control/guard/proof-tests.ts';
import type { Effect } from '../../src/control/guard/types.ts';
import { restored } from '../../src/control/process/initial.ts';
import { message } from '../../src/language/message.ts';
import { baseline } from './baseline.ts';
import { walk } from './steps.ts';

const { plant, draft } = baseline('marram-point');
const DAY_MS = 86_400_000;
const begin = (row: string, who = 'Ada') => ({ ask: 'proof-test', row, who }) as const;
type Result = Extract<Effect, { do: 'proof-test' }>;
const results = (effects: readonly Effect[]): Result[] =>
  effects.filter((effect): effect is Result => effect.do === 'proof-test');
const old = (days: number) => provenBefore(plant, draft(), days * DAY_MS, {});

describe('a proof test', () => {
  test('of an overflow float: everything off, the trip latches, the float goes back, the result is on record', () => {
    const at = walk(plant, old(80));
    expect(at.ask(begin('I-02/fresh'))).toMatch(/wait until everything is off/);
    at.wait(2);
    expect(at.state.proofs.test?.phase).toBe('waiting');
    expect(at.state.verdicts.transfer).toContain('I-33/fresh/I-02');
    expect(isAllowed(at.state, 'circulate')).toBe(true);
    at.says('fresh-overflow', true);
    expect(at.state.proofs.test?.phase).toBe('returning');
    expect(at.state.trips['I-02/fresh']).toBeDefined();
    expect(at.state.alarms['I-02/fresh']?.state).toBe('suppressed-by-design');
    expect(Object.keys(at.state.trips)).toEqual(['I-02/fresh']);
    at.says('fresh-overflow', false);
    at.wait(30);
    expect(at.state.proofs.test).toBeNull();
    expect(results(at.effects)).toEqual([
      {
        do: 'proof-test',
        row: 'I-02/fresh',
        sensor: 'fresh-overflow',
        who: 'Ada',
        expected: message('answer-within', { durationMs: 5_000 }),
        seen: message('row-answered'),
        passed: true,
        seconds: 0,
      },
    ]);
    expect(at.state.proofs.sinceMs).toEqual({ 'I-02/fresh': 0 });
    expect(standingOf(plant, at.state, 'I-02/fresh')).toBe('proven');
    // Only a person leaves a trip, also one that a test provoked.
    expect(at.state.verdicts.refill).toContain('I-02/fresh');
    expect(at.state.alarms['I-02/fresh']?.state).toBe('latched-unacknowledged');
    expect(at.ask({ ask: 'reset-trip', trip: 'all' })).toMatch(/reset: 1 of 1/);
  });

  test('of one low float proves every row that rests on it', () => {
    const at = walk(plant, old(80));
    at.ask(begin('I-05/supply'));
    at.wait(2);
    at.says('mixing-low', false);
    at.says('mixing-low', true);
    at.wait(30);
    expect(results(at.effects).map(({ row, passed }) => [row, passed])).toEqual([
      ['I-05/circulate', true],
      ['I-05/supply', true],
      ['I-16/heater', true],
    ]);
  });

  test('that nobody answers fails, and proves nothing', () => {
    const at = walk(plant, old(80));
    at.ask(begin('I-02/fresh'));
    at.wait(PROOF_WAIT_MS / 1000 + 5);
    expect(results(at.effects)).toMatchObject(
      [{ passed: false, seconds: null, seen: /said nothing/ }].map(({ passed, seconds }) => ({
        passed,
        seconds,
      })),
    );
    expect(at.state.proofs.sinceMs).toEqual({});
    expect(at.state.proofs.test).toBeNull();
  });

  test('whose contact moves while its row does not answer fails', () => {
    const at = walk(plant, draft());
    // The low float is wet: a lifted high float contradicts nothing.
    at.ask(begin('I-10/fresh'));
    at.wait(2);
    at.says('fresh-high', true);
    at.wait(8);
    expect(results(at.effects)).toMatchObject([
      { row: 'I-10/fresh', passed: false, seen: message('row-did-not-answer') },
    ]);
  });

  test('whose contact does not go back fails', () => {
    const at = walk(plant, draft());
    at.ask(begin('I-05/transfer'));
    at.wait(2);
    at.says('fresh-low', false);
    at.wait(PROOF_WAIT_MS / 1000 + 5);
    expect(results(at.effects)).toMatchObject([
      { row: 'I-05/transfer', passed: false, seen: message('contact-stayed') },
    ]);
  });

  test('whose contact falls silent fails', () => {
    const at = walk(plant, draft());
    at.ask(begin('I-05/transfer'));
    at.wait(2);
    at.go([{ type: 'bad-reading', sensor: 'fresh-low', reason: 'offline' }]);
    expect(results(at.effects)).toMatchObject([{ passed: false, seen: message('contact-fell-silent') }]);
  });

  test('energises nothing: from its first moment to its last, nothing that it concerns is told to be on', () => {
    for (const row of provable(plant)) {
      const at = walk(plant, draft());
      at.ask({ ask: 'restart', unit: 'all' });
      at.wait(3);
      const answer = at.ask(begin(row.key));
      expect(answer, row.key).toMatch(/wait until/);
      const guard = `I-33/${row.key.split('/')[1]}/`;
      const from = at.effects.length;
      let seen = 0;
      for (let i = 0; i < 30 && at.state.proofs.test !== null; i += 1) {
        at.go(
          i === 10
            ? [
                {
                  type: 'reading',
                  sensor: row.proves,
                  value: !at.state.sensors[row.proves]?.value,
                  live: true,
                },
              ]
            : [],
        );
        for (const target of row.forbids) {
          const why = at.state.verdicts[target] ?? [];
          if (at.state.proofs.test !== null)
            expect(
              why.some((key) => key.startsWith(guard)),
              `${row.key}: ${target}`,
            ).toBe(true);
          seen += 1;
        }
      }
      expect(seen).toBeGreaterThan(0);
      const ons = at.effects
        .slice(from)
        .flatMap((effect) => (effect.do === 'command' && effect.on ? [effect.actuator] : []));
      const concerned = row.forbids.flatMap(
        (target) => plant.routes[target]?.through ?? [plant.heaters[target]?.actuator ?? ''],
      );
      expect(
        ons.filter((actuator) => concerned.includes(actuator)),
        row.key,
      ).toEqual([]);
    }
  });

  test('tells nothing about the contents: a lifted float fills no vat', () => {
    const at = walk(plant, draft());
    const before = at.state.vessels.fresh;
    at.ask(begin('I-02/fresh'));
    at.wait(2);
    at.says('fresh-overflow', true);
    at.wait(3);
    // Its level sensor still counts: it sits some 20 L below the overflow float.
    expect(at.state.vessels.fresh?.leastL).toBeLessThan((before?.leastL ?? 0) + 3);
    expect(at.state.vessels.fresh?.contradiction).toBeNull();
  });

  test('has no result when the link or the service goes, and the durations go on', () => {
    const lost = walk(plant, draft());
    lost.ask(begin('I-02/fresh'));
    lost.go([{ type: 'link', up: false }]);
    expect(lost.state.proofs.test).toBeNull();
    expect(results(lost.effects)).toEqual([]);
    expect(lost.effects).toContainEqual({
      do: 'record',
      about: 'proof-test',
      words: message('proof-test-abandoned', { row: 'I-02/fresh', why: message('link-was-lost') }),
    });

    const cut = walk(plant, old(80));
    cut.ask(begin('I-02/fresh'));
    const back = walk(plant, restored(plant, cut.state, 15 * DAY_MS));
    expect(back.state.proofs.test).toBeNull();
    back.go();
    expect(standingOf(plant, back.state, 'I-02/fresh')).toBe('overdue');
  });

  test.each([
    ['a row that there is not', begin('I-02/attic'), /no interlock 'I-02\/attic'/],
    ['a row without a proof test', begin('I-04/refill'), /no interlock 'I-04\/refill' that has a proof test/],
    ['nobody', begin('I-02/fresh', ' '), /say who/],
  ])('of %s is refused', (_, request, words) => {
    const at = walk(plant, draft());
    expect(at.ask(request)).toMatch(words);
    expect(at.state.proofs.test).toBeNull();
  });

  test('is refused while another is under way, while the row is tripped or holds, and while the contact is silent', () => {
    const busy = walk(plant, draft());
    busy.ask(begin('I-02/fresh'));
    expect(busy.ask(begin('I-02/mixing'))).toMatch(/refused: a proof test is under way: I-02\/fresh/);
    expect(busy.ask({ ask: 'end-proof-test' })).toMatch(/without a result/);
    expect(busy.ask({ ask: 'end-proof-test' })).toMatch(/refused: no proof test/);

    const wet = walk(plant, draft());
    wet.says('fresh-overflow', true);
    expect(wet.ask(begin('I-02/fresh'))).toMatch(/refused: this interlock has shut the station down/);
    const low = walk(plant, draft());
    low.says('fresh-low', false);
    expect(low.ask(begin('I-05/transfer'))).toMatch(/refused: this interlock is active already/);
    const silent = walk(plant, draft());
    silent.go([{ type: 'bad-reading', sensor: 'fresh-low', reason: 'offline' }]);
    const asked = silent.go([
      { type: 'bad-reading', sensor: 'fresh-low', reason: 'offline' },
      { type: 'request', id: 'x', request: begin('I-05/transfer') },
    ]);
    expect(asked).toContainEqual(
      expect.objectContaining({
        accepted: false,
        words: expect.objectContaining({ id: 'sensor-silent-mend-first' }),
      }),
    );
  });
});

describe('the schedule (I-28)', () => {
  const { everyMs, graceMs } = plant.policy.proofTests;
  const every = everyMs / DAY_MS;

  test.each([
    ['proven', 0, undefined, undefined],
    ['proven', every - 15, undefined, undefined],
    ['due-soon', every - 13, 'unacknowledged', undefined],
    ['overdue', every + 1, undefined, 'unacknowledged'],
  ] as const)('%s after %s days, and never proven where nobody has tried', (standing, days, due, overdue) => {
    const at = walk(plant, old(days));
    at.wait(61);
    expect(standingOf(plant, at.state, 'I-11/tray-leak')).toBe(
      standing === 'overdue' ? standing : 'never-tried',
    );
    const tried = provenBefore(plant, old(days), days * DAY_MS, { 'I-11/tray-leak': days * DAY_MS });
    expect(standingOf(plant, tried, 'I-11/tray-leak')).toBe(standing);
    expect(at.state.alarms['A-05/proof-tests']?.state).toBe(due);
    expect(at.state.alarms['I-28/overdue']?.state).toBe(overdue);
    expect(at.state.verdicts.drain).toBeUndefined();
  });

  test('blocks what relies on it only after the grace, and until the test is passed', () => {
    const at = walk(plant, old((everyMs + graceMs) / DAY_MS + 1));
    at.wait(61);
    expect(at.state.verdicts.transfer).toContain('I-28/transfer/I-05');
    // One alarm, not one for each.
    expect(Object.keys(at.state.alarms).filter((id) => id.startsWith('I-28'))).toEqual([
      'I-28/overdue',
      'I-28/beyond-grace',
    ]);
    at.ask(begin('I-05/transfer'));
    at.wait(2);
    at.says('fresh-low', false);
    at.says('fresh-low', true);
    at.wait(30);
    expect(at.state.verdicts.transfer ?? []).not.toContain('I-28/transfer/I-05');
  });

  test('counts from commissioning, per row from its last passed test, and costs no allocation between two minutes', () => {
    const at = walk(
      plant,
      provenBefore(plant, draft(), 50 * DAY_MS, { 'I-02/fresh': 3 * DAY_MS, 'I-04/refill': 1 }),
    );
    expect(at.state.proofs.sinceMs).toEqual({ 'I-02/fresh': 3 * DAY_MS });
    const { sinceMs } = at.state.proofs;
    at.wait(50);
    expect(at.state.proofs.sinceMs).toBe(sinceMs);
    at.wait(10);
    expect(at.state.proofs).toMatchObject({
      sinceStartMs: 50 * DAY_MS + 60_000,
      sinceMs: { 'I-02/fresh': 3 * DAY_MS + 60_000 },
    });
  });
});
