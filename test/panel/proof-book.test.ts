// How proof tests ended, as the page tells it: live, over a restart, and from the journal after a kill.
import { afterAll, describe, expect, test } from 'vitest';
import type { Message } from '../../src/language/message.ts';
import { provenIn } from '../../src/panel/journal-books.ts';
import { proofBook } from '../../src/panel/proof-book.ts';
import { sinceOf } from '../../src/panel/since.ts';
import { standingOf } from '../../src/panel/standing.ts';
import { sectionsOf } from '../../src/panel/view.ts';
import { drive, MARRAM_POINT, removeFolders } from '../journal/driven.ts';
import { say } from '../tools/english.ts';
import { panelStation } from '../tools/panel-station.ts';

const MINUTE_MS = 60_000;
const LIFTED = ['nobody-there:all@0', 'says:fresh-overflow=wet@15min-16min'];
const ASK = { ask: 'proof-test', row: 'I-02/fresh', who: 'Ada' } as const;
afterAll(removeFolders);

function begun(faults: readonly string[]) {
  const station = panelStation({ faults });
  station.run(12 * MINUTE_MS);
  void station.source.request(ASK);
  const since = sinceOf(station.source);
  return { ...station, sections: () => sectionsOf(station.source, since) };
}

describe('how a proof test ended', () => {
  test('passed: who, what was seen, and after how many seconds; told while it runs and after', () => {
    const { run, coupled, source, sections } = begun(LIFTED);
    expect(run(10 * MINUTE_MS, () => coupled.state().proofs.test?.phase === 'waiting')).toBe(true);
    expect(sections().proofTests).toMatchObject({
      underWay: { row: 'I-02/fresh', who: 'Ada' },
      answeredSeconds: null,
    });
    expect(run(10 * MINUTE_MS, () => coupled.state().proofs.test?.phase === 'returning')).toBe(true);
    expect(sections().proofTests.answeredSeconds).toBeLessThanOrEqual(10);
    expect(source.proofs()['I-02/fresh']).toBeUndefined();
    expect(run(10 * MINUTE_MS, () => coupled.state().proofs.test === null)).toBe(true);
    const found = sections().proofOutcomes['I-02/fresh'];
    expect(found).toMatchObject({ who: 'Ada', passed: true, atMs: source.now().atMs });
    expect(say(found?.words as Message | undefined)).toContain('the contact went back');
    expect(found?.seconds).toBeLessThanOrEqual(10);
  });

  test('failed: nobody moved it, or it is glued down', () => {
    const { run, coupled, source } = begun(['nobody-there:all@0']);
    run(5_000);
    expect(run(20 * MINUTE_MS, () => coupled.state().proofs.test === null)).toBe(true);
    expect(source.proofs()['I-02/fresh']).toMatchObject({ who: 'Ada', passed: false, seconds: null });
  });

  test('ended: neither, and the reason is kept', () => {
    const { run, source } = begun(LIFTED);
    run(5_000);
    void source.request({ ask: 'end-proof-test' });
    run(5_000);
    const found = source.proofs()['I-02/fresh'];
    expect(found).toMatchObject({ who: 'Ada', passed: null, seconds: null });
    expect(say(found?.words as Message | undefined)).toContain('ended by request');
  });

  test('a restart finds it again, and of two for one row the newer', () => {
    const { run, source, journal } = begun(['nobody-there:all@0']);
    run(20 * MINUTE_MS);
    const found = provenIn(journal);
    const outcome = { who: 'Ada', passed: false, atMs: source.proofs()['I-02/fresh']?.atMs };
    expect(proofBook(found).all()['I-02/fresh']).toMatchObject(outcome);
    const older = found.map((one) => ({ ...one, atMs: one.atMs - 1, passed: true }));
    expect(proofBook([...found, ...older]).all()['I-02/fresh']).toMatchObject(outcome);
  });

  test('where there is a journal, it is the one that knows', () => {
    const driven = drive(MARRAM_POINT, { faults: LIFTED });
    const run = (forMs: number) => {
      for (let left = forMs; left > 0; left -= 10_000) driven.step(10_000);
    };
    run(12 * MINUTE_MS);
    driven.request(ASK);
    run(10 * MINUTE_MS);
    driven.cut(MINUTE_MS);
    const found = proofBook(provenIn(driven.journal)).all();
    expect(found['I-02/fresh']).toMatchObject({ who: 'Ada', passed: true });
  });
});

describe('what a page is told of rows', () => {
  test('a row may be bypassed where the core would let it, and nowhere else', async () => {
    const station = panelStation();
    const { rows } = standingOf(station.source, false);
    const ids = new Set(rows.filter(({ bypassIf }) => bypassIf !== null).map(({ id }) => id));
    expect([...ids].toSorted()).toEqual(['I-13', 'I-28', 'I-29', 'I-30']);
    for (const { key, bypassIf } of rows) {
      const asked = { ask: 'bypass', row: key, minutes: 5, reason: 'x', who: 'Ada' } as const;
      const answer = station.source.request(asked);
      station.run(5_000);
      const { words } = await answer;
      expect(typeof words !== 'string' && words.id === 'row-never-bypassed', key).toBe(bypassIf === null);
    }
  });
});
