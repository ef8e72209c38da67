// What the bridge knows of the core: four functions and plain data. It is handed in, so that the bridge can be tried with
// another core, and so that nothing here can come to depend on what an interlock is.
import type { Effect, Event, Task } from '../control/types.ts';
import type { Plant } from '../station/plant.ts';
import type { Alarm } from './wire-out.ts';

export interface Status {
  readonly alarms: readonly Alarm[];
  readonly task: Task | null;
}

export interface Core<State> {
  readonly initial: (plant: Plant) => State;
  readonly step: (
    plant: Plant,
    state: State,
    event: Event,
  ) => { readonly state: State; readonly effects: readonly Effect[] };
  /** What a saved state is worth after the service was gone for `gapMs`; null: nobody knows for how long. */
  readonly restored: (plant: Plant, saved: State, gapMs: number | null) => State;
  readonly describe: (plant: Plant, state: State) => Status;
}

/**
 * The same station with a policy under which nothing starts by itself: for a service that lost its memory. What was
 * latched or half done before is not known, so a person looks first.
 */
export function cautious(plant: Plant): Plant {
  return {
    ...plant,
    policy: {
      ...plant.policy,
      starts: { refill: 'person', batch: 'person', exchange: 'person' },
      restarts: { ...plant.policy.restarts, afterLinkLoss: 'person', afterPowerCut: 'person' },
    },
  };
}
