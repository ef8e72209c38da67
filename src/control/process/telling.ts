// Messages to people: who is on the way, and where messages do not arrive. What is sent to whom is decided outside; here it is
// remembered and told.
import { COMING_MOST_MS } from '../guard/limits.ts';
import { type Message, message } from '../guard/message.ts';
import { checking, clears, doing, respond } from '../guard/response.ts';
import type { State, TellingState } from './state.ts';

type Coming = TellingState['coming'];

export const comingAfter = (coming: Coming, passedMs: number): Coming =>
  coming === null || coming.leftMs <= passedMs ? null : { ...coming, leftMs: coming.leftMs - passedMs };

/** @returns why not; null where it is noted */
export function onTheWay(draft: State, who: string, minutes: number): Message | null {
  if (who.trim() === '') return message('say-who-comes');
  const leftMs = Math.round(minutes * 60_000);
  if (!(leftMs > 0 && leftMs <= COMING_MOST_MS))
    return message('coming-too-long', { durationMs: COMING_MOST_MS });
  draft.telling = { ...draft.telling, coming: { who: who.trim(), leftMs } };
  return null;
}

const SINK = 'A-41/';

/** One alarm for each, also while it is on its way out. */
export function sinkNews({ telling, alarms }: State) {
  const known = Object.keys(alarms).flatMap((alarm) =>
    alarm.startsWith(SINK) ? [alarm.slice(SINK.length)] : [],
  );
  return [...new Set([...telling.failing, ...known])].map((what) => ({
    alarm: `${SINK}${what}`,
    active: telling.failing.includes(what),
    priority: 'soon' as const,
    words: message('messages-do-not-arrive', { what }),
    response: respond(
      doing(message('do-messages-do-not-arrive')),
      checking(message('check-messages-arrive', { what })),
      clears(message('clears-when-message-arrives')),
    ),
  }));
}
