// What the bridge knows of the core: five functions and plain data. It is handed in, so that the bridge can be tried with
// another core, and so that nothing here can come to depend on what an interlock is.
import type { Effect, Event, Task } from '../control/guard/types.ts';
import type { Message } from '../language/message.ts';
import type { Told } from '../language/told.ts';
import type { Plant } from '../station/plant.ts';
import type { Alarm } from './wire-out.ts';

export interface Status {
  readonly alarms: readonly Alarm[];
  readonly task: Told<Task> | null;
  readonly actuators: Readonly<Record<string, { readonly provenOff: boolean }>>;
}

export interface Core<State> {
  readonly initial: (plant: Plant) => State;
  readonly step: (
    plant: Plant,
    state: State,
    event: Event,
  ) => { readonly state: State; readonly effects: readonly Effect[] };
  /** What a saved state is worth after the service was gone for `gapMs`; null: nobody knows for how long. */
  readonly restored: (plant: Plant, saved: State, gapMs: number | null, isSamePlumbing: boolean) => State;
  /** Nothing is known, for this reason, and a person looks before anything moves. */
  readonly forgetful: (plant: Plant, lost: Message) => State;
  /** In the words that go over the wire. */
  readonly describe: (plant: Plant, state: State) => Status;
}
