// The service in ten lines:
//
//   topic -> codec -> event -> step -> effects -> wire and state file
//
// Everything else in this room is one of the words in that line, one file each; bridge.ts puts them together.
import { filter, map, type Observable, scan, tap } from 'rxjs';
import type { Effect, Event, Input } from '../control/guard/types.ts';
import type { Plant } from '../station/plant.ts';
import type { Beat, Clockwork } from './clockwork.ts';
import type { Core } from './core.ts';
import type { Inbox } from './inbox.ts';
import type { News } from './news.ts';

export interface Turn<State> {
  readonly state: State;
  readonly effects: readonly Effect[];
  readonly beat: Beat;
  /** What was stepped; null before the first. */
  readonly event: Event | null;
}

export interface Rooms<State> {
  readonly news: Observable<News>;
  /** Topic, codec, inputs. */
  readonly read: (news: News) => readonly Input[];
  readonly refuse: (input: Input) => void;
  readonly inbox: Inbox;
  readonly clockwork: Clockwork;
  readonly plant: Plant;
  readonly core: Core<State>;
  readonly state: State;
  /** Effects, wire, state file. */
  readonly send: (turn: Turn<State>) => void;
}

export function turnsOf<State>(rooms: Rooms<State>): Observable<Turn<State>> {
  const { news, read, inbox, clockwork, plant, core, state, send } = rooms;
  const arrived = news.pipe(
    map(read), // topic -> codec -> inputs
    filter((inputs) => inputs.length > 0),
    tap((inputs) => {
      for (const input of inputs) if (!inbox.put(input)) rooms.refuse(input);
    }),
  );
  return clockwork.beats(arrived).pipe(
    map((beat) => ({ beat, event: eventOf(beat, inbox.drain()) })), // inputs -> event
    scan(({ state }, { beat, event }) => ({ beat, event, ...core.step(plant, state, event) }), {
      state,
    } as Turn<State>),
    tap(send), // effects -> wire and state file
  );
}

/** The echo and the clock first: a broker may carry QoS 0 and 1 by two ways, and no order between topics counts (R13). */
function eventOf({ elapsedMs, tick, clock }: Beat, inputs: readonly Input[]): Event {
  const echo = inputs.filter((input) => input.type === 'echo');
  const rest = inputs.filter((input) => input.type !== 'echo');
  return { elapsedMs, tick, inputs: [...echo, ...(clock === null ? [] : [clock]), ...rest] };
}
