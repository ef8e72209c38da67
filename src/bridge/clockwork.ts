// Time comes from here and from nowhere else: how much of it passed (monotonic, R22), and what o'clock it is as far as
// that can be believed.
import { audit, concat, defer, ignoreElements, interval, map, merge, Observable, of } from 'rxjs';
import type { Input } from '../control/guard/types.ts';
import { LIMITS } from './limits.ts';

export type ClockInput = Extract<Input, { type: 'clock' }>;

/** A step is due: with what arrived, and perhaps as a control tick. */
export interface Beat {
  readonly elapsedMs: number;
  readonly tick: boolean;
  readonly clock: ClockInput | null;
  /** Lock step only: which step of the water this is. */
  readonly step: number | null;
}

export interface Clockwork {
  /** Station time, ms since start. */
  readonly nowMs: () => number;
  /** @param arrived emits whenever something is in the inbox. */
  readonly beats: (arrived: Observable<unknown>) => Observable<Beat>;
}

export interface Machine {
  /** Since any moment, ms, monotonic. */
  readonly monotonicMs: () => number;
  /** Since the computer started, ms, sleep included. */
  readonly uptimeMs: () => number;
  readonly date: () => Date;
}

/**
 * Wall time: every 250 ms a tick, and a step as soon as something arrived. What comes in one gulp of the socket makes
 * one step (`setImmediate` runs when the gulp is read), so a flood costs one step a gulp and not one a message.
 */
export function wallClockwork(machine: Machine): Clockwork {
  const nowMs = stationClock(machine);
  const clockReading = timeOfDay();
  let lastMs = nowMs();
  let clockMs = Number.NEGATIVE_INFINITY;
  const beat = (tick: boolean): Beat => {
    const now = nowMs(tick);
    const elapsedMs = now - lastMs;
    lastMs = now;
    const clockIsDue = tick && now - clockMs >= LIMITS.clockMs;
    if (clockIsDue) clockMs = now;
    return { elapsedMs, tick, clock: clockIsDue ? clockReading(machine.date(), now) : null, step: null };
  };
  const ticks = concat(of(0), interval(LIMITS.tickMs));
  return {
    nowMs,
    beats: (arrived) =>
      merge(
        defer(() => ticks).pipe(map(() => beat(true))),
        arrived.pipe(
          audit(() => endOfGulp),
          map(() => beat(false)),
        ),
      ),
  };
}

const endOfGulp = new Observable<void>((subscriber) => {
  const immediate = setImmediate(() => subscriber.next());
  return () => clearImmediate(immediate);
});

/**
 * Whole milliseconds that also pass while the computer sleeps. The monotonic clock stands still then, and readings of
 * before the sleep would look fresh after it; the time since the computer started goes on, only coarser. To ask for that
 * takes 15 us (a file of the kernel), and a leak message asks for the time half a dozen times on its way: so it is looked at
 * now and then, and always by a control tick, which alone may switch something on.
 */
function stationClock({ monotonicMs, uptimeMs }: Machine): (look?: boolean) => number {
  const startMs = monotonicMs();
  const ahead = uptimeMs() - startMs;
  let sleptMs = 0;
  let lookedMs = Number.NEGATIVE_INFINITY;
  return (look = false) => {
    const awakeMs = monotonicMs();
    if (look || awakeMs - lookedMs >= LIMITS.sleepLookMs) {
      lookedMs = awakeMs;
      const gapMs = uptimeMs() - awakeMs - ahead - sleptMs;
      if (gapMs > 1000) sleptMs += gapMs;
    }
    return Math.floor(awakeMs - startMs + sleptMs);
  };
}

/** Reads the wall clock and says whether to believe it: set at all, and not jumping against the monotonic clock. */
export function timeOfDay(): (date: Date, nowMs: number) => ClockInput {
  let before: { readonly wallMs: number; readonly nowMs: number } | null = null;
  let trustedFromMs = Number.NEGATIVE_INFINITY;
  return (date, nowMs) => {
    const wallMs = date.getTime();
    const jumpMs = before === null ? 0 : Math.abs(wallMs - before.wallMs - (nowMs - before.nowMs));
    if (jumpMs > LIMITS.wallJumpMs) trustedFromMs = nowMs + LIMITS.untrustedMs;
    before = { wallMs, nowMs };
    // Local time, because quiet hours are the household's; summer time moves the minute and is no jump of the clock.
    const localMs = wallMs - date.getTimezoneOffset() * 60_000;
    return {
      type: 'clock',
      minuteOfDay: date.getHours() * 60 + date.getMinutes(),
      day: Math.floor(localMs / 86_400_000),
      trusted: date.getFullYear() >= LIMITS.earliestYear && nowMs >= trustedFromMs,
    };
  };
}

/** Lock step: the water says how far time went, and waits. A slow computer makes the day longer and changes nothing. */
export function stepClockwork(times: Observable<TimeMessage>): Clockwork {
  let nowMs = 0;
  return {
    nowMs: () => nowMs,
    // What arrived is listened to first, so that it is in the inbox before the step that it belongs to.
    beats: (arrived) =>
      merge(
        arrived.pipe(ignoreElements()),
        times.pipe(
          map(({ step, elapsedMs, minuteOfDay, day, trusted }): Beat => {
            nowMs += elapsedMs;
            return { elapsedMs, tick: true, clock: { type: 'clock', minuteOfDay, day, trusted }, step };
          }),
        ),
      ),
  };
}

export interface TimeMessage {
  readonly step: number;
  readonly elapsedMs: number;
  readonly minuteOfDay: number;
  readonly day: number;
  readonly trusted: boolean;
}

/** Null where it is no `time` message. */
export function readTime(json: unknown): TimeMessage | null {
  if (typeof json !== 'object' || json === null) return null;
  const { step, elapsedMs, minuteOfDay, day, trusted } = json as Record<string, unknown>;
  const whole = (value: unknown, most: number): value is number =>
    Number.isInteger(value) && (value as number) >= 0 && (value as number) <= most;
  const fits =
    whole(step, Number.MAX_SAFE_INTEGER) &&
    whole(elapsedMs, 86_400_000) &&
    whole(minuteOfDay, 1439) &&
    whole(day, 1_000_000) &&
    typeof trusted === 'boolean';
  return fits ? { step, elapsedMs, minuteOfDay, day, trusted } : null;
}
