import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  afterwards,
  delayMs,
  type Ended,
  FRESH,
  looksLikeDuplicate,
  type Patience,
} from '../../src/bridge/backoff.ts';
import { heartbeatOf } from '../../src/bridge/heartbeat.ts';
import { LIMITS } from '../../src/bridge/limits.ts';

const failed: Ended = { lastedMs: null, byOther: true };
const having = (times: number, one = failed): Patience =>
  Array.from({ length: times }).reduce<Patience>(
    (patience, _, n) => afterwards(patience, one, n * 1000),
    FRESH,
  );

describe('waiting before the next attempt (R16)', () => {
  it('the widest wait doubles from half a second to half a minute', () => {
    const widest = [1, 2, 3, 4, 5, 6, 7, 8, 50].map((times) => delayMs(having(times), 1));
    expect(widest).toEqual([500, 1000, 2000, 4000, 8000, 16_000, 30_000, 30_000, 30_000]);
  });

  it('full jitter: anything from nothing to the widest', () => {
    fc.assert(
      fc.property(fc.nat(60), fc.double({ min: 0, max: 0.999, noNaN: true }), (times, chance) => {
        const ms = delayMs(having(times), chance);
        expect(ms).toBeGreaterThanOrEqual(0);
        expect(ms).toBeLessThanOrEqual(delayMs(having(times), 1));
      }),
    );
  });

  it('a session of a minute makes patience new', () => {
    const tired = having(6);
    expect(delayMs(afterwards(tired, { lastedMs: LIMITS.stableMs, byOther: true }, 9000), 1)).toBe(500);
    expect(delayMs(afterwards(tired, { lastedMs: LIMITS.stableMs - 1, byOther: true }, 9000), 1)).toBe(
      30_000,
    );
  });

  it('three sessions cut short by the other side within a minute smell of a second instance, and then it waits minutes', () => {
    const short = { lastedMs: 400, byOther: true };
    expect(looksLikeDuplicate(having(2, short))).toBe(false);
    expect(looksLikeDuplicate(having(3, short))).toBe(true);
    expect(delayMs(having(3, short), 0)).toBe(120_000);
    expect(delayMs(having(3, short), 1)).toBe(300_000);
  });

  it('short sessions that we ended ourselves, or that lie far apart, do not', () => {
    expect(looksLikeDuplicate(having(9, { lastedMs: 400, byOther: false }))).toBe(false);
    const rare = [0, 1, 2, 3, 4].reduce<Patience>(
      (patience, n) => afterwards(patience, { lastedMs: 400, byOther: true }, n * 59_000),
      FRESH,
    );
    expect(looksLikeDuplicate(rare)).toBe(false);
  });
});

describe('the heartbeat (R2, R15)', () => {
  const bytes = (text: string) => new TextEncoder().encode(text);

  it('proves the link for the moment at which it was sent, not at which it came back', () => {
    const heart = heartbeatOf('b1');
    const payload = bytes(heart.beat(1000));
    expect(heart.ageMs(1000)).toBe(Number.POSITIVE_INFINITY);
    expect(heart.heard(payload)).toBe('own');
    expect(heart.ageMs(21_000)).toBe(20_000);
  });

  it('one that comes back after a newer one, or twice, proves nothing', () => {
    const heart = heartbeatOf('b1');
    const [first, second] = [bytes(heart.beat(0)), bytes(heart.beat(1000))];
    expect(heart.heard(second)).toBe('own');
    expect(heart.heard(first)).toBe('old');
    expect(heart.heard(second)).toBe('old');
    expect(heart.ageMs(1500)).toBe(500);
  });

  it('one of an earlier connection proves nothing about this one', () => {
    const heart = heartbeatOf('b1');
    const payload = bytes(heart.beat(0));
    heart.forget();
    expect(heart.heard(payload)).toBe('old');
    expect(heart.ageMs(0)).toBe(Number.POSITIVE_INFINITY);
  });

  it("another boot is another instance; nonsense is nobody's", () => {
    const heart = heartbeatOf('b1');
    expect(heart.heard(bytes('{"boot":"b2","n":1}'))).toBe('other');
    for (const text of [
      '',
      '1',
      'null',
      '{"boot":"b1"}',
      '{"boot":1,"n":1}',
      `{"boot":"b1","n":1,"x":"${'y'.repeat(300)}"}`,
    ]) {
      expect(heart.heard(bytes(text))).toBe('unreadable');
    }
  });
});
