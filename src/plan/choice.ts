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
import { contentsUprightCylinderL } from '../engineering/vessels.ts';
import { emptyMassKg } from './file/station-to-be.ts';
import { marksOf, usableFreshL, usableMixedL } from './marks.ts';
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
      usableFreshL(marksOf(fresh.vat, 0)) + usableMixedL(marksOf(mixing.vat, 0)),
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
  const { clearanceMm, standMm, headroomMm } = site.vats;
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

/** The room as the geometry wants it, for so many equal vats. */
export function placeOf({ room, vats }: Site, count: number): Place {
  return {
    doors: room.doors,
    heightMm: room.heightMm,
    floor: { lengthMm: room.lengthMm, widthMm: room.widthMm },
    standMm: vats.standMm,
    headroomMm: vats.headroomMm,
    clearanceMm: vats.clearanceMm,
    gapMm: vats.gapMm,
    count,
  };
}

const PROPOSED_STEP_MM = 50;
const PROPOSED_LEAST_MM = 300;
const PROPOSED_MOST_MM = 2000;
/** Slimmer than this a vat wants to fall over; flatter, it covers the floor. No source. */
const SLENDERNESS = [0.8, 1.6] as const;

/** Upright cylinders in steps of 50 mm, from a bucket to what no door lets through. */
function proposals(site: Site): Vat[] {
  const sizes = Array.from(
    { length: (PROPOSED_MOST_MM - PROPOSED_LEAST_MM) / PROPOSED_STEP_MM + 1 },
    (_, step) => PROPOSED_LEAST_MM + step * PROPOSED_STEP_MM,
  );
  const all = sizes.flatMap((diameterMm) =>
    sizes
      .filter((height) => height >= SLENDERNESS[0] * diameterMm && height <= SLENDERNESS[1] * diameterMm)
      .map((height) => upright(diameterMm, height)),
  );
  const fitting = all.filter((vat) => judge(site, vat).fits);
  // Where nothing fits, the smallest says so.
  return fitting.length > 0 ? fitting : all.slice(0, 1);
}

const WALL_MM = 6;

function upright(diameterMm: number, height: number): Vat {
  const capacityL = contentsUprightCylinderL(diameterMm, height);
  return {
    name: `Upright cylinder ${diameterMm} x ${height} mm`,
    shape: { kind: 'upright-cylinder', diameterMm, heightMm: height },
    body: { kind: 'cylinder', diameterMm: diameterMm + 2 * WALL_MM, lengthMm: height + 2 * WALL_MM },
    lying: false,
    capacityL,
    massKg: emptyMassKg(capacityL),
    price: null,
  };
}
