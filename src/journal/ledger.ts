// What each system gave and got, hour by hour: the sums of what every step's evidence says has passed.
import { doubtOfL } from '../control/guard/flows.ts';
import { known } from '../control/guard/invariant.ts';
import type { State } from '../control/process/state.ts';
import type { Plant } from '../station/plant.ts';

export interface LedgerEntry {
  readonly system: string;
  /** Days since 1970 by the station's own calendar, and the hour of that day, where its clock is trusted; else of UTC. */
  readonly day: number;
  /** Null in the sum of a day. */
  readonly hour: number | null;
  readonly drainedL: number;
  readonly deliveredL: number;
  /** By how much the difference of the two may be off. */
  readonly errorL: number;
}

export type HourEntry = LedgerEntry & { readonly hour: number };

interface Sides {
  readonly system: string;
  readonly drain: string;
  readonly supply: string;
}

export class Ledger {
  readonly #sides: readonly Sides[];

  constructor(plant: Plant) {
    const routes = Object.values(plant.routes);
    this.#sides = Object.keys(plant.process.exchange).flatMap((system) => {
      const drain = routes.find(({ purpose, from }) => purpose === 'drain' && from === system);
      const supply = routes.find(({ purpose, to }) => purpose === 'supply' && to === system);
      return drain && supply ? [{ system, drain: drain.id, supply: supply.id }] : [];
    });
  }

  /** What this step adds; nothing where nothing moved. */
  take(state: State, wallMs: number): HourEntry[] {
    return this.#sides.flatMap(({ system, drain, supply }) => {
      const out = known(state.routes, drain);
      const back = known(state.routes, supply);
      if (out.movedMostL === 0 && back.movedMostL === 0) return [];
      const entry = {
        drainedL: out.movedL,
        deliveredL: back.movedL,
        errorL: doubtOfL(out) + doubtOfL(back),
      };
      return [{ system, ...hourOf(state, wallMs), ...entry }];
    });
  }
}

function hourOf({ clock }: State, wallMs: number): { day: number; hour: number } {
  if (clock.trusted) return { day: clock.day, hour: Math.floor(clock.minuteOfDay / 60) };
  return { day: Math.floor(wallMs / 86_400_000), hour: Math.floor((wallMs % 86_400_000) / 3_600_000) };
}
