// What an alarm asks of a person's hands: the steps of its response, and what of them somebody does with water or asks of the
// service. The simulated persons of `prove` and `trial` read it here and do nothing else, so that a response that asks for too
// little leaves a station that stands still.
import { rowOf } from '../control/guard/interlocks.ts';
import { perPlant } from '../control/guard/per-plant.ts';
import type { Message } from '../language/message.ts';
import { toldIn } from '../language/told.ts';
import type { Plant } from '../station/plant.ts';

export type Hand =
  | 'lower-below-overflow'
  | 'mop'
  | 'lower'
  | 'bring'
  | 'level'
  | 'begin-ledger'
  | 'say-level-right'
  | 'cool'
  | 'resume'
  | 'give-batch-up'
  | 'do-what-words-name';

const HANDS: Readonly<Partial<Record<Message['id'], Hand>>> = {
  'do-lower-below-overflow': 'lower-below-overflow',
  'do-dry-the-tray': 'mop',
  'clears-when-lower': 'lower',
  'do-draw-off': 'lower',
  'do-bring-water': 'bring',
  'do-correct-level': 'level',
  'do-begin-new-ledger': 'begin-ledger',
  'clears-when-said-right': 'say-level-right',
  'do-let-cool': 'cool',
  'check-what-it-names': 'resume',
  'do-stop-and-reset-batch': 'give-batch-up',
  'check-what-it-waits-for': 'do-what-words-name',
};

export const handsOf = (response: Message): readonly Hand[] =>
  toldIn(response).flatMap(({ id }) => HANDS[id] ?? []);

/** Of a row that somebody is told of, by its key; none where it asks for none. */
export const handsFor = (plant: Plant, key: string): readonly Hand[] => {
  const known = byKey(plant);
  const found = known.get(key);
  if (found !== undefined) return found;
  const row = rowOf(plant, key);
  const hands = row === undefined || row.priority === null ? [] : handsOf(row.response);
  known.set(key, hands);
  return hands;
};
const byKey = perPlant((_: Plant) => new Map<string, readonly Hand[]>());

/** What an alarm is about: what its row is about, or what stands second in its name. */
export const aboutOf = (plant: Plant, alarm: string): string =>
  rowOf(plant, alarm)?.subject ?? alarm.split('/')[1] ?? '';

/** The system at one end of a route, or the system itself. */
export function systemAt({ routes, systemIds }: Plant, id: string): string | undefined {
  const route = routes[id];
  return [route?.to, route?.from, id].find((one) => one !== undefined && systemIds.includes(one));
}
