// The four questions that somebody standing before a station asks, each answered in a sentence or two from what is known.
import { computed } from '@preact/signals';
import type { Priority } from '../../../control/guard/types.ts';
import type { Id, Message } from '../../../language/message.ts';
import type { Sections, Words } from '../../contract.ts';
import type { MarkKind } from '../drawing/symbols.tsx';
import { sentence, t, told } from '../texts.ts';
import { duration, mass } from '../units.ts';
import { atMs, bypassOf, isOld, live, silentMs, standing } from './live.ts';
import { failed, overdue, proofHref, sensorName } from './proofs.ts';
import { stopped } from './stopped.ts';
import { rowStanding, targetNow } from './targets.ts';
import { clock, moment } from './time.ts';

export interface AnswerNow {
  readonly mark: MarkKind;
  readonly head: string;
  readonly words: string;
  readonly href: string;
}

type Alarm = Sections['alarms'][number];
const RANK: Readonly<Record<Priority, number>> = { urgent: 0, soon: 1, notice: 2 };
const QUIET: readonly Alarm['state'][] = ['shelved', 'suppressed-by-design', 'out-of-service'];

const isNothing = ({ id }: Message): boolean => id === 'nothing';

/** Alarms that ask for somebody, the most urgent first, those nobody has seen before those somebody has. */
export const standingAlarms = computed<readonly Alarm[]>(() => {
  const seen = ({ state }: Alarm) => Number(!state.includes('unacknowledged'));
  return (live.alarms.value ?? [])
    .filter(({ state }) => !QUIET.includes(state) && state !== 'normal')
    .toSorted(
      (a, b) =>
        Number(isOver(a)) - Number(isOver(b)) ||
        RANK[a.priority] - RANK[b.priority] ||
        seen(a) - seen(b) ||
        b.sinceMs - a.sinceMs,
    );
});

/** What it told of is over; nobody has acknowledged it yet. */
export const isOver = ({ state }: Pick<Alarm, 'state'>): boolean => state === 'returned-unacknowledged';

/** In the past where it is over: "is silent" of a sensor that speaks again is no true word. */
export const alarmWords = (alarm: Alarm): string =>
  isOver(alarm) ? t('alarm.was', { words: told(alarm.words) }) : sentence(alarm.words);

export const isUnseen = ({ state }: Alarm): boolean => state.includes('unacknowledged');
export const isTrip = ({ alarm }: Pick<Alarm, 'alarm'>): boolean =>
  (live.trips.value ?? []).some(({ row }) => row === alarm);

export function allRight(): AnswerNow {
  if (isOld.value)
    return {
      mark: 'stale',
      head: t('right.nobody-knows'),
      words: t('right.silent', { time: duration(silentMs.value) }),
      href: '#now',
    };
  const alarms = standingAlarms.value;
  const [worst] = alarms;
  const link = live.link.value;
  if (link && !link.proven && worst?.priority !== 'urgent')
    return {
      mark: 'soon',
      head: t('right.no-link'),
      words: t('right.no-link-words', { moment: moment(link.sinceMs) }),
      href: '#alarms',
    };
  if (worst !== undefined) {
    const more = alarms.length > 1 ? ` ${t('right.more', { count: alarms.length - 1 })}` : '';
    return {
      mark: isOver(worst) ? 'notice' : worst.priority,
      head: t(isOver(worst) ? 'right.notice' : `right.${worst.priority}`),
      words: `${stopped(alarmWords(worst))}${more}`,
      href: `#alarms/${encodeURIComponent(worst.alarm)}`,
    };
  }
  const [bad] = failed.value;
  if (bad !== undefined)
    return {
      mark: 'soon',
      head: t('right.soon'),
      words: t('proofs.has-failed', { sensor: bad.moved }),
      href: proofHref(bad.row.key),
    };
  const unknown = live.unknown.value ?? [];
  if (unknown.length > 0)
    return {
      mark: 'stale',
      head: t('right.not-all-known'),
      words: unknownWords(unknown),
      href: '#now',
    };
  return { mark: 'fine', head: t('right.yes'), words: t('right.yes-words'), href: '#alarms' };
}

/** After a start nothing is known: the first two say what is meant, the drawing shows the rest. */
const UNKNOWN_SHOWN = 2;

function unknownWords(unknown: readonly Message[]): string {
  const what = unknown.slice(0, UNKNOWN_SHOWN).map(told).join('; ');
  const rest = unknown.length - UNKNOWN_SHOWN;
  return `${t('right.unknown', { what })}${rest > 0 ? ` ${t('right.more', { count: rest })}` : ''}`;
}

type Units = Sections['units'];

export function doing(): AnswerNow {
  const units = live.units.value;
  if (units === null) return { mark: 'stale', head: t('unknown'), words: '', href: '#now' };
  const busy = Object.values(units.exchange).find(({ step }) => step !== 'rest');
  const head = busy ? t('unit.exchange') : headOf(units);
  const words = busy
    ? sentence(busy.words)
    : units.batch.procedure === 'running'
      ? sentence(units.batch.words)
      : units.refill.procedure === 'running'
        ? sentence(units.refill.words)
        : t('doing.rests');
  const runs =
    units.batch.procedure === 'running' || units.refill.procedure === 'running' || busy !== undefined;
  return { mark: runs ? 'runs' : 'rests', head, words: `${stopped(words)} ${when()}`.trim(), href: '#doing' };
}

function headOf({ batch, refill }: Units): string {
  if (batch.procedure === 'running')
    return batch.stage === 'ready' ? t('doing.ready') : t('doing.batch', { number: batch.number });
  if (refill.procedure === 'running') return t('unit.refill');
  return t('doing.nothing');
}

/** `Ready about 14:20`: a forecast, so never to the minute when it is far. */
export function when(): string {
  const forecast = live.forecast.value;
  const units = live.units.value;
  if (forecast === null || units === null || units.batch.stage === 'ready') return '';
  if (units.batch.procedure !== 'running' || forecast.readyInMs === null) return '';
  const about =
    forecast.readyInMs < 86_400_000 ? clock(atMs.value + forecast.readyInMs) : duration(forecast.readyInMs);
  return t(forecast.waitsForPerson ? 'doing.ready-after-person' : 'doing.ready-about', {
    time: about,
    lasts: duration(forecast.readyInMs),
  });
}

export interface Waiting {
  readonly unit: string;
  readonly words: Words;
  readonly held: boolean;
  /** It makes no headway for longer than it may, and somebody was told. */
  readonly isOverdue?: true;
  /** The row that it waits for, where its words name none. */
  readonly by: Message | null;
}

/** The core says only that it waits; the first row over its routes says for what. */
function refillBlocker(): Message | null {
  for (const id of standing.value?.targets.refill ?? []) {
    const row = rowStanding(targetNow(id)?.by[0]?.key ?? '');
    if (row) return row.words;
  }
  return null;
}

/** What a unit says while it waits. */
const WAITING: readonly Id[] = [
  'moved-so-far',
  'settling-between-steps',
  'waiting-because',
  'waiting-for-batch',
  'waiting-for-fresh-water-to-begin',
  'waiting-for-next-batch',
  'waiting-for-other-system',
  'waiting-for-request',
  'waiting-for-temperature',
  'waiting-full-and-low',
  'waiting-no-clock',
  'waiting-quiet-hours',
  'waiting-to-fill',
];

/** Units that are held, stopped, or wait for something. */
export const waiting = computed<readonly Waiting[]>(() => {
  const units = live.units.value;
  if (units === null) return [];
  const all: [string, Units['refill']][] = [
    ['refill', units.refill],
    ['batch', units.batch],
    ...Object.entries(units.exchange).map(([id, unit]): [string, Units['refill']] => [id, unit]),
  ];
  const starts = standing.value?.policy.starts;
  return all.flatMap(([id, { procedure, words }]): Waiting[] => {
    const overdue = standingAlarms.value.find(({ alarm }) => alarm === `A-10/${id}`);
    if (overdue !== undefined)
      return [{ unit: unitName(id), words: overdue.words, held: false, isOverdue: true, by: null }];
    const starter = id === 'refill' || id === 'batch' ? starts?.[id] : starts?.exchange;
    const isThere = id !== 'refill' || standing.value?.process.refill !== null;
    if (procedure === 'idle' && starter === 'person' && isThere)
      return [{ unit: unitName(id), words: t('why.person-starts'), held: false, by: null }];
    const held = !['running', 'idle', 'complete', 'restarting'].includes(procedure);
    const asked = id === 'batch' && live.task.value !== null;
    const waits = asked || procedure === 'restarting' || WAITING.includes(words.id);
    return held || waits
      ? [{ unit: unitName(id), words, held, by: id === 'refill' && !held ? refillBlocker() : null }]
      : [];
  });
});

export function unitName(id: string): string {
  if (id === 'refill' || id === 'batch') return t(`unit.${id}`);
  const only = (standing.value?.systemIds.length ?? 0) <= 1;
  return only
    ? t('unit.exchange')
    : t('unit.exchange-of', { system: standing.value?.vessels[id]?.name ?? id });
}

/** A reading that something needs is missing: what waits for it says only that it waits, or goes on as it was. */
const tellsOfSilence = ({ alarm }: Alarm): boolean =>
  /^(?:A-40|I-12|I-13)\//u.test(alarm) && bypassOf(alarm) === undefined;

export function whyNot(): AnswerNow {
  const waits = waiting.value;
  const worst = waits.find(({ held }) => held) ?? waits.find(({ isOverdue }) => isOverdue) ?? waits[0];
  const silent = standingAlarms.value.find((alarm) => tellsOfSilence(alarm) && !isOver(alarm));
  if (silent !== undefined && !worst?.held)
    return {
      mark: 'stale',
      head: t('why.silent'),
      words: stopped(sentence(silent.words)),
      href: `#alarms/${encodeURIComponent(silent.alarm)}`,
    };
  if (worst === undefined)
    return {
      mark: 'fine',
      head: t('why.nothing-waits'),
      words: t('why.nothing-waits-words'),
      href: '#station',
    };
  const more = waits.length > 1 ? ` ${t('why.more', { count: waits.length - 1 })}` : '';
  return {
    mark: worst.held ? 'forbidden' : 'stale',
    head: t(worst.held ? 'why.is-held' : worst.isOverdue ? 'why.is-overdue' : 'why.waits', {
      unit: worst.unit,
    }),
    words: `${stopped(`${sentence(worst.words)}${worst.by ? `: ${told(worst.by)}` : ''}`)}${more}`,
    href: '#station',
  };
}

export function toDo(): AnswerNow {
  if (isOld.value)
    return { mark: 'person', head: t('do.service'), words: t('do.service-words'), href: '#now' };
  const task = live.task.value;
  const trips = live.trips.value ?? [];
  const test = live.proofTests.value?.underWay ?? null;
  if (test !== null)
    return {
      mark: 'person',
      head: t('proofs.under-way', { sensor: sensorName(test.sensor) }),
      words: sentence(test.words),
      href: proofHref(test.row),
    };
  if (trips.length > 0)
    return {
      mark: 'latched',
      head: t('do.trip', { count: trips.length }),
      words: trips[0] === undefined ? '' : sentence(trips[0].words),
      href: `#alarms/${encodeURIComponent(trips[0]?.row ?? '')}`,
    };
  if (task !== null)
    return {
      mark: 'person',
      head:
        task.task === 'add-salt' && task.massKg !== null
          ? t('do.salt', { mass: mass(task.massKg) })
          : t(`do.${task.task}`),
      words: t('do.task-words'),
      href: '#do',
    };
  const [bad] = failed.value;
  if (bad !== undefined)
    return {
      mark: 'person',
      head: t('proofs.has-failed', { sensor: bad.moved }),
      words: t('proofs.failed-care'),
      href: proofHref(bad.row.key),
    };
  const unseen = standingAlarms.value.find(isUnseen);
  if (unseen !== undefined)
    return {
      mark: 'person',
      head: t('do.acknowledge'),
      words:
        isOver(unseen) || isNothing(unseen.response)
          ? stopped(alarmWords(unseen))
          : sentence(unseen.response),
      href: '#alarms',
    };
  const held = waiting.value.find((one) => one.held);
  if (held !== undefined)
    return {
      mark: 'person',
      head: t('do.restart', { unit: held.unit }),
      words: t('do.restart-words'),
      href: '#doing',
    };
  const stands = standingAlarms.value.find(
    (alarm) => !isOver(alarm) && alarm.priority !== 'notice' && !isNothing(alarm.response),
  );
  if (stands !== undefined)
    return {
      mark: 'person',
      head: t('do.alarm-stands'),
      words: sentence(stands.response),
      href: `#alarms/${encodeURIComponent(stands.alarm)}`,
    };
  const [late] = overdue.value;
  if (late !== undefined)
    return {
      mark: 'person',
      head: t('proofs.count-overdue', { count: overdue.value.length }),
      words: t('proofs.first', { sensor: late.moved }),
      href: proofHref(late.row.key),
    };
  return { mark: 'fine', head: t('do.nothing'), words: t('do.nothing-words'), href: '#do' };
}
