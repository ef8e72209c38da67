// The twin with a wire attached: a process that stands in for the whole wet side of a station on its real topics.
//
// Lock step: readings, then `time` n, then nothing until `time/done` n. Commands reach the relays at the end of step n and
// work from step n + 1 on, so a slow machine slows the day and never changes it. Real time: the water follows the wall.
import type { Fault } from './faults.ts';
import { messagesOf, readCommand } from './payloads.ts';
import type { Asked, Told } from './person.ts';
import { makeTwin, type Twin } from './twin.ts';
import { type Verdict, verdictOf } from './verdict.ts';
import { type Ears, type Wire, type WireOptions, wireTo } from './wire.ts';

export interface WaterOptions extends WireOptions {
  /** Default `lock-step`. */
  readonly pace?: 'lock-step' | 'real-time';
  /** How much station time; then it stops by itself. Default 1 d in lock step, 1 h in real time. */
  readonly forMs?: number;
  /** Lock step only. Default 5000. */
  readonly stepMs?: number;
  readonly seed?: number;
  readonly faults?: readonly (string | Fault)[];
  /** Local time at the start, minutes. Default 6 in the morning. */
  readonly startMinute?: number;
  /** How long by the wall a step may go unanswered. Default 10 s. */
  readonly answersWithinMs?: number;
  /** How long by the wall to wait for the service to come online. Default 60 s. */
  readonly waitsForMs?: number;
  /** Units that the person starts, once, a minute after the beginning: what nobody starts stands still. Default none. */
  readonly starts?: readonly string[];
  /** After each step (lock step, which waits for it) or tick (real time). */
  readonly onStep?: (step: number, twin: Twin) => void | Promise<void>;
}

export interface Refused {
  /** Commands that came from the broker's store, or that asked to be stored. */
  retained: number;
  unreadable: number;
  /** Not newer than one that the device had already seen. */
  late: number;
}

export interface WaterResult extends Verdict {
  readonly refused: Readonly<Refused>;
  readonly messages: number;
}

export interface Water {
  readonly twin: Twin;
  /** Rejects when the broker or the service is not there; the message says who and what to do. */
  readonly done: Promise<WaterResult>;
  /** Ends the day early; `done` resolves with what was. */
  readonly stop: () => void;
}

/** How often the water moves in real time, and the most that one piece may be after the machine was asleep. */
const REAL_TICK_MS = 100;
const REAL_PIECE_MS = 1000;
const STARTS_AFTER_MS = 60_000;
const DAY_MS = 86_400_000;
const HOUR_MS = 3_600_000;

/** @throws Error for a fault that does not fit the station. */
export function startWater(options: WaterOptions): Water {
  const { plant, seed = 1, faults = [], startMinute } = options;
  const twin = makeTwin(plant, seed, faults, startMinute === undefined ? {} : { startMinute });
  const stopping = new AbortController();
  return { twin, done: run(options, twin, stopping.signal), stop: () => stopping.abort() };
}

async function run(options: WaterOptions, twin: Twin, stop: AbortSignal): Promise<WaterResult> {
  const refused: Refused = { retained: 0, unreadable: 0, late: 0 };
  const isLockStep = (options.pace ?? 'lock-step') === 'lock-step';
  const wire = await wireTo({ ...options, needsClock: isLockStep }, earsOf(twin, refused));
  try {
    await (isLockStep ? lockStep : realTime)(options, twin, wire, stop);
  } finally {
    await wire.close();
  }
  return { ...verdictOf(twin), refused, messages: wire.sent() };
}

function earsOf(twin: Twin, refused: Refused): Ears {
  const seen = new Map<string, { boot: string; sequence: number }>();
  const isLate = (id: string, boot: string | null, sequence: number | null): boolean => {
    // Without the sender's start beside it a sequence says nothing: it begins anew whenever the sender does.
    if (sequence === null || boot === null) return false;
    const last = seen.get(id);
    if (last !== undefined && last.boot === boot && sequence <= last.sequence) return true;
    seen.set(id, { boot, sequence });
    return false;
  };
  return {
    task: (vessel, text) => twin.ask(vessel, askedIn(text)),
    command: (actuators, text, isRetained) => {
      if (isRetained) {
        refused.retained++;
        return;
      }
      // It clears what the broker stored: no command.
      if (text === '') return;
      let isRead = false;
      for (const actuator of actuators) {
        const read = readCommand(actuator, text);
        if (read === null) continue;
        isRead = true;
        if (isLate(actuator.id, read.boot, read.sequence)) refused.late++;
        else twin.command(actuator.id, read.on, read.leaseMs);
      }
      if (!isRead) refused.unreadable++;
    },
  };
}

async function lockStep(options: WaterOptions, twin: Twin, wire: Wire, stop: AbortSignal): Promise<void> {
  const { forMs = DAY_MS, stepMs = 5000, answersWithinMs = 10_000, waitsForMs = 60_000, onStep } = options;
  const own = `vatwarden/${twin.plant.id}`;
  const speak = speakerFor(options, twin, wire);
  await wire.online(waitsForMs, stop);
  for (let step = 1; twin.world.nowMs < forMs && !stop.aborted; step++) {
    const elapsedMs = Math.min(stepMs, forMs - twin.world.nowMs);
    twin.advance(elapsedMs);
    speak(step);
    await wire.taken(stop);
    const { minuteOfDay, day, trusted } = twin.clock();
    const time = JSON.stringify({ step, elapsedMs, minuteOfDay, day, trusted });
    const sayTime = () => wire.say({ topic: `${own}/time`, payload: time }, false);
    sayTime();
    await wire.answer(step, answersWithinMs, stop, sayTime);
    await onStep?.(step, twin);
  }
}

async function realTime(options: WaterOptions, twin: Twin, wire: Wire, stop: AbortSignal): Promise<void> {
  const { forMs = HOUR_MS, onStep } = options;
  const speak = speakerFor(options, twin, wire);
  let before = process.hrtime.bigint();
  let owedNs = 0n;
  let step = 0;
  await new Promise<void>((resolve, reject) => {
    const end = (finish: () => void) => {
      clearInterval(timer);
      finish();
    };
    const tick = () => {
      const now = process.hrtime.bigint();
      owedNs += now - before;
      before = now;
      const elapsedMs = Math.min(Number(owedNs / 1_000_000n), REAL_PIECE_MS);
      // What a sleeping machine owes beyond one piece is forgiven; fractions of a millisecond are not.
      owedNs %= 1_000_000n;
      twin.advance(Math.min(elapsedMs, forMs - twin.world.nowMs));
      speak(++step);
      Promise.resolve(onStep?.(step, twin)).catch((error) => end(() => reject(error)));
      if (twin.world.nowMs >= forMs) end(resolve);
    };
    const timer = setInterval(() => {
      try {
        tick();
      } catch (error) {
        end(() => reject(error));
      }
    }, REAL_TICK_MS);
    stop.addEventListener('abort', () => end(resolve));
    if (stop.aborted) end(resolve);
  });
}

/** Says what there is to say after a step: readings, and what the person asks for. */
function speakerFor({ starts = [] }: WaterOptions, twin: Twin, wire: Wire): (step: number) => void {
  const topic = `vatwarden/${twin.plant.id}/request`;
  const ask = (request: object) => wire.say({ topic, payload: JSON.stringify(request) }, false);
  let waiting = starts;
  return (step) => {
    for (const message of messagesOf(twin.plant, twin.reports())) wire.say(message, true);
    twin.told().forEach((told, place) => {
      ask(requestOf(told, `person-${step}-${place}`));
    });
    if (twin.world.nowMs < STARTS_AFTER_MS) return;
    for (const unit of waiting) ask({ id: `person-starts-${unit}`, request: 'start', unit });
    waiting = [];
  };
}

function requestOf(told: Told, id: string): Record<string, string> {
  if (told.ask === 'salt-added') return { id, request: 'salt-added', mass: `${told.massKg} kg` };
  if (told.ask === 'level-right') return { id, request: 'level-right', system: told.system, who: told.who };
  const { vessel, salinity, instrument } = told;
  return { id, request: 'salinity-measured', vessel, value: `${salinity} PSU`, instrument };
}

function askedIn(text: string): Asked | null {
  if (text === '') return null;
  try {
    const { task, vessel, massKg, message } = JSON.parse(text);
    if (task !== 'add-salt' && task !== 'measure-salinity' && task !== 'look') return null;
    return {
      task,
      vessel: String(vessel),
      massKg: typeof massKg === 'number' ? massKg : null,
      message: { text: String(message?.text) },
    };
  } catch {
    return null;
  }
}
