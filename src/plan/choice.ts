// Which two vats: every candidate is held against the doors, the height and the floor, and every pair against the
// reserve. A pair that the site names is taken as it is; what is wrong with it is said as cautions.
import {
  type Carried,
  carriedThrough,
  footprint,
  type Place,
  settingUprightMm,
  standInARow,
} from '../engineering/passage.ts';
import { reserveShare } from '../engineering/reserve.ts';
import { contentsAt, heightOf } from '../station/shape.ts';
import { emptyMassKg } from './file/station-to-be.ts';
import { marksOf, RESTFUL, usableFreshL, usableMixedL } from './marks.ts';
import type { Site, Vat } from './site.ts';
import { heightMm } from './vat-level.ts';

export interface Judged {
  readonly vat: Vat;
  /** How it gets through each door, in the order of the doors. */
  readonly doors: readonly (Carried | null)[];
  readonly passes: boolean;
  readonly fitsHeight: boolean;
  /** Room enough to set it upright after it came in tipped; true where it need not be. */
  readonly canBeSetUpright: boolean;
  readonly fits: boolean;
}

export interface Choice {
  readonly fresh: Judged;
  readonly mixing: Judged;
  readonly equal: boolean;
  /** Both stand side by side on the free floor. */
  readonly standTogether: boolean;
  readonly reserveShare: number;
  readonly judged: readonly Judged[];
  readonly proposed: boolean;
  /** The site named both. */
  readonly named: boolean;
}

export function chooseVats(site: Site): Choice {
  const vats = site.vats.candidates ?? proposals(site);
  const judged = vats.map((vat) => judge(site, vat));
  const among = (name: string | null) =>
    name === null ? judged : judged.filter(({ vat }) => vat.name === name);
  // Unequal proposals would only be a longer list of the same.
  const pairs =
    site.vats.candidates === null
      ? judged.map((each) => pairOf(site, each, each))
      : among(site.vats.fresh).flatMap((fresh) =>
          among(site.vats.mixing).map((mixing) => pairOf(site, fresh, mixing)),
        );
  const [best] = pairs.toSorted(
    (a, b) => rank(site, a) - rank(site, b) || preference(site, a) - preference(site, b),
  );
  if (best === undefined) throw new Error('a site without a vat: the loader should have refused it');
  return {
    ...best,
    judged,
    proposed: site.vats.candidates === null,
    named: site.vats.fresh !== null && site.vats.mixing !== null,
  };
}

type Pair = Pick<Choice, 'fresh' | 'mixing' | 'equal' | 'standTogether' | 'reserveShare'>;

function pairOf(site: Site, fresh: Judged, mixing: Judged): Pair {
  return {
    fresh,
    mixing,
    equal: fresh.vat.capacityL === mixing.vat.capacityL,
    standTogether: standInARow(
      [fresh, mixing].map(({ vat }) => footprint(vat.body, vat.lying)),
      { lengthMm: site.room.lengthMm, widthMm: site.room.widthMm },
      site.vats.gapMm,
    ),
    reserveShare: reserveShare(
      usableFreshL(marksOf(fresh.vat, RESTFUL)) + usableMixedL(marksOf(mixing.vat, RESTFUL)),
      site.system.volumeL,
    ),
  };
}

/** Fit before reserve: a vat that does not pass the door is no vat. */
function rank(site: Site, pair: Pair): number {
  const misfits = [pair.fresh.fits, pair.mixing.fits, pair.standTogether].filter((good) => !good).length;
  return 2 * misfits + (pair.reserveShare < site.schedule.reserveShare ? 1 : 0);
}

/** Among equals in rank: the least water that is enough, else the most there is; equal vats before unequal ones. */
function preference(site: Site, pair: Pair): number {
  const litres = pair.fresh.vat.capacityL + pair.mixing.vat.capacityL;
  const enough = pair.reserveShare >= site.schedule.reserveShare;
  return (enough ? litres : -litres) + (pair.equal ? 0 : 1);
}

export function judge(site: Site, vat: Vat): Judged {
  const { doors, heightMm: roomMm } = site.room;
  const { clearanceMm, headroomMm } = site.vats;
  const standMm = highestStandMm(site);
  const ways = doors.map((door) => carriedThrough(vat.body, door, clearanceMm));
  const passes = ways.every((way) => way !== null);
  const fitsHeight = standMm + heightMm(vat) + headroomMm <= roomMm;
  const tipped = !vat.lying && ways.includes('tipped');
  const canBeSetUpright = !tipped || settingUprightMm(vat.body) <= roomMm;
  return {
    vat,
    doors: ways,
    passes,
    fitsHeight,
    canBeSetUpright,
    fits: passes && fitsHeight && canBeSetUpright,
  };
}

/** Either vat may come to stand on the higher of the two. */
const highestStandMm = ({ vats }: Site): number => Math.max(vats.freshStandMm, vats.mixingStandMm);

/** The room as the geometry wants it, for so many equal vats. */
export function placeOf(site: Site, count: number): Place {
  const { room, vats } = site;
  return {
    doors: room.doors,
    heightMm: room.heightMm,
    floor: { lengthMm: room.lengthMm, widthMm: room.widthMm },
    standMm: highestStandMm(site),
    headroomMm: vats.headroomMm,
    clearanceMm: vats.clearanceMm,
    gapMm: vats.gapMm,
    count,
    wallMm: WALL_MM,
    longestMm: LONGEST_MM,
  };
}

/** What two people carry round a corner. No source. */
export const LONGEST_MM = 2000;
/** Of a vat that nobody has measured. */
export const WALL_MM = 6;
const STEP_MM = 50;
const WIDE_STEP_MM = 100;
const LEAST_MM = 300;
/** Flatter than this a vat covers the floor; slimmer, it can't be kept upright. No source. */
const SLENDERNESS = [0.8, 2.5] as const;
/** Slimmer than this it needs an anchor, and is proposed only where nothing broader fits. No source. */
const STEADY = 1.6;

/** Upright cylinders in steps of 50 mm, then boxes and lying cylinders in steps of 100 mm, from a bucket to what can be carried. */
function proposals(site: Site): Vat[] {
  const fitting = (vats: readonly Vat[]) => vats.filter((vat) => judge(site, vat).fits);
  const enough = (vats: readonly Vat[]) =>
    vats.some((vat) => {
      const pair = pairOf(site, judge(site, vat), judge(site, vat));
      return pair.standTogether && pair.reserveShare >= site.schedule.reserveShare;
    });
  const cylinders = uprights();
  const steady = fitting(cylinders.filter(({ ratio }) => ratio <= STEADY).map(({ vat }) => vat));
  if (enough(steady)) return steady;
  const others = [...cylinders.map(({ vat }) => vat), ...boxes(), ...lyings()];
  const all = fitting(others);
  // Where nothing fits, the smallest says so.
  return all.length > 0 ? all : others.slice(0, 1);
}

function sizes(stepMm: number, mostMm = LONGEST_MM): number[] {
  return Array.from({ length: (mostMm - LEAST_MM) / stepMm + 1 }, (_, step) => LEAST_MM + step * stepMm);
}

function uprights(): { readonly vat: Vat; readonly ratio: number }[] {
  const all = sizes(STEP_MM);
  return all.flatMap((diameterMm) =>
    all
      .map((heightMm) => ({
        ratio: heightMm / diameterMm,
        vat: proposed(
          `Upright cylinder ${diameterMm} x ${heightMm} mm`,
          { kind: 'upright-cylinder', diameterMm, heightMm },
          { kind: 'cylinder', diameterMm: diameterMm + 2 * WALL_MM, lengthMm: heightMm + 2 * WALL_MM },
        ),
      }))
      .filter(({ ratio }) => ratio >= SLENDERNESS[0] && ratio <= SLENDERNESS[1]),
  );
}

function boxes(): Vat[] {
  const all = sizes(WIDE_STEP_MM);
  return all.flatMap((widthMm) =>
    all
      .filter((lengthMm) => lengthMm >= widthMm)
      .flatMap((lengthMm) =>
        all
          .filter((heightMm) => heightMm <= STEADY * widthMm)
          .map((heightMm) =>
            proposed(
              `Box ${lengthMm} x ${widthMm} x ${heightMm} mm`,
              { kind: 'box', lengthMm, widthMm, heightMm },
              {
                kind: 'box',
                lengthMm: lengthMm + 2 * WALL_MM,
                widthMm: widthMm + 2 * WALL_MM,
                heightMm: heightMm + 2 * WALL_MM,
              },
            ),
          ),
      ),
  );
}

function lyings(): Vat[] {
  const all = sizes(WIDE_STEP_MM);
  return all.flatMap((diameterMm) =>
    all
      .filter((lengthMm) => lengthMm >= diameterMm)
      .map((lengthMm) =>
        proposed(
          `Lying cylinder ${diameterMm} x ${lengthMm} mm`,
          { kind: 'lying-cylinder', diameterMm, lengthMm },
          { kind: 'cylinder', diameterMm: diameterMm + 2 * WALL_MM, lengthMm: lengthMm + 2 * WALL_MM },
        ),
      ),
  );
}

function proposed(name: string, shape: Vat['shape'], body: Vat['body']): Vat {
  const capacityL = contentsAt(shape, heightOf(shape));
  return {
    name,
    shape,
    body,
    lying: shape.kind === 'lying-cylinder',
    capacityL,
    massKg: emptyMassKg(capacityL),
    price: null,
  };
}
