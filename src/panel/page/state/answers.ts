// The four questions that somebody standing before a station asks. What is so is one ranked list of facts, each with what it says
// to each question; an answer is what the first fact says that says anything. So no answer can leave out what another one rests on.
import { computed } from '@preact/signals';
import { type StepKind, stepsIn } from '../../../language/told.ts';
import { sentence, t, told } from '../texts.ts';
import { duration, mass } from '../units.ts';
import { type AnswerNow, alarmHref, type Fact, type Question } from './fact.ts';
import { bypassOf, isOld, live, silentMs, standing } from './live.ts';
import { failed, overdue, proofHref, sensorName } from './proofs.ts';
import { running, uncommanded } from './running.ts';
import { type Alarm, alarmWords, isOver, isTrip, isUnseen, standingAlarms } from './standing-alarms.ts';
import { stopped } from './stopped.ts';
import { isUnheard, rowStanding } from './targets.ts';
import { moment } from './time.ts';
import { type Waiting, waiting } from './waiting.ts';

/** What is so now: what a person must know first stands first. */
const facts = computed<readonly Fact[]>(() => {
  if (isOld.value) return [serviceSilent()];
  const alarms = standingAlarms.value.filter((alarm) => !isOver(alarm));
  const of = (isMeant: (alarm: Alarm) => boolean) => alarms.filter(isMeant);
  return [
    ...uncommanded(),
    ...trips((alarm) => alarm?.priority === 'urgent'),
    ...of(({ priority }) => priority === 'urgent').map(toldBy),
    ...testUnderWay(),
    ...trips((alarm) => alarm?.priority !== 'urgent'),
    ...noLink(),
    ...task(),
    ...testFailed(),
    ...of(({ priority }) => priority === 'soon').map(toldBy),
    ...waiting.value.filter(({ held }) => held).map(paused),
    ...waiting.value.filter(({ isOverdue }) => isOverdue).map(overdueUnit),
    ...testRuns(),
    ...outOfService(),
    ...missing(),
    ...of(({ priority }) => priority === 'notice').map(toldBy),
    ...testsOverdue(),
    ...upkeep(),
    ...standingAlarms.value.filter(isOver).map(returned),
    ...waiting.value.filter(({ held, isOverdue }) => !held && !isOverdue).map(waits),
    ...unknownNow(),
    ...running(),
    CALM(),
  ];
});

const answer = (question: Question): AnswerNow => {
  const found = facts.value.find((fact) => fact[question] !== undefined)?.[question];
  return found ?? { mark: 'stale', head: t('unknown'), words: '', href: '#now' };
};

type Four = Readonly<Record<Question, AnswerNow>>;

/** Each fact is said once: a sentence that stands in the head of an answer, or in one before it, is left out. */
export const answers = computed((): Four => {
  const right = answer('right');
  const why = answer('why');
  const todo = answer('todo');
  const doing = answer('doing');
  const said = new Set([right, why, todo, doing].map(({ head }) => stopped(head)));
  const once = (one: AnswerNow): AnswerNow => {
    const kept = sentencesOf(one.words).filter((sentence) => !said.has(sentence));
    for (const sentence of kept) said.add(sentence);
    return { ...one, words: kept.join(' ') };
  };
  // Why it waits stands where that is asked, and not where it is asked what runs.
  return { right: withMore(once(right)), why: once(why), todo: once(todo), doing: once(doing) };
});

export const sentencesOf = (words: string): readonly string[] =>
  words === '' ? [] : words.split(/(?<=[.!?])\s+(?=\p{Lu})/u);

/** Does anything at all ask for a person? */
export const isCalm = (): boolean => answers.value.todo.mark === 'fine';

const CALM = (): Fact => ({
  right: { mark: 'fine', head: t('right.yes'), words: t('right.yes-words'), href: '#alarms' },
  doing: { mark: 'rests', head: t('doing.nothing'), words: stopped(t('doing.rests')), href: '#doing' },
  why: { mark: 'fine', head: t('why.nothing-waits'), words: t('why.nothing-waits-words'), href: '#station' },
  todo: { mark: 'fine', head: t('do.nothing'), words: t('do.nothing-words'), href: '#do' },
});

const serviceSilent = (): Fact => ({
  right: {
    mark: 'stale',
    head: t('right.nobody-knows'),
    words: t('right.silent', { time: duration(silentMs.value) }),
    href: '#now',
  },
  todo: { mark: 'person', head: t('do.service'), words: t('do.service-words'), href: '#now' },
});

/** @param isMeant asked of its alarm; none stands where a proof test provoked it or somebody silenced it */
function trips(isMeant: (alarm: Alarm | undefined) => boolean): readonly Fact[] {
  const all = live.trips.value ?? [];
  const meant = all.filter(({ row }) => isMeant(standingAlarms.value.find(({ alarm }) => alarm === row)));
  return meant.map(({ row, words }) => ({
    why: {
      mark: 'forbidden',
      head: t('why.shut-down'),
      words: stopped(sentence(words)),
      href: alarmHref(row),
    },
    todo: {
      mark: 'latched',
      head: t('do.trip', { count: all.length }),
      words: firstSteps(row) || stopped(sentence(words)),
      href: alarmHref(row),
    },
  }));
}

/** What its alarm says is to be done first: the electricity, or what can hurt and the first step. */
function firstSteps(key: string): string {
  const alarm = standingAlarms.value.find((one) => one.alarm === key);
  return alarm === undefined ? '' : nextStep(alarm);
}

const ACTED: readonly StepKind[] = ['do', 'check', 'if', 'plain'];

export function nextStep({ response }: Alarm): string {
  if (typeof response === 'string') return response === '' ? '' : stopped(sentence(response));
  const steps = stepsIn(response);
  const first = steps.find(({ step }) => step === 'first');
  const shown =
    first === undefined
      ? [
          ...steps.filter(({ step }) => step === 'caution').slice(0, 1),
          ...steps.filter(({ step }) => ACTED.includes(step)).slice(0, 1),
        ]
      : [first];
  return shown.map((step) => stopped(sentence(step.told))).join(' ');
}

/** A reading that something needs is missing: what waits for it says only that it waits, or goes on as it was. */
const tellsOfSilence = ({ alarm }: Alarm): boolean => isUnheard(alarm) && bypassOf(alarm) === undefined;

function toldBy(alarm: Alarm): Fact {
  const { alarm: key, priority } = alarm;
  const words = stopped(alarmWords(alarm));
  const href = alarmHref(key);
  const step = nextStep(alarm);
  return {
    right: { mark: priority, head: t(`right.${priority}`), words, href },
    ...(tellsOfSilence(alarm) ? { why: { mark: 'stale', head: t('why.silent'), words, href } } : {}),
    ...(isTrip(alarm)
      ? {}
      : {
          todo: {
            mark: 'person',
            head: t(isUnseen(alarm) ? 'do.acknowledge' : 'do.alarm-stands'),
            words: step === '' ? words : step,
            href,
          },
        }),
  };
}

const returned = (alarm: Alarm): Fact => {
  const words = stopped(alarmWords(alarm));
  return {
    right: { mark: 'notice', head: t('right.notice'), words, href: alarmHref(alarm.alarm) },
    todo: { mark: 'person', head: t('do.acknowledge'), words, href: '#alarms' },
  };
};

function testUnderWay(): readonly Fact[] {
  const test = live.proofTests.value?.underWay ?? null;
  if (test === null) return [];
  const head = t('proofs.under-way', { sensor: sensorName(test.sensor) });
  const said = { head, words: sentence(test.words), href: proofHref(test.row) };
  return [{ why: { mark: 'stale', ...said }, todo: { mark: 'person', ...said } }];
}

/** Worse things are told before it; what it shuts down is no alarm, and not all is as ever. */
function testRuns(): readonly Fact[] {
  const test = live.proofTests.value?.underWay ?? null;
  if (test === null) return [];
  const words = stopped(t('proofs.under-way', { sensor: sensorName(test.sensor) }));
  return [{ right: { mark: 'notice', head: t('right.notice'), words, href: proofHref(test.row) } }];
}

function noLink(): readonly Fact[] {
  const link = live.link.value;
  if (link === null || link.proven) return [];
  const words = t('right.no-link-words', { moment: moment(link.sinceMs) });
  return [
    {
      right: { mark: 'soon', head: t('right.no-link'), words, href: '#alarms' },
      why: { mark: 'stale', head: t('right.no-link'), words, href: '#alarms' },
    },
    // Before the alarm comes, which says more.
    standingAlarms.value.some(({ alarm }) => rowStanding(alarm)?.means === 'unlinked')
      ? {}
      : { todo: { mark: 'person', head: t('do.link'), words: t('cut.link'), href: '#now' } },
  ];
}

function task(): readonly Fact[] {
  const asked = live.task.value;
  if (asked === null) return [];
  const head =
    asked.task === 'add-salt' && asked.massKg !== null
      ? t('do.salt', { mass: mass(asked.massKg) })
      : t(`do.${asked.task}`);
  return [{ todo: { mark: 'person', head, words: t('do.task-words'), href: '#do' } }];
}

function testFailed(): readonly Fact[] {
  return failed.value.map(({ moved, row }) => {
    const said = { head: t('proofs.has-failed', { sensor: moved }), href: proofHref(row.key) };
    return {
      right: { mark: 'soon', head: t('right.soon'), words: stopped(said.head), href: said.href },
      todo: { mark: 'person', words: t('proofs.failed-care'), ...said },
    };
  });
}

function blocked({ words, by }: Waiting): string {
  const more = waiting.value.length - 1;
  const why = stopped(`${sentence(words)}${by ? `: ${told(by)}` : ''}`);
  return more > 0 ? `${why} ${t('why.more', { count: more })}` : why;
}

const paused = (one: Waiting): Fact => {
  const head = t('why.is-held', { unit: one.unit });
  return {
    right: { mark: 'notice', head: t('right.notice'), words: stopped(head), href: '#doing' },
    why: { mark: 'forbidden', head, words: blocked(one), href: '#station' },
    todo: {
      mark: 'person',
      head: t('do.restart', { unit: one.unit }),
      words: t('do.restart-words'),
      href: '#doing',
    },
  };
};

const overdueUnit = (one: Waiting): Fact => {
  const head = t('why.is-overdue', { unit: one.unit });
  return { why: { mark: 'stale', head, words: blocked(one), href: '#station' } };
};

const waits = (one: Waiting): Fact => {
  const head = t('why.waits', { unit: one.unit });
  return {
    why: { mark: 'stale', head, words: blocked(one), href: '#station' },
    ...(one.isForPerson
      ? {
          todo: {
            mark: 'person',
            head: t('do.start', { unit: one.unit }),
            words: t('do.start-words'),
            href: '#doing',
          },
        }
      : {}),
  };
};

function outOfService(): readonly Fact[] {
  return Object.entries(live.outOfService.value ?? {}).map(([id, reason]) => {
    const name = standing.value?.sensors[id]?.name ?? standing.value?.actuators[id]?.name ?? id;
    const head = t('service.is-out', { device: name });
    const words = stopped(t('service.because', { reason }));
    return {
      right: { mark: 'notice', head: t('right.notice'), words: stopped(head), href: '#do' },
      todo: { mark: 'person', head, words: `${words} ${t('do.return-words')}`, href: '#do' },
    };
  });
}

/** What is not heard, from the first second on: its alarm waits a while, and so must the word that nothing is to be done. */
function missing(): readonly Fact[] {
  const rows = live.rows.value ?? {};
  return (standing.value?.rows ?? []).flatMap(({ key, words, forbids }): Fact[] => {
    if (!isUnheard(key) || forbids.length === 0) return [];
    if (rows[key]?.holds !== true || bypassOf(key) !== undefined) return [];
    const said = { head: t('why.silent'), words: stopped(sentence(words)), href: '#station' };
    return [{ why: { mark: 'stale', ...said }, todo: { mark: 'person', ...said } }];
  });
}

function testsOverdue(): readonly Fact[] {
  const [late] = overdue.value;
  if (late === undefined) return [];
  const head = t('proofs.count-overdue', { count: overdue.value.length });
  const href = proofHref(late.row.key);
  return [
    {
      right: { mark: 'notice', head: t('right.notice'), words: stopped(head), href },
      todo: { mark: 'person', head, words: t('proofs.first', { sensor: late.moved }), href },
    },
  ];
}

/** It can wait, and is told where nothing else is to be done. */
function upkeep(): readonly Fact[] {
  const [first, ...more] = live.upkeep.value ?? [];
  if (first === undefined) return [];
  const head = t('do.upkeep', { count: more.length + 1 });
  return [{ todo: { mark: 'person', head, words: stopped(sentence(first.words)), href: '#do' } }];
}

/** After a start nothing is known: the first two say what is meant, the drawing shows the rest. */
const UNKNOWN_SHOWN = 2;

function unknownNow(): readonly Fact[] {
  const unknown = live.unknown.value ?? [];
  if (unknown.length === 0) return [];
  const what = unknown.slice(0, UNKNOWN_SHOWN).map(told).join('; ');
  const rest = unknown.length - UNKNOWN_SHOWN;
  const words = `${t('right.unknown', { what })}${rest > 0 ? ` ${t('right.more', { count: rest })}` : ''}`;
  return [{ right: { mark: 'stale', head: t('right.not-all-known'), words, href: '#now' } }];
}

/** How many alarms stand beside the one that is told. */
function withMore(told: AnswerNow): AnswerNow {
  const isOfAlarm = standingAlarms.value.some(({ alarm }) => told.href === alarmHref(alarm));
  const more = standingAlarms.value.length - 1;
  return isOfAlarm && more > 0
    ? { ...told, words: `${told.words} ${t('right.more', { count: more })}`.trim() }
    : told;
}
