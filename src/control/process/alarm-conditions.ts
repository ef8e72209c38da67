// What raises an alarm: rows that hold or are latched, units that wait for a person, promises that are overdue, proof tests
// and bypasses. How each then moves through its states stands in `alarms.ts`.

import type { Plant } from '../../station/plant.ts';
import { type Row, rowOf } from '../guard/interlocks.ts';
import { known } from '../guard/invariant.ts';
import { PERSON_PATIENCE_MS, RESERVE_DEADBAND, RESERVE_PATIENCE_MS } from '../guard/limits.ts';
import { type Message, message } from '../guard/message.ts';
import { perPlant } from '../guard/per-plant.ts';
import { checking, clears, doing, inCase, respond, THEN_RESUME } from '../guard/response.ts';
import type { Priority } from '../guard/types.ts';
import { isLinked } from '../guard/watched.ts';
import { commissioningNews } from './commissioned.ts';
import { exerciseNews } from './exercise-news.ts';
import { levelNews } from './level-news.ts';
import { reserveShareOf } from './on-hand.ts';
import { promiseNews } from './promises.ts';
import { proofNews } from './proof-news.ts';
import { refillNews } from './refill-news.ts';
import type { State, UnitState } from './state.ts';
import { withSwapped } from './swapped.ts';
import { sinkNews } from './telling.ts';
import { isAboutSilence, isUnheard, unheardNews } from './unheard.ts';
import { mayRestart, unitSaid } from './units.ts';

/** One thing that may be an alarm, as it stands now. */
export interface Condition {
  readonly alarm: string;
  readonly active: boolean;
  readonly latched: boolean;
  /** A trip's alarm follows it at once; any other waits for quiet. */
  readonly trip: boolean;
  readonly priority: Priority;
  readonly afterMs: number;
  readonly words: Message;
  readonly response: Message;
  /** It is expected: nobody is told. */
  readonly suppressed?: boolean;
  /** What it says changes while it stands. */
  readonly follows?: boolean;
}

/** What comes and goes with the row that says the same is not told twice. */
const OVERDUE_MS = 60_000;

/** Nothing to tell, and nothing told that could be over: its words are not even put together. */
const isNoNews = (draft: State, active: boolean, alarm: string): boolean =>
  !active && draft.alarms[alarm] === undefined;

export function conditions(plant: Plant, draft: State, holding: readonly Row[]): Condition[] {
  const found: Condition[] = [];
  const unheard: Row[] = [];
  const linked = isLinked(plant, draft);
  const over = noLongerHolding(plant, draft, holding);
  const rows = over.length === 0 ? holding : [...holding, ...over].sort((a, b) => a.place - b.place);
  for (const row of rows) {
    const { key, priority, response } = row;
    if (priority === null) continue;
    const holds = !over.includes(row);
    const suppressed = isExpected(draft, row);
    // Without a link every sensor is silent, and after a start many may be: that is one alarm, not one for each.
    const inOne = holds && isAboutSilence(row) && !(linked && isToldOfItself(plant, draft, row));
    if (inOne && !suppressed) unheard.push(row);
    const active = holds && !inOne;
    const words = wordsOf(plant, draft, row);
    const latched = draft.trips[key] !== undefined;
    const trip = row.action === 'trip';
    found.push({
      alarm: key,
      active,
      latched,
      trip,
      priority,
      afterMs: row.afterMs,
      words,
      response,
      suppressed,
    });
  }
  if (!isNoNews(draft, linked && unheard.length > 0, UNHEARD))
    found.push(nobodyHeard(plant, draft, linked ? unheard : []));
  waits(plant, draft, draft.refill, 'refill', 'A-01/refill', found);
  waits(plant, draft, draft.batch, 'batch', 'A-01/batch', found);
  for (const id in draft.exchange)
    waits(plant, draft, known(draft.exchange, id), id, known(exchangeAlarms(plant), id), found);
  taskWaits(plant, draft, found);
  reserveShort(plant, draft, found);
  for (const news of refillNews(plant, draft)) found.push(news);
  for (const news of levelNews(plant, draft)) found.push({ ...news, latched: false, trip: false });
  for (const news of promiseNews(plant, draft))
    found.push({ ...news, latched: false, trip: true, afterMs: OVERDUE_MS });
  for (const news of sinkNews(draft)) found.push({ ...news, latched: false, trip: true, afterMs: 0 });
  for (const news of proofNews(draft)) found.push({ ...news, latched: false, afterMs: 0 });
  for (const news of commissioningNews(draft))
    found.push({ ...news, latched: false, afterMs: 0, follows: true });
  bypassed(draft, found);
  for (const news of exerciseNews(plant, draft))
    found.push({ ...news, latched: false, trip: true, afterMs: 0 });
  return found;
}

/** An alarm keeps the words that it was raised with: what showed then may be gone when somebody reads them. */
function wordsOf(plant: Plant, draft: State, row: Row): Message {
  const raised = draft.alarms[row.key];
  return raised?.active ? raised.words : withSwapped(plant, draft, row);
}

/** It was heard and fell silent, or it sends nonsense, or its own alarm stands from before the link came up anew. */
const isToldOfItself = (plant: Plant, draft: State, row: Row): boolean =>
  !isUnheard(plant, draft, row) || draft.alarms[row.key]?.active === true;

/** What was never heard since the link came up. It goes when the last of them has spoken, not minutes later. */
function nobodyHeard(plant: Plant, draft: State, rows: readonly Row[]): Condition {
  const news = unheardNews(plant, draft, rows);
  return { alarm: UNHEARD, ...news, latched: false, trip: true, priority: 'soon', afterMs: 0, follows: true };
}
const UNHEARD = 'A-40/unheard';

/** What a proof test provokes, and the silence of a sensor that a person took out of service, is no news. */
function isExpected(draft: State, row: Row): boolean {
  if (draft.proofs.test?.row === row.key) return true;
  return row.means === 'silent' && draft.outOfService[row.subject] !== undefined;
}

/** Every row that is switched off, and every one that was until now. */
function bypassed(draft: State, found: Condition[]): void {
  for (const key in draft.bypasses) {
    const { reason, who } = known(draft.bypasses, key);
    found.push(bypassAlarm(key, true, message('row-bypassed-by', { row: key, who, reason })));
  }
  for (const alarm in draft.alarms) {
    const key = alarm.startsWith(BYPASSED) ? alarm.slice(BYPASSED.length) : null;
    if (key !== null && draft.bypasses[key] === undefined)
      found.push(bypassAlarm(key, false, known(draft.alarms, alarm).words));
  }
}
const BYPASSED = 'A-04/';
const bypassAlarm = (key: string, active: boolean, words: Message): Condition => ({
  alarm: `${BYPASSED}${key}`,
  active,
  latched: false,
  // It goes with the bypass, not minutes later.
  trip: true,
  priority: 'soon',
  afterMs: 0,
  words,
  response: respond(doing(message('do-stay')), clears(message('clears-when-bypass-ends'))),
});

/** The rows that are latched, or have an alarm that is not over yet, beside those that hold. */
function noLongerHolding(plant: Plant, draft: State, holding: readonly Row[]): readonly Row[] {
  const rows: Row[] = [];
  const add = (key: string) => {
    const row = rowOf(plant, key);
    if (row !== undefined && !holding.includes(row) && !rows.includes(row)) rows.push(row);
  };
  for (const key in draft.trips) add(key);
  for (const key in draft.alarms) add(key);
  return rows;
}

/**
 * A unit that goes on only with a person: held by its process, or by a policy, or its restarts are used up; or by a trip
 * that was reset, because then nothing else says that it waits. While the trip is latched its own alarm stands.
 */
function waits(
  plant: Plant,
  draft: State,
  unit: UnitState,
  name: string,
  alarm: string,
  found: Condition[],
): void {
  const tripped = unit.cause === 'trip' && Object.keys(draft.trips).length > 0;
  const held = unit.procedure === 'held' && unit.cause !== 'person' && !tripped;
  if (isNoNews(draft, held, alarm)) return;
  const usedUp = held && unit.restarts < 1;
  found.push({
    alarm,
    active: held,
    latched: false,
    trip: false,
    priority: 'soon',
    // What may go on by itself gets the time to do so, and what it needs has to be fresh for a while before it does.
    afterMs:
      unit.cause === 'process' || usedUp
        ? 0
        : 10 * 60_000 + (mayRestart(plant, draft, unit) ? plant.policy.restarts.evidenceStandsForMs : 0),
    words: message(usedUp ? 'unit-is-held-used-up' : 'unit-is-held', {
      unit: unitSaid(draft, name),
      why: unit.words,
    }),
    response: respond(checking(message('check-what-it-names')), THEN_RESUME),
  });
}

const exchangeAlarms = perPlant(
  (plant): Readonly<Record<string, string>> =>
    Object.fromEntries(Object.keys(plant.process.exchange).map((id) => [id, `A-01/${id}`])),
);

function taskWaits(plant: Plant, draft: State, found: Condition[]): void {
  const task = draft.tasks[plant.mixingId] ?? null;
  const alarm = 'A-02/task';
  if (isNoNews(draft, task !== null, alarm)) return;
  found.push({
    alarm,
    active: task !== null,
    latched: false,
    trip: false,
    priority: 'notice',
    afterMs: PERSON_PATIENCE_MS,
    words: message('person-still-needed', { task: task?.words ?? message('nothing') }),
    response: respond(doing(message('do-what-is-asked')), clears(message('clears-when-confirmed'))),
  });
}

function reserveShort(plant: Plant, draft: State, found: Condition[]): void {
  const share = reserveShareOf(plant, draft);
  const alarm = 'A-03/reserve';
  // Once short, it is short until it is clearly above the bound: a reserve that hovers at it must not chatter.
  const told = draft.alarms[alarm];
  const deadband = told?.active ? 1 + RESERVE_DEADBAND : 1;
  const active = share < plant.process.reserveShare * deadband;
  if (isNoNews(draft, active, alarm)) return;
  found.push({
    alarm,
    active,
    latched: false,
    trip: false,
    priority: 'notice',
    afterMs: Math.max(RESERVE_PATIENCE_MS, plant.process.refill?.longestRunMs ?? 0),
    // An alarm keeps the words that it was raised with.
    words: told?.active ? told.words : reserveWords(share, plant.process.reserveShare),
    response: respond(
      checking(message('check-purifier-fills', { vessel: plant.freshId ?? plant.mixingId })),
      inCase(message('if-purifier-is-slow')),
    ),
  });
}

const reserveWords = (share: number, least: number): Message =>
  message('reserve-short', { share, leastShare: least });
