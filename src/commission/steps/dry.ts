// Steps with one output on and its load isolated: which one it is, when it ends by itself, what a power cut leaves, how long
// its feedback takes.
import { isMessage, type Message, message } from '../../language/message.ts';
import type { Actuator } from '../../station/plant.ts';
import { loadsOf } from '../items.ts';
import { exchanged } from '../proposal.ts';
import { type Result, result, type Trial } from '../trial.ts';

const known = ({ plant, item }: Trial): Actuator => plant.actuators[item.subject] as Actuator;
/** Beside what the file says: a control tick, and the way over the broker. */
const MARGIN_MS = 750;
const withinMs = ({ feedback }: Actuator): number => feedback?.withinMs ?? 0;
const secondsOf = (ms: number): string => `${Math.ceil(ms / 100) / 10} s`;

/** Said once for each output in a session. @throws Skipped where it has no isolator */
export async function isolate({ person, isolated, plant }: Trial, id: string): Promise<void> {
  if (isolated.has(id)) return;
  const { kind } = plant.actuators[id] as Actuator;
  const words = kind === 'heater' ? 'commission-isolate-heater' : 'commission-isolate';
  await person.oneOf('isolated', message(words, { device: id }), ['isolated']);
  isolated.add(id);
}

const refused = (why: Message): Result => result('undone', why);

export async function identityStep(trial: Trial): Promise<Result> {
  const { bench, person, plant, text } = trial;
  const actuator = known(trial);
  const { id } = actuator;
  await isolate(trial, id);
  await person.done('listen', message('commission-listen', { device: id }));
  const fromMs = bench.nowMs();
  const atMs = await bench.switchOn(id, true, true);
  if (isMessage(atMs)) return refused(atMs);
  const spoke = () =>
    bench.since(fromMs).find((one) => one.what === 'feedback' && one.value === true)?.id ?? null;
  await bench.until(spoke, Math.max(2_000, withinMs(actuator) + MARGIN_MS));
  await bench.allOff();
  const heard = [
    ...new Set(
      bench
        .since(fromMs)
        .filter((one) => one.what === 'feedback' && one.value === true)
        .map((one) => one.id),
    ),
  ];
  const outputs = loadsOf(plant).map((one) => one.id);
  const clicked = await person.oneOf('clicked', message('commission-which-clicked'), [
    ...outputs,
    'none',
    'several',
  ]);
  const measured = { clicked, feedbackOf: heard.join(' ') };
  if (clicked === 'several')
    return result('undone', message('commission-several-clicked', { device: id }), measured);
  if (clicked === 'none')
    return result(
      'failed',
      message('commission-none-clicked', { device: id, topic: actuator.command.topic }),
      measured,
    );
  // Whose feedback follows the relay that the command switches.
  const [feedbackOf] = heard;
  if (clicked !== id) {
    const keys = feedbackOf === id ? ['command', 'feedback'] : ['command'];
    const change = exchanged(text, 'actuators', [id, clicked], keys);
    return result(
      'failed',
      message('commission-swapped', { device: id, otherDevice: clicked }),
      measured,
      change,
    );
  }
  if (actuator.feedback === null || feedbackOf === id)
    return result('passed', message('commission-identified', { device: id }), measured);
  if (feedbackOf === undefined)
    return result(
      'failed',
      message('commission-feedback-silent', { device: id, topic: actuator.feedback.topic }),
      measured,
    );
  const change = exchanged(text, 'actuators', [id, feedbackOf], ['feedback']);
  return result(
    'failed',
    message('commission-feedback-of-other', { device: id, otherDevice: feedbackOf }),
    measured,
    change,
  );
}

/** Off by itself; not before its time while it is renewed; and off without us. */
export async function leaseStep(trial: Trial): Promise<Result> {
  const { bench, person } = trial;
  const actuator = known(trial);
  const { id, leaseMs, longestMs, countsLease } = actuator;
  await isolate(trial, id);
  await person.done('ready', message('commission-lease-ready', { device: id, durationMs: leaseMs }));
  const once = await droppedAfter(
    trial,
    false,
    countsLease ? longestMs + withinMs(actuator) + MARGIN_MS : Math.min(longestMs, 8_000),
  );
  if (isMessage(once)) return refused(once);
  const measured = { leaseMs, droppedAfterMs: once.droppedMs };
  if (once.heardOn === false)
    return result('undone', message('commission-never-heard-on', { device: id }), measured);
  if (!countsLease)
    return once.droppedMs === null
      ? result('passed', message('commission-lease-not-claimed', { device: id }), measured)
      : result(
          'passed',
          message('commission-lease-unclaimed', { device: id, durationMs: once.droppedMs }),
          measured,
        );
  if (once.droppedMs === null) {
    const change = [{ path: ['actuators', id, 'lease', 'countedBy'], value: 'nobody' }];
    return result(
      'failed',
      message('commission-lease-not-there', { device: id, durationMs: longestMs }),
      measured,
      change,
    );
  }
  if (once.droppedMs > longestMs + MARGIN_MS + (actuator.feedback?.republishesMs ?? 0) / 2) {
    const change = [{ path: ['actuators', id, 'lease', 'lasts'], value: secondsOf(once.droppedMs) }];
    return result(
      'failed',
      message('commission-lease-longer', { device: id, durationMs: once.droppedMs, leaseMs }),
      measured,
      change,
    );
  }
  await bench.allOff();
  const renewed = await droppedAfter(trial, true, 1.5 * leaseMs + MARGIN_MS);
  if (isMessage(renewed)) return refused(renewed);
  const both = { ...measured, renewedDroppedAfterMs: renewed.droppedMs, renewedForMs: renewed.forMs };
  if (renewed.droppedMs !== null)
    return result(
      'failed',
      message('commission-renewed-runs-out', { device: id, durationMs: renewed.droppedMs }),
      both,
    );
  if (renewed.isCutShort)
    return result('undone', message('commission-renewal-needs-water', { device: id }), both);
  return withoutLink(trial, both);
}

interface Dropped {
  /** From the last `on` before it; null: it stayed on for as long as was watched. */
  readonly droppedMs: number | null;
  readonly heardOn: boolean;
  readonly forMs: number;
  /** A row ended it before its time. */
  readonly isCutShort: boolean;
}

async function droppedAfter(trial: Trial, renewed: boolean, watchMs: number): Promise<Dropped | Message> {
  const { bench } = trial;
  const actuator = known(trial);
  const { id } = actuator;
  const onMs = await bench.switchOn(id, true, renewed);
  if (isMessage(onMs)) return onMs;
  const heard = await bench.until(
    () => bench.first(onMs, 'feedback', id, true),
    withinMs(actuator) + MARGIN_MS,
  );
  const over = () => {
    if (heard !== null && bench.first(heard.atMs, 'feedback', id, false) !== null) return true;
    return bench.isOn(id) ? null : true;
  };
  if (heard !== null) await bench.until(over, watchMs - (bench.nowMs() - onMs));
  const wasOn = bench.isOn(id);
  const forMs = Math.round(bench.nowMs() - onMs);
  bench.try(null);
  const off = heard === null ? null : bench.first(heard.atMs, 'feedback', id, false);
  await bench.allOff();
  const told = bench
    .since(onMs)
    .find((one) => one.what === 'command' && one.id === id && one.value === false);
  const byItself =
    off !== null && (told === undefined || off.atMs <= told.atMs) ? Math.round(off.atMs - onMs) : null;
  return { droppedMs: byItself, heardOn: heard !== null, forMs, isCutShort: !wasOn && byItself === null };
}

/** Our own link is cut while it is on: it must end in time, as somebody else on the broker hears. */
async function withoutLink(trial: Trial, measured: Result['measured']): Promise<Result> {
  const { bench, witness } = trial;
  const actuator = known(trial);
  const { id, longestMs } = actuator;
  const onMs = await bench.switchOn(id, true, true);
  if (isMessage(onMs)) return result('undone', onMs, measured);
  const heard = await bench.until(
    () => bench.first(onMs, 'feedback', id, true),
    withinMs(actuator) + MARGIN_MS,
  );
  const watchMs = longestMs + withinMs(actuator) + MARGIN_MS;
  bench.cutting(true);
  const lastMs = bench.nowMs();
  const offMs = heard === null ? null : await witness.cutLink(id, watchMs).finally(() => bench.try(null));
  bench.cutting(false);
  await bench.allOff();
  const all = { ...measured, offWithoutLinkMs: offMs === null ? null : Math.round(offMs - lastMs) };
  if (heard === null || offMs === null) {
    const change = [{ path: ['actuators', id, 'lease', 'countedBy'], value: 'nobody' }];
    return result(
      'failed',
      message('commission-on-without-link', { device: id, durationMs: watchMs }),
      all,
      change,
    );
  }
  return result(
    'passed',
    message('commission-lease-right', { device: id, durationMs: measured.droppedAfterMs as number }),
    all,
  );
}

/** Power is taken from the device itself while it is on, and given again: it must be off. */
export async function powerStep(trial: Trial): Promise<Result> {
  const { bench, person } = trial;
  const actuator = known(trial);
  const { id } = actuator;
  await isolate(trial, id);
  await person.done('ready', message('commission-power-ready', { device: id }));
  const onMs = await bench.switchOn(id, true, true);
  if (isMessage(onMs)) return refused(onMs);
  const heard = await bench.until(
    () => bench.first(onMs, 'feedback', id, true),
    withinMs(actuator) + MARGIN_MS,
  );
  if (heard === null) {
    await bench.allOff();
    return result('undone', message('commission-never-heard-on', { device: id }));
  }
  await person.done('cut', message('commission-power-cut', { device: id }));
  const wasOn = bench.isOn(id);
  bench.try(null);
  const silent =
    bench
      .since(onMs)
      .filter((one) => one.what === 'feedback' && one.id === id)
      .at(-1)?.value === true;
  const backMs = bench.nowMs();
  await person.done('given', message('commission-power-given', { device: id }));
  const spoke = () => bench.since(backMs).find((one) => one.what === 'feedback' && one.id === id) ?? null;
  const first = await bench.until(spoke, POWER_BACK_MS);
  await bench.pause(SETTLE_MS);
  const cameOn = bench
    .since(backMs)
    .some((one) => one.what === 'feedback' && one.id === id && one.value === true);
  await bench.allOff();
  const measured = { onWhenCut: wasOn && silent, onAfterPower: cameOn };
  if (first === null) return result('undone', message('commission-power-silent', { device: id }), measured);
  if (cameOn) return result('failed', message('commission-power-restores-on', { device: id }), measured);
  if (!measured.onWhenCut)
    return result('undone', message('commission-power-too-late', { device: id }), measured);
  return result('passed', message('commission-power-right', { device: id }), measured);
}
const POWER_BACK_MS = 60_000;
const SETTLE_MS = 2_000;

const SWITCHINGS = 10;

/** Ten switchings, each clocked from the command to the feedback. */
export async function latencyStep(trial: Trial): Promise<Result> {
  const { bench, person } = trial;
  const actuator = known(trial);
  const { id } = actuator;
  await isolate(trial, id);
  await person.done('ready', message('commission-latency-ready', { device: id, count: SWITCHINGS }));
  const waits: number[] = [];
  const longMs = 3 * withinMs(actuator) + MARGIN_MS;
  while (waits.length < SWITCHINGS) {
    const onMs = await bench.switchOn(id, true, true);
    if (isMessage(onMs)) return refused(onMs);
    const on = await bench.until(() => bench.first(onMs, 'feedback', id, true), longMs);
    const turnMs = bench.nowMs();
    bench.try(null);
    const told = await bench.until(() => bench.first(turnMs, 'command', id, false), longMs);
    const off =
      told === null ? null : await bench.until(() => bench.first(told.atMs, 'feedback', id, false), longMs);
    await bench.allOff();
    if (on === null || off === null || told === null)
      return result('failed', message('commission-feedback-late', { device: id, durationMs: longMs }), {
        switchings: waits.length,
      });
    waits.push(on.atMs - onMs, off.atMs - told.atMs);
  }
  const worstMs = Math.round(Math.max(...waits));
  const measured = { switchings: waits.length, worstMs };
  if (worstMs > withinMs(actuator)) {
    const change = [{ path: ['actuators', id, 'feedback', 'within'], value: secondsOf(1.5 * worstMs) }];
    return result(
      'failed',
      message('commission-feedback-slow', { device: id, durationMs: worstMs }),
      measured,
      change,
    );
  }
  return result(
    'passed',
    message('commission-feedback-in-time', { device: id, durationMs: worstMs }),
    measured,
  );
}
