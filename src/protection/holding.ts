// Which interlock rows hold which hazard. A kind of row serves the harms that stand beside its id; the first is where the
// report tells it. Which hazard of that harm it holds follows from what the row is about. Rows without an entry guard what
// all protection rests on (blind, late, unrecorded, foreign ...): they hold every hazard of the targets that they forbid.
import { deriveRows, type Row } from '../control/guard/interlocks.ts';
import type { Harm } from '../station/gaps.ts';
import type { Plant } from '../station/plant.ts';
import type { Hazard } from './hazards.ts';

export interface Chapter {
  readonly title: string;
  readonly rows: readonly Row[];
}

const CHAPTERS: readonly (readonly [Harm, string])[] = [
  ['spilled', 'Against running over'],
  ['dry', 'Against dry running'],
  ['on the floor', 'Against water on the floor'],
  ['heater bare', 'Against a heater without water'],
  ['too hot', 'Against too much heat'],
  ['wrong water', 'Against wrong water'],
  ['crossed', 'Against crossed ways'],
];

const GENERAL = 'Against what threatens all of it: readings, devices, the link, people';

/** Every row of the station, each in one chapter. */
export function chaptersOf(plant: Plant): readonly Chapter[] {
  const rows = deriveRows(plant).toSorted((one, other) => compare(one.id, other.id));
  const chapters = CHAPTERS.map(([harm, title]) => ({
    title,
    rows: rows.filter(({ harms }) => harms[0] === harm),
  }));
  const rest = rows.filter(({ harms }) => harms.length === 0);
  return [...chapters, { title: GENERAL, rows: rest }].filter((chapter) => chapter.rows.length > 0);
}

const compare = (one: string, other: string): number => (one < other ? -1 : one > other ? 1 : 0);

export interface Held {
  /** Keys of the rows that are there for this hazard. */
  readonly own: readonly string[];
  /** Keys of the rows that hold no harm of their own, and forbid a target of this hazard. */
  readonly general: readonly string[];
}

export function heldBy(plant: Plant, hazard: Hazard): Held {
  const targets = targetsOf(plant, hazard);
  const reaching = deriveRows(plant).filter(({ forbids }) => forbids.some((id) => targets.includes(id)));
  const keys = (rows: readonly Row[]) => rows.map(({ key }) => key);
  return {
    own: keys(reaching.filter((row) => row.harms.includes(hazard.harm) && concerns(plant, row, hazard))),
    general: keys(reaching.filter(({ harms }) => harms.length === 0)),
  };
}

/** The routes and heaters by which a hazard comes about. */
export function targetsOf(plant: Plant, { harm, about }: Hazard): readonly string[] {
  const routes = Object.values(plant.routes);
  switch (harm) {
    case 'spilled':
      return plant.vessels[about]?.into ?? [];
    case 'dry':
      return routes.filter(({ through }) => through.includes(about)).map(({ id }) => id);
    case 'heater bare':
      return [about, ...(plant.vessels[plant.heaters[about]?.vessel ?? '']?.outOf ?? [])];
    case 'too hot':
      return Object.values(plant.heaters)
        .filter(({ vessel }) => vessel === about)
        .map(({ id }) => id);
    case 'wrong water': {
      const system = plant.vessels[about];
      const mixing = plant.vessels[plant.mixingId];
      const fresh = plant.vessels[plant.freshId ?? ''];
      const heaters = Object.values(plant.heaters).map(({ id }) => id);
      return [
        ...(system?.into ?? []),
        ...(system?.outOf ?? []),
        ...(mixing?.into ?? []),
        ...(fresh?.into ?? []),
        ...heaters,
      ];
    }
    default:
      return [about];
  }
}

/** Whether a row is about this hazard, and not about a neighbour that happens to be switched off with it. */
function concerns(plant: Plant, { subject }: Row, hazard: Hazard): boolean {
  const targets = targetsOf(plant, hazard);
  if (targets.includes(subject)) return true;
  // A leak sensor is about every route; a vessel about those that touch it, and about itself.
  if (!(subject in plant.vessels)) return !(subject in plant.routes) && !(subject in plant.heaters);
  if (hazard.harm === 'spilled') return subject === hazard.about;
  const ends = targets.flatMap((id) => {
    const route = plant.routes[id];
    if (route === undefined) return [];
    return hazard.harm === 'dry' ? [route.from] : [route.from, route.to];
  });
  return ends.includes(subject);
}
