// The shape of what an interlock row looks at, with its present value and the limit where it begins to hold; and how such a thing is
// put together. What each kind of row shows stands in `looks.ts`.

import type { Measured } from '../../station/kinds.ts';
import type { Plant } from '../../station/plant.ts';
import { known } from './invariant.ts';
import type { Message } from './message.ts';
import type { GuardState } from './state.ts';

/** How a number is meant, so that a reader can have it in their own unit. */
export type Meaning = Measured | 'salinity' | 'duration' | 'number' | 'share';

/** One thing that a row looks at, as it stands now. `limit` is where the row begins to hold. */
export type Look =
  | {
      readonly input: 'amount';
      readonly about: Message;
      readonly value: number | null;
      readonly as: Meaning;
      readonly limit?: number;
      readonly forbids?: 'above' | 'below';
    }
  | { readonly input: 'sensor'; readonly sensor: string }
  | { readonly input: 'feedback'; readonly actuator: string }
  | { readonly input: 'route'; readonly route: string; readonly running: 'no' | 'maybe' | 'yes' }
  | { readonly input: 'fact'; readonly about: Message; readonly holds: boolean }
  | { readonly input: 'words'; readonly about: Message; readonly words: Message | string };

/** What a row looks at now. @param subject the id of what it is about */
export type Looking = (plant: Plant, state: GuardState, subject: string) => readonly Look[];

export const amount = (
  about: Message,
  as: Meaning,
  value: number | null,
  limit?: number,
  forbids?: 'above' | 'below',
): Look => ({
  input: 'amount',
  about,
  as,
  value: value === null ? null : Number(value.toFixed(3)),
  ...(limit === undefined ? {} : { limit: Number(limit.toFixed(3)) }),
  ...(forbids === undefined ? {} : { forbids }),
});
export const fact = (about: Message, holds: boolean): Look => ({ input: 'fact', about, holds });
export const running = (state: GuardState, route: string): Look => ({
  input: 'route',
  route,
  running: known(state.routes, route).running,
});
export const sensors = (...ids: (string | null | undefined)[]): Look[] =>
  ids.flatMap((id) => (typeof id === 'string' ? [{ input: 'sensor', sensor: id } as const] : []));
export const floatsOf = (plant: Plant, vessel: string): Look[] => {
  const { low, high, overflow } = known(plant.vessels, vessel).floats;
  return sensors(low, high, overflow);
};
export const feedback = (plant: Plant, actuator: string): Look[] =>
  known(plant.actuators, actuator).feedback === null ? [] : [{ input: 'feedback', actuator }];
