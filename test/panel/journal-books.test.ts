// What a service that was killed finds again: the journal has it to the last step, the panel's own file to the last minute.

import { afterAll, describe, expect, test } from 'vitest';
import type { Journal } from '../../src/journal/journal.ts';
import { type PastBooks, withPast } from '../../src/panel/journal-books.ts';
import { type Kept, type MemorySource, memorySource } from '../../src/panel/memory-source.ts';
import { type Driven, drive, MARRAM_POINT, removeFolders, START_MS } from '../journal/driven.ts';
import { pastOf } from '../tools/past.ts';

const HOUR_MS = 3_600_000;
const STEP_MS = 10_000;
afterAll(removeFolders);

/** The simulated station counts its days from its own beginning; a real one from 1970. */
const dated = (journal: Journal): PastBooks => ({
  ...journal,
  ledger: (query) =>
    journal.ledger(query).map((entry) => ({ ...entry, day: entry.day + Math.floor(START_MS / 86_400_000) })),
});

/** A panel that looks on while the journal is written. */
function watched(driven: Driven, kept: Kept | null = null): MemorySource {
  return memorySource({
    plant: MARRAM_POINT,
    state: driven.state,
    startMs: START_MS + driven.clock.nowMs,
    simulated: true,
    kept,
    journal: { ...driven.journal, note: (about, words) => driven.journal.note(about, words) },
    send: () => {},
  });
}

function run(driven: Driven, source: MemorySource, forMs: number): void {
  for (let left = forMs; left > 0; left -= STEP_MS) {
    driven.step(STEP_MS);
    source.observe(driven.state, driven.taken.at(-1)?.effects ?? [], STEP_MS, START_MS + driven.clock.nowMs);
  }
}

describe('the books after a kill', () => {
  test('without anything of its own the panel finds what it has seen: events, incidents, batches, days', async () => {
    const driven = drive(MARRAM_POINT, { faults: ['silent:tray-leak@130min-140min'] });
    const source = watched(driven);
    for (let hours = 0; hours < 10 && driven.state.batch.stage !== 'ready'; hours += 1)
      run(driven, source, HOUR_MS);
    driven.request({ ask: 'exchange-now', system: 'system', volumeL: 8 });
    run(driven, source, HOUR_MS);
    const lived = source.kept();
    const seen = pastOf(source);
    const all = { fromMs: 0, toMs: Number.MAX_SAFE_INTEGER, limit: 10_000 };
    const [events, incidents] = [await seen.events(all), await seen.incidents()];
    expect(events.length).toBeGreaterThan(10);
    expect(incidents.map(({ alarm }) => alarm)).toContain('I-13/tray-leak');
    driven.cut(60_000);
    const found = withPast(null, dated(driven.journal));
    const again = pastOf(watched(driven, found));
    expect(await again.incidents()).toEqual(incidents);
    expect(await again.events(all)).toEqual(events);

    const [batch] = lived.batches;
    expect(batch?.acceptedMs).not.toBeNull();
    expect(found.batches).toEqual(lived.batches.map((one) => ({ ...one, stages: [], deliveredL: null })));
    const day = lived.days[0]?.exchange.system;
    expect(day?.deliveredL).toBeGreaterThan(7);
    const kept = found.days[0]?.exchange.system;
    expect(kept?.deliveredL).toBeCloseTo(day?.deliveredL ?? 0, 6);
    expect(kept?.drainedL).toBeCloseTo(day?.drainedL ?? 0, 6);
    // What was planned on that day only a panel that saw it could say.
    expect(kept?.plannedL).toBeNull();
    driven.journal.close();
  });

  test("what the panel's own file has stays, what it lacks is filled in, and nothing stands there twice", async () => {
    const driven = drive(MARRAM_POINT);
    const source = watched(driven);
    await source.countSalt?.(40);
    run(driven, source, HOUR_MS);
    const file: Kept = JSON.parse(JSON.stringify(source.kept()));
    run(driven, source, HOUR_MS);
    driven.cut(60_000);
    const found = withPast(file, dated(driven.journal));
    expect(found.batches).toHaveLength(1);
    expect(found.batches[0]?.stages.length).toBeGreaterThan(1);
    expect(found.days).toHaveLength(1);
    expect(found.days[0]?.exchange.system?.plannedL).toBeGreaterThan(0);
    expect(found.salt).toEqual(file.salt);

    const next = watched(driven, found);
    const events = await pastOf(next).events({ fromMs: 0, toMs: Number.MAX_SAFE_INTEGER, limit: 10_000 });
    expect(
      events.filter(({ words }) => typeof words !== 'string' && words.id === 'salt-counted'),
    ).toHaveLength(1);
    expect(events.map(({ atMs }) => atMs)).toEqual(events.map(({ atMs }) => atMs).toSorted((a, b) => b - a));
    run(driven, next, 10 * 60_000);
    const batches = await pastOf(next).batches();
    expect(batches).toHaveLength(1);
    driven.journal.close();
  });
});
