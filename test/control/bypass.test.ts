// Bypass: which rows may be switched off, for how long, and that everybody sees it.

import { describe, expect, test } from 'vitest';
import { deriveRows } from '../../src/control/guard/interlocks.ts';
import { BYPASS_MOST_MS } from '../../src/control/guard/limits.ts';
import { ROW_KINDS } from '../../src/control/guard/rows.ts';
import { describe as statusOf } from '../../src/control/process/describe.ts';
import { restored } from '../../src/control/process/initial.ts';
import { message } from '../../src/language/message.ts';
import { say } from '../tools/english.ts';
import { baseline, STATIONS } from './baseline.ts';
import { walk } from './steps.ts';

const { plant, draft } = baseline('marram-point');
const bypass = (row: string, minutes = 30) =>
  ({ ask: 'bypass', row, minutes, reason: 'flat battery', who: 'Ada' }) as const;
const BLIND = 'I-13/tray-leak';

/** The leak sensor is dead. */
function blind() {
  const at = walk(plant, draft());
  at.go([{ type: 'bad-reading', sensor: 'tray-leak', reason: 'offline' }]);
  const dead = structuredClone(at.state);
  Object.assign(dead.sensors['tray-leak'] as object, { live: false, value: null });
  return walk(plant, dead);
}

describe('a bypass', () => {
  test('lets go what its row forbids, is an alarm for as long, and ends by itself', () => {
    const at = blind();
    at.wait(1);
    expect(at.state.verdicts.drain).toContain(BLIND);
    expect(at.ask(bypass(BLIND))).toMatch(/bypassed for 30 min, provided that somebody stays/);
    expect(at.state.verdicts.drain ?? []).not.toContain(BLIND);
    expect(at.state.alarms[`A-04/${BLIND}`]).toMatchObject({
      state: 'unacknowledged',
      words: message('row-bypassed-by', { row: BLIND, who: 'Ada', reason: 'flat battery' }),
    });
    expect(statusOf(plant, at.state).bypasses).toMatchObject([
      { row: BLIND, reason: 'flat battery', who: 'Ada', leftMinutes: 30 },
    ]);
    at.wait(30 * 60 + 1);
    expect(at.state.bypasses).toEqual({});
    expect(at.state.verdicts.drain).toContain(BLIND);
    expect(at.state.alarms[`A-04/${BLIND}`]?.state).toBe('returned-unacknowledged');
    expect(at.effects).toContainEqual({
      do: 'record',
      about: 'bypass',
      words: message('bypass-is-over', { row: BLIND }),
    });
  });

  test('is ended on request, and by the time that a service is away, known or not', () => {
    const at = blind();
    at.ask(bypass(BLIND));
    expect(at.ask({ ask: 'end-bypass', row: BLIND })).toBe('the interlock is on again');
    expect(at.state.verdicts.drain).toContain(BLIND);
    expect(at.ask({ ask: 'end-bypass', row: BLIND })).toMatch(/refused/);
    at.ask(bypass(BLIND));
    const [{ leftMs } = { leftMs: 0 }] = Object.values(at.state.bypasses);
    expect(restored(plant, at.state, 1_000).bypasses[BLIND]?.leftMs).toBe(leftMs - 1_000);
    expect(restored(plant, at.state, null).bypasses).toEqual({});
    const back = walk(plant, restored(plant, at.state, leftMs));
    expect(back.state.bypasses).toEqual({});
    back.go();
    expect(back.state.alarms[`A-04/${BLIND}`]?.active).toBe(false);
  });

  test.each([
    ['a row that there is not', bypass('I-13/attic'), /no interlock 'I-13\/attic'/],
    ['no reason', { ...bypass(BLIND), reason: ' ' }, /a reason is needed/],
    ['nobody', { ...bypass(BLIND), who: '' }, /say who is responsible for it/],
    ['no time', bypass(BLIND, 0), /lasts from 1 to 240 min/],
    ['too long a time', bypass(BLIND, BYPASS_MOST_MS / 60_000 + 1), /lasts from 1 to 240 min/],
    ['no number', bypass(BLIND, Number.NaN), /lasts from 1 to 240 min/],
    ['an overflow row', bypass('I-02/fresh'), /I-02 is never bypassed: it keeps a vessel from overflowing/],
    ['a dry-run row', bypass('I-05/transfer'), /I-05 is never bypassed: it keeps a pump from running dry/],
    ['silence', bypass('I-12/fresh-high'), /I-12 is never bypassed/],
  ])('for %s is refused', (_, request, words) => {
    const at = blind();
    expect(at.ask(request)).toMatch(words);
    expect(at.state.bypasses).toEqual({});
  });

  test('is refused while what the row forbids may run', () => {
    const at = walk(plant, draft());
    Object.assign(at.state.routes.drain as object, { running: 'maybe' });
    for (const id of [...(plant.routes.drain?.through ?? []), ...(plant.routes.drain?.upstream ?? [])])
      Object.assign(at.state.devices[id] as object, { on: true, provenOff: false, leaseLeftMs: 30_000 });
    expect(at.ask(bypass('I-30/drain'))).toMatch(/Drain is not proven off/);
  });

  test('may be had of no trip, and of no row against overflow, dry running, flood, heat or wrong water, in any station', () => {
    for (const kind of ROW_KINDS) {
      expect(say(kind.bypass.because).length, kind.id).toBeGreaterThan(10);
      if (kind.bypass.may) expect([kind.id, kind.action]).toEqual([kind.id, 'block']);
      const isGrave =
        /overflow|dry|flood|heater|hot|burst|siphon|float|wrong water|too full|too low|crossed|welded/;
      if (isGrave.test(say(kind.hazard))) expect([kind.id, kind.bypass.may]).toEqual([kind.id, false]);
    }
    for (const name of Object.keys(STATIONS)) {
      const ids = deriveRows(baseline(name).plant).flatMap((row) => (row.bypass.may ? [row.id] : []));
      expect([...new Set(ids)].filter((id) => !['I-13', 'I-28', 'I-29', 'I-30'].includes(id))).toEqual([]);
    }
  });
});
