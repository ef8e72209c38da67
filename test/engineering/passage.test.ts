import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type Body,
  carriedThrough,
  footprint,
  largestBox,
  largestLyingCylinder,
  largestUprightCylinder,
  type Place,
  planAreaM2,
  settingUprightMm,
  standInARow,
} from '../../src/engineering/passage.ts';
import { OutOfRange } from '../../src/engineering/range.ts';
import '../seed.ts';

const door = { widthMm: 800, heightMm: 2000 };
const cylinder = (diameterMm: number, lengthMm: number): Body => ({
  kind: 'cylinder',
  diameterMm,
  lengthMm,
});

describe('a vessel at a door', () => {
  it('stands through it when it is narrower and lower by the clearance, and not a millimetre more', () => {
    expect(carriedThrough(cylinder(770, 1970), door, 30)).toBe('upright');
    expect(carriedThrough(cylinder(771, 1970), door, 30)).toBeNull();
    expect(carriedThrough(cylinder(770, 1971), door, 30)).toBe('tipped');
  });

  it('goes in lying, end first, however long it is', () => {
    expect(carriedThrough(cylinder(700, 5000), door, 30)).toBe('tipped');
  });

  it('a flat drum wider than the door goes through on its edge', () => {
    expect(carriedThrough(cylinder(1500, 600), door, 30)).toBe('tipped');
    expect(carriedThrough(cylinder(1500, 800), door, 30)).toBeNull();
  });

  it('a long box goes through by its narrow end', () => {
    expect(carriedThrough({ kind: 'box', lengthMm: 1600, widthMm: 600, heightMm: 900 }, door, 30)).toBe(
      'upright',
    );
    expect(carriedThrough({ kind: 'box', lengthMm: 900, widthMm: 900, heightMm: 900 }, door, 30)).toBeNull();
  });

  it('passes any wider and higher door too', () => {
    const size = fc.integer({ min: 100, max: 3000 });
    fc.assert(
      fc.property(size, size, size, size, size, fc.integer({ min: 0, max: 500 }), (a, b, c, w, h, more) => {
        const body: Body = { kind: 'box', lengthMm: a, widthMm: b, heightMm: c };
        const small = { widthMm: w, heightMm: h };
        const large = { widthMm: w + more, heightMm: h + more };
        return carriedThrough(body, small, 20) === null || carriedThrough(body, large, 20) !== null;
      }),
    );
  });

  it('without a size is refused, and so is a door of 30 m', () => {
    expect(() => carriedThrough(cylinder(0, 500), door, 0)).toThrow(OutOfRange);
    expect(() => carriedThrough(cylinder(500, 500), { widthMm: 30_000, heightMm: 2000 }, 0)).toThrow(
      /door width/,
    );
  });
});

describe('setting a vessel upright', () => {
  // 3-4-5: 600 mm across and 800 mm high turn over a diagonal of 1000 mm.
  it('needs the diagonal of its height and its shorter side', () => {
    expect(settingUprightMm(cylinder(600, 800))).toBe(1000);
    expect(settingUprightMm({ kind: 'box', lengthMm: 1200, widthMm: 600, heightMm: 800 })).toBe(1000);
  });
});

describe('standing on a floor', () => {
  const floor = { lengthMm: 1900, widthMm: 950 };

  it('two vats of 712 mm with a gap of 150 mm take 1574 mm, and not 1573', () => {
    const two = [footprint(cylinder(712, 862)), footprint(cylinder(712, 862))];
    expect(standInARow(two, { lengthMm: 1574, widthMm: 712 }, 150)).toBe(true);
    expect(standInARow(two, { lengthMm: 1573, widthMm: 712 }, 150)).toBe(false);
    expect(standInARow(two, { lengthMm: 1574, widthMm: 711 }, 150)).toBe(false);
  });

  it('a box is turned to stand with its short side along the row', () => {
    const box = footprint({ kind: 'box', lengthMm: 900, widthMm: 500, heightMm: 600 });
    expect(standInARow([box, box, box], floor, 100)).toBe(true);
    expect(standInARow([box, box, box, box], floor, 100)).toBe(false);
  });

  it('the order of the vessels and the turn of the floor do not matter', () => {
    const side = fc.integer({ min: 100, max: 1200 });
    const rectangle = fc.record({ lengthMm: side, widthMm: side });
    fc.assert(
      fc.property(fc.array(rectangle, { maxLength: 4 }), side, side, (bodies, length, width) => {
        const one = standInARow(bodies, { lengthMm: length, widthMm: width }, 50);
        const turned = standInARow(bodies.toReversed(), { lengthMm: width, widthMm: length }, 50);
        return one === turned;
      }),
    );
  });

  it('a cylinder of 1 m covers 0.785 m2, and lying its side', () => {
    expect(planAreaM2(cylinder(1000, 1500))).toBeCloseTo(0.785398, 6);
    expect(planAreaM2(cylinder(1000, 1500), true)).toBeCloseTo(1.5, 9);
    expect(planAreaM2({ kind: 'box', lengthMm: 800, widthMm: 500, heightMm: 600 })).toBeCloseTo(0.4, 9);
  });
});

describe('the largest vessels of a place', () => {
  const place: Place = {
    doors: [door, { widthMm: 900, heightMm: 2100 }],
    heightMm: 2300,
    floor: { lengthMm: 1900, widthMm: 950 },
    standMm: 200,
    headroomMm: 500,
    clearanceMm: 30,
    gapMm: 150,
    count: 2,
  };

  // By hand: the narrower door leaves 770 mm. 2300 - 200 - 500 = 1600 mm of height; that is lower than the door.
  it('upright: as wide as the narrowest door less the clearance, as high as room, stand and headroom leave', () => {
    expect(largestUprightCylinder(place)?.body).toEqual(cylinder(770, 1600));
  });

  // A diameter of 770 mm needs sqrt(2000^2 - 770^2) = 1845 mm to be set upright in a room of 2 m; 1300 mm are left anyway.
  it('upright: never higher than the room leaves', () => {
    expect(largestUprightCylinder({ ...place, heightMm: 2000 })?.body).toEqual(cylinder(770, 1300));
  });

  // (1900 - 2 x 150 - ...) three vats with two gaps of 150 mm: (1900 - 300) / 3 = 533 mm, in steps of 10 mm 530 mm.
  it('more of them are narrower: what stands side by side decides', () => {
    expect(largestUprightCylinder({ ...place, count: 3 })?.body).toEqual(cylinder(530, 1600));
  });

  it('lying: as long as the floor is wide, when they lie side by side', () => {
    const lying = largestLyingCylinder(place);
    expect(lying?.body).toEqual(cylinder(770, 950));
    expect(lying?.contentsL).toBeCloseTo(Math.PI * 0.385 ** 2 * 0.95 * 1000, 6);
  });

  it('boxes: two lengthwise beside each other share the width of the floor', () => {
    expect(largestBox(place)?.body).toEqual({ kind: 'box', lengthMm: 1900, widthMm: 400, heightMm: 1600 });
  });

  it('nothing fits a cupboard', () => {
    const cupboard = { ...place, heightMm: 600, floor: { lengthMm: 300, widthMm: 300 } };
    expect(largestUprightCylinder(cupboard)).toBeNull();
    expect(largestLyingCylinder(cupboard)).toBeNull();
    expect(largestBox(cupboard)).toBeNull();
  });

  it('whatever is found passes the door, fits under the ceiling and stands there', () => {
    const size = (min: number, max: number) => fc.integer({ min, max });
    fc.assert(
      fc.property(
        size(400, 1200),
        size(1500, 2300),
        size(1800, 3500),
        size(800, 4000),
        size(400, 2000),
        size(1, 3),
        (w, h, room, length, width, count) => {
          const here = {
            ...place,
            doors: [{ widthMm: w, heightMm: h }],
            heightMm: room,
            floor: { lengthMm: length, widthMm: width },
            count,
          };
          for (const found of [largestUprightCylinder(here), largestLyingCylinder(here), largestBox(here)]) {
            if (found === null) continue;
            const { body, lying } = found;
            const tall =
              lying && body.kind === 'cylinder'
                ? body.diameterMm
                : body.kind === 'box'
                  ? body.heightMm
                  : body.lengthMm;
            expect(carriedThrough(body, { widthMm: w, heightMm: h }, 30)).not.toBeNull();
            expect(tall + 700).toBeLessThanOrEqual(room);
            expect(standInARow(Array(count).fill(footprint(body, lying)), here.floor, 150)).toBe(true);
          }
        },
      ),
      { numRuns: 60 },
    );
  });
});
