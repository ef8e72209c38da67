// Upkeep: what a response leaves for later (a siphon break to be fitted) stays a task when its alarm is long over, until a person
// with a name says that it is done. Nothing waits for it; an alarm that comes again asks for it again.
import { type Message, message } from '../guard/message.ts';
import type { Done, Request } from '../guard/types.ts';
import type { State } from './state.ts';

export interface Upkeep {
  /** What is to be done. */
  readonly told: Message;
  /** The alarm that asked for it. */
  readonly alarm: string;
}

/** @returns the name of a task: `siphon-break/I-09/supply` */
const keyOf = ({ id }: Message, alarm: string): string => `${id.replace(/^later-/u, '')}/${alarm}`;

/**
 * An alarm came, or says something else: what its response leaves for later is a task from now on, as it was first said: while
 * the alarm goes, what it names may become less.
 */
export function leaveForLater(draft: State, alarm: string, response: Message): void {
  if (response.id !== 'response') return;
  for (const { id, values } of response.values.all as readonly Message[]) {
    if (id !== 'step-later') continue;
    const told = values.told as Message;
    draft.upkeep = { [keyOf(told, alarm)]: { told, alarm }, ...draft.upkeep };
  }
}

export function upkeepDone(draft: State, request: Extract<Request, { ask: 'upkeep-done' }>): Done {
  const { task } = request;
  const who = request.who.trim();
  const { [task]: done, ...rest } = draft.upkeep;
  if (done === undefined) return { refused: message('no-such-upkeep', { what: task }) };
  if (who === '') return { refused: message('say-who-did-it') };
  draft.upkeep = rest;
  return { done: message('upkeep-is-done', { who, task: done.told }), effects: [] };
}
