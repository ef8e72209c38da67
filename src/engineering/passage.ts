// What gets through a door, stands up in a room, and stands beside another. Plain geometry of boxes and cylinders, with
// the room for hands that people need.
//
// Outside measures. A body is carried with its edges parallel to the door's: leaning it through diagonally may save a
// vessel that this refuses, and nobody should order one on the strength of that. Corners in a corridor, stairs and the
// mass of the thing are not looked at.
import { hold, type Range } from './range.ts';
import { contentsBoxL, contentsLyingCylinderL, contentsUprightCylinderL, SIZE } from './vessels.ts';

export const CLEARANCE: Range = { least: 0, most: 1000, unit: 'mm' };
export const COUNT: Range = { least: 1, most: 20, unit: '1' };

export interface Door {
  readonly widthMm: number;
  readonly heightMm: number;
}

export type Body =
  | { readonly kind: 'cylinder'; readonly diameterMm: number; readonly lengthMm: number }
  | {
      readonly kind: 'box';
      readonly lengthMm: number;
      readonly widthMm: number;
      readonly heightMm: number;
    };

/** Its three measures as it stands upright: the two of its plan, then its height. */
function measures(body: Body): readonly [number, number, number] {
  return body.kind === 'cylinder'
    ? [body.diameterMm, body.diameterMm, body.lengthMm]
    : [body.lengthMm, body.widthMm, body.heightMm];
}

export type Carried = 'upright' | 'tipped';

/**
 * How a body gets through a door: as it stands, tipped over, or (null) not at all.
 * @param clearanceMm kept free beside and above it, 0 to 1000 mm
 * @throws OutOfRange
 */
export function carriedThrough(body: Body, door: Door, clearanceMm: number): Carried | null {
  const [length, width, height] = held(body);
  hold('door width', door.widthMm, SIZE);
  hold('door height', door.heightMm, SIZE);
  hold('clearance', clearanceMm, CLEARANCE);
  const fits = (across: number, up: number) =>
    across + clearanceMm <= door.widthMm && up + clearanceMm <= door.heightMm;
  if (fits(Math.min(length, width), height)) return 'upright';
  const tipped = [
    [length, width],
    [width, length],
    [height, Math.min(length, width)],
    [height, Math.max(length, width)],
    [Math.max(length, width), height],
  ] as const;
  return tipped.some(([across, up]) => fits(across, up)) ? 'tipped' : null;
}

/**
 * The height a room needs while a body that came in tipped is set upright over its lower edge: the diagonal of its height
 * and its shorter side, Pythagoras.
 * @returns mm
 * @throws OutOfRange
 */
export function settingUprightMm(body: Body): number {
  const [length, width, height] = held(body);
  return Math.hypot(Math.min(length, width), height);
}

export interface Rectangle {
  readonly lengthMm: number;
  readonly widthMm: number;
}

/** What a body covers of the floor: the square around a cylinder, or the side of it when it lies. */
export function footprint(body: Body, lying = false): Rectangle {
  const [lengthMm, widthMm, heightMm] = held(body);
  return lying ? { lengthMm: heightMm, widthMm: Math.min(lengthMm, widthMm) } : { lengthMm, widthMm };
}

/** Area of the floor under a body, if it touched everywhere: pi d^2 / 4, or length times width. @returns m2 @throws OutOfRange */
export function planAreaM2(body: Body, lying = false): number {
  if (body.kind === 'cylinder' && !lying) return (Math.PI * (held(body)[0] / 1000) ** 2) / 4;
  const { lengthMm, widthMm } = footprint(body, lying);
  return (lengthMm * widthMm) / 1e6;
}

/** Two saddles under a lying cylinder, each so wide, over the chord of a third of its round. Common practice, no source. */
const SADDLE_MM = 100;
const SADDLE_CHORD = Math.sin(Math.PI / 3);

/** Area through which a body presses on the floor: its flat bottom, or the saddles of a lying cylinder. @returns m2 @throws OutOfRange */
export function contactAreaM2(body: Body, lying = false): number {
  if (body.kind !== 'cylinder' || !lying) return planAreaM2(body, lying);
  return (2 * SADDLE_MM * SADDLE_CHORD * held(body)[0]) / 1e6;
}

/**
 * Whether bodies stand in a row on a rectangle of floor, each turned either way, with a gap between them.
 * @throws OutOfRange
 */
export function standInARow(bodies: readonly Rectangle[], floor: Rectangle, gapMm: number): boolean {
  hold('gap', gapMm, CLEARANCE);
  hold('floor length', floor.lengthMm, SIZE);
  hold('floor width', floor.widthMm, SIZE);
  const row = (along: number, across: number) => {
    let used = -gapMm;
    for (const { lengthMm, widthMm } of bodies) {
      // Its shorter side goes along the row where the other side still fits across.
      const short = Math.min(lengthMm, widthMm);
      const long = Math.max(lengthMm, widthMm);
      if (long <= across) used += short + gapMm;
      else if (short <= across) used += long + gapMm;
      else return false;
    }
    return used <= along;
  };
  return row(floor.lengthMm, floor.widthMm) || row(floor.widthMm, floor.lengthMm);
}

/** The way in, and the place where the vessels shall stand. */
export interface Place {
  readonly doors: readonly Door[];
  readonly heightMm: number;
  readonly floor: Rectangle;
  /** What they stand on. */
  readonly standMm: number;
  /** Kept free above them: for a lid, a scoop of salt and a head. */
  readonly headroomMm: number;
  readonly clearanceMm: number;
  readonly gapMm: number;
  /** How many of them, all alike. */
  readonly count: number;
  /** What contents are reckoned inside of; without it the outside measures. */
  readonly wallMm?: number;
  /** The longest that anybody carries round a corner; without it only the floor ends it. */
  readonly longestMm?: number;
}

export interface Largest {
  readonly body: Body;
  readonly lying: boolean;
  readonly contentsL: number;
}

const STEP_MM = 10;

/**
 * The largest cylinders that pass every door, can be set upright, and stand there upright: searched in steps of 10 mm.
 * All doors are taken as one of the least width and the least height, which is on the safe side.
 * @returns null where none of 100 mm fits
 * @throws OutOfRange
 */
export function largestUprightCylinder(place: Place): Largest | null {
  return best(place, (sideMm) => {
    const tallMm = Math.min(longestMm(place), place.heightMm - place.standMm - place.headroomMm);
    // Either it comes in standing, or tipped: then it must also be set upright.
    const standingMm = Math.min(tallMm, smallestDoor(place).heightMm - place.clearanceMm);
    const turningMm = Math.sqrt(Math.max(0, place.heightMm ** 2 - sideMm ** 2));
    return [standingMm, Math.min(tallMm, turningMm)].map((lengthMm) => ({
      body: { kind: 'cylinder', diameterMm: sideMm, lengthMm: downTo(lengthMm) },
      lying: false,
      contentsL: inside(place, contentsUprightCylinderL, sideMm, downTo(lengthMm)),
    }));
  });
}

/** The largest cylinders that lie there, filled to the crown. @returns null where none fits @throws OutOfRange */
export function largestLyingCylinder(place: Place): Largest | null {
  return best(place, (sideMm) => {
    if (sideMm > place.heightMm - place.standMm - place.headroomMm) return [];
    const lengths = [place.floor.lengthMm, place.floor.widthMm].map((mm) => Math.min(mm, longestMm(place)));
    return lengths.map((lengthMm) => ({
      body: { kind: 'cylinder', diameterMm: sideMm, lengthMm: downTo(lengthMm) },
      lying: true,
      contentsL: inside(
        place,
        (diameterMm, length) => contentsLyingCylinderL(diameterMm, length, diameterMm),
        sideMm,
        downTo(lengthMm),
      ),
    }));
  });
}

/** The largest boxes that come in and stand upright, carried lengthwise. @returns null where none fits @throws OutOfRange */
export function largestBox(place: Place): Largest | null {
  const tallMm = Math.min(
    place.heightMm - place.standMm - place.headroomMm,
    smallestDoor(place).heightMm - place.clearanceMm,
  );
  if (tallMm < STEP_MM) return null;
  return best(place, (sideMm) =>
    [place.floor.lengthMm, place.floor.widthMm]
      .map((mm) => downTo(Math.min(mm, longestMm(place))))
      .map((lengthMm) => ({
        body: { kind: 'box', lengthMm, widthMm: sideMm, heightMm: downTo(tallMm) },
        lying: false,
        contentsL: inside(place, contentsBoxL, lengthMm, sideMm, downTo(tallMm)),
      })),
  );
}

const longestMm = ({ longestMm: most = Number.POSITIVE_INFINITY }: Place): number => most;

/** Contents of the measures less a wall on both sides; 0 where nothing is left. */
function inside<M extends readonly number[]>(
  { wallMm = 0 }: Place,
  contentsL: (...measuresMm: M) => number,
  ...outsideMm: M
): number {
  const insideMm = outsideMm.map((mm) => mm - 2 * wallMm) as unknown as M;
  return Math.min(...insideMm) < STEP_MM ? 0 : contentsL(...insideMm);
}

/** Tries every side from 100 mm up, and keeps the body of the most contents that comes in and stands. */
function best(place: Place, bodiesOf: (sideMm: number) => readonly Largest[]): Largest | null {
  hold('room height', place.heightMm, SIZE);
  hold('number of vessels', place.count, COUNT);
  const door = smallestDoor(place);
  let found: Largest | null = null;
  const mostMm = Math.min(door.widthMm, SIZE.most);
  for (let sideMm = 10 * STEP_MM; sideMm <= mostMm; sideMm += STEP_MM) {
    for (const largest of bodiesOf(sideMm)) {
      if (largest.contentsL <= (found?.contentsL ?? 0)) continue;
      if (carriedThrough(largest.body, door, place.clearanceMm) === null) continue;
      const each = footprint(largest.body, largest.lying);
      if (standInARow(Array(place.count).fill(each), place.floor, place.gapMm)) found = largest;
    }
  }
  return found;
}

function smallestDoor({ doors }: Place): Door {
  return {
    widthMm: Math.min(SIZE.most, ...doors.map(({ widthMm }) => widthMm)),
    heightMm: Math.min(SIZE.most, ...doors.map(({ heightMm }) => heightMm)),
  };
}

const downTo = (mm: number): number => Math.floor(mm / STEP_MM) * STEP_MM;

function held(body: Body): readonly [number, number, number] {
  const all = measures(body);
  for (const measure of all) hold('outside measure', measure, SIZE);
  return all;
}
