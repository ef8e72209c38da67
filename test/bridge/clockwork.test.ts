import fc from 'fast-check';
import { NEVER, Subject } from 'rxjs';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { type Beat, readTime, timeOfDay, wallClockwork } from '../../src/bridge/clockwork.ts';
import { LIMITS } from '../../src/bridge/limits.ts';

afterEach(() => {
  vi.useRealTimers();
});

describe('how much time passed (R22)', () => {
  it('the elapsed times of all beats add up to the whole, whatever the fractions: nothing drifts', () => {
    vi.useFakeTimers({ toFake: ['setInterval', 'clearInterval', 'setImmediate', 'clearImmediate'] });
    const pieces = fc.array(fc.double({ min: 0, max: 40, noNaN: true }), { minLength: 1, maxLength: 40 });
    fc.assert(
      fc.property(pieces, (gaps) => {
        let now = 0.7;
        const machine = { monotonicMs: () => now, uptimeMs: () => now, date: () => new Date(0) };
        const arrived = new Subject<void>();
        const elapsed: number[] = [];
        const listening = wallClockwork(machine)
          .beats(arrived)
          .subscribe(({ elapsedMs }) => elapsed.push(elapsedMs));
        for (const gap of gaps) {
          now += gap;
          arrived.next();
          vi.advanceTimersByTime(0);
        }
        listening.unsubscribe();
        expect(elapsed).toHaveLength(1 + gaps.length);
        expect(elapsed.every((ms) => Number.isInteger(ms) && ms >= 0)).toBe(true);
        expect(elapsed.reduce((sum, ms) => sum + ms, 0)).toBe(Math.floor(now - 0.7));
      }),
    );
  });

  it('time goes on while the computer sleeps, although the monotonic clock stands still', () => {
    let [monotonic, uptime] = [1000, 50_000];
    const clockwork = wallClockwork({
      monotonicMs: () => monotonic,
      uptimeMs: () => uptime,
      date: () => new Date(0),
    });
    monotonic += 500;
    uptime += 500;
    expect(clockwork.nowMs()).toBe(500);
    uptime += 3_600_000;
    const ticked: number[] = [];
    clockwork
      .beats(NEVER)
      .subscribe(({ elapsedMs }) => ticked.push(elapsedMs))
      .unsubscribe();
    expect(ticked).toEqual([3_600_500]);
    monotonic += 250;
    uptime += 250;
    expect(clockwork.nowMs()).toBe(3_600_750);
  });

  it('between ticks it is looked now and then whether the computer slept, and not with every message', () => {
    let [monotonic, uptime, asked] = [1000, 50_000, 0];
    const clockwork = wallClockwork({
      monotonicMs: () => monotonic,
      uptimeMs: () => {
        asked += 1;
        return uptime;
      },
      date: () => new Date(0),
    });
    const before = asked;
    for (let n = 0; n < 1000; n++) {
      monotonic += 0.05;
      uptime += 0.05;
      clockwork.nowMs();
    }
    expect(asked - before).toBe(0);
    uptime += 3_600_000;
    monotonic += LIMITS.sleepLookMs;
    expect(clockwork.nowMs()).toBeGreaterThan(3_600_000);
    expect(asked - before).toBe(1);
  });

  it('a coarse uptime does not make time: differences under a second are not sleep', () => {
    let monotonic = 0;
    const clockwork = wallClockwork({
      monotonicMs: () => monotonic,
      uptimeMs: () => Math.ceil(monotonic / 900) * 900,
      date: () => new Date(0),
    });
    for (let n = 0; n < 1000; n++) {
      monotonic += 10;
      expect(clockwork.nowMs()).toBe(monotonic);
    }
  });

  it('a tick comes every 250 ms, the time of day with the first and then once a minute', () => {
    vi.useFakeTimers({
      toFake: ['setInterval', 'clearInterval', 'setImmediate', 'clearImmediate', 'Date', 'performance'],
    });
    const machine = {
      monotonicMs: () => performance.now(),
      uptimeMs: () => performance.now(),
      date: () => new Date(),
    };
    const beats: Beat[] = [];
    const listening = wallClockwork(machine)
      .beats(NEVER)
      .subscribe((beat) => beats.push(beat));
    vi.advanceTimersByTime(120_000);
    listening.unsubscribe();
    expect(beats).toHaveLength(1 + 120_000 / LIMITS.tickMs);
    expect(beats.every(({ tick }) => tick)).toBe(true);
    expect(beats.filter(({ clock }) => clock !== null)).toHaveLength(3);
  });

  it('what arrives in one gulp makes one step, at once and without a tick', () => {
    vi.useFakeTimers({
      toFake: ['setInterval', 'clearInterval', 'setImmediate', 'clearImmediate', 'performance'],
    });
    const machine = {
      monotonicMs: () => performance.now(),
      uptimeMs: () => performance.now(),
      date: () => new Date(0),
    };
    const arrived = new Subject<void>();
    const beats: Beat[] = [];
    const listening = wallClockwork(machine)
      .beats(arrived)
      .subscribe((beat) => beats.push(beat));
    for (let n = 0; n < 100; n++) arrived.next();
    vi.advanceTimersByTime(1);
    arrived.next();
    vi.advanceTimersByTime(1);
    listening.unsubscribe();
    expect(beats.map(({ tick }) => tick)).toEqual([true, false, false]);
  });
});

describe('what o’clock it is, as far as that can be believed (F32)', () => {
  const noon = new Date(2026, 5, 1, 12, 0).getTime();

  it('local minute and day; believed from the start when the clock was set at all', () => {
    const read = timeOfDay();
    expect(read(new Date(noon), 0)).toMatchObject({ minuteOfDay: 720, trusted: true });
    expect(read(new Date(noon + 86_400_000), 86_400_000).day - read(new Date(noon), 0).day).toBe(1);
  });

  it('a clock of 1970 or of an old image is not believed', () => {
    expect(timeOfDay()(new Date(0), 0).trusted).toBe(false);
    expect(timeOfDay()(new Date(2024, 11, 31), 0).trusted).toBe(false);
  });

  it.each([3_600_000, -3_600_000, -86_400_000, 130_000])(
    'after a jump of %i ms it is not believed for ten minutes',
    (jumpMs) => {
      const read = timeOfDay();
      read(new Date(noon), 0);
      const at = (ms: number) => read(new Date(noon + jumpMs + ms), ms).trusted;
      expect(at(60_000)).toBe(false);
      expect(at(60_000 + LIMITS.untrustedMs - 1)).toBe(false);
      expect(at(60_000 + LIMITS.untrustedMs)).toBe(true);
    },
  );

  it('a clock that is put right by less than two minutes, or runs a little fast, is believed', () => {
    const read = timeOfDay();
    for (let minute = 0; minute < 600; minute++) {
      expect(
        read(new Date(noon + minute * 60_500 + (minute > 300 ? 100_000 : 0)), minute * 60_000).trusted,
      ).toBe(true);
    }
  });
});

describe('time from the water', () => {
  it.each([
    ['{"step":1,"elapsedMs":5000,"minuteOfDay":361,"day":0,"trusted":true}', true],
    ['{"step":1,"elapsedMs":5000.5,"minuteOfDay":361,"day":0,"trusted":true}', false],
    ['{"step":1,"elapsedMs":-1,"minuteOfDay":361,"day":0,"trusted":true}', false],
    ['{"step":1,"elapsedMs":5000,"minuteOfDay":1440,"day":0,"trusted":true}', false],
    ['{"step":1,"elapsedMs":5000,"minuteOfDay":361,"day":0}', false],
    ['null', false],
  ])('%s is a time: %s', (text, fits) => {
    expect(readTime(JSON.parse(text)) !== null).toBe(fits);
  });
});
