// What a station calls its things.
import type { Called, Plant } from '../station/plant.ts';
import type { Thing } from './places.ts';
import type { Language } from './print.ts';

/** The name of a thing; what the station file does not have (any more) is called by its id. */
export type Names = (thing: Thing, id: string) => string;

type Named = Readonly<Record<string, Called>>;

/** What of a plant has names: the page has the same tables without their wiring. */
export interface Nameable extends Called {
  readonly id: string;
  readonly vessels: Named;
  readonly routes: Named;
  readonly sensors: Named;
  readonly actuators: Named;
  readonly heaters: Named;
  readonly exercises?: Named;
}

const TABLES: Readonly<Record<Thing, (plant: Nameable) => readonly (Named | undefined)[]>> = {
  vessel: ({ vessels }) => [vessels],
  system: ({ vessels }) => [vessels],
  route: ({ routes }) => [routes],
  sensor: ({ sensors }) => [sensors],
  device: ({ actuators }) => [actuators],
  heater: ({ heaters }) => [heaters],
  valve: ({ exercises, actuators }) => [exercises, actuators],
  station: (plant) => [{ [plant.id]: plant }],
  // An exercise is a target as well, `exercise:VALVE`.
  target: ({ routes, heaters, actuators }) => [routes, heaters, actuators],
};

export const nameIn = ({ name, names }: Called, language: Language): string => names?.[language] ?? name;

export const namesOf =
  (plant: Plant | Nameable, language: Language = 'en'): Names =>
  (thing, id) => {
    const own = thing === 'target' ? id.slice(id.indexOf(':') + 1) : id;
    for (const table of TABLES[thing](plant)) {
      const named = table?.[id] ?? table?.[own];
      if (named !== undefined) return nameIn(named, language);
    }
    return id;
  };
