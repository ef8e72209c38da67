// What the vats do to the floor: as a load on its area, and on the patches that carry it. Each is held against a figure of
// its own kind, and nothing is approved.
import { contactAreaM2 } from '../../engineering/passage.ts';
import { DWELLING_LIVE_LOAD_KPA, filledMassKg, floorPressureKpa } from '../../engineering/vessels.ts';
import { type CautionId, caution, cautionIf } from '../cautions.ts';
import type { Design } from '../design.ts';
import { figure, type Section, section } from '../report.ts';
import type { Vat } from '../site.ts';
import { litres } from '../words.ts';

interface Load {
  readonly totalKg: number;
  /** Over the whole free floor: what a stated area load is about. */
  readonly areaKpa: number;
  readonly patchKpa: number;
}

export function floor(design: Design): Section {
  const { site, fresh, mixing } = design;
  const { room } = site;
  // The brim, and salt water in both: what must be carried on the worst day.
  const massKg = (vat: Vat) =>
    filledMassKg(vat.capacityL, site.system.salinity, site.room.temperatureC, vat.massKg);
  const pressures = [fresh, mixing].map((vat) =>
    floorPressureKpa(massKg(vat), contactAreaM2(vat.body, vat.lying)),
  );
  const totalKg = massKg(fresh) + massKg(mixing);
  const load: Load = {
    totalKg,
    areaKpa: floorPressureKpa(totalKg, (room.lengthMm * room.widthMm) / 1e6),
    patchKpa: Math.max(...pressures),
  };
  const isSaddled = fresh.lying || mixing.lying;
  return section({
    id: 'floor',
    title: 'Floor',
    says: [
      `Full to the brim the two vats weigh ${totalKg.toFixed(0)} kg, stand and people not counted. Spread over the free floor that is ${load.areaKpa.toFixed(1)} kPa (kN/m2), the figure to hold against a stated area load.`,
      `${isSaddled ? 'Under the saddles of a lying vat, two of 100 mm across two thirds of its width,' : 'Under a flat bottom that touches everywhere'} the floor carries ${load.patchKpa.toFixed(1)} kPa. That is a local pressure: it is held against the covering and the slab (tiles, screed, insulation, boards), never against the area load of a room. Feet and joists press far harder.`,
      'For comparison: rooms of dwellings are commonly designed for an area load of 1.5 to 2.0 kPa (EN 1991-1-1, table 6.2, from memory) or 1.9 kPa (IRC, table R301.5), and for one load of 2 kN on a spot of 50 mm (EN 1991-1-1, from memory). EN 1991-1-1 leaves heavy equipment out of these figures.',
      room.storey === 0
        ? 'The file says that the floor lies on the ground. A cellar, a duct or a suspended slab below it would change that: ask.'
        : `The floor is on storey ${room.storey}. What carries it, nobody can see from above.`,
    ],
    figures: [
      figure('mass', 'Both vats full to the brim', totalKg, 'kg'),
      figure('average', 'Spread over the free floor', load.areaKpa, 'kPa', 1),
      figure('times', 'Times the area load of dwellings', load.areaKpa / DWELLING_LIVE_LOAD_KPA, '', 1),
      figure('allowed', 'Stated for this floor', room.allowedKpa, 'kPa', 1, 'nothing is stated'),
      figure('fresh', 'Local pressure under the fresh vat', pressures[0] ?? 0, 'kPa', 1),
      figure('mixing', 'Local pressure under the mixing vat', pressures[1] ?? 0, 'kPa', 1),
    ],
    cautions: [
      caution(judged(design, load), floorWords(design, load)),
      ...cautionIf(
        room.allowedKpa !== null && load.areaKpa > room.allowedKpa,
        'P-02',
        () =>
          `The full vats load the free floor with ${load.areaKpa.toFixed(1)} kPa, for which ${room.allowedKpa?.toFixed(1)} kPa are stated.`,
      ),
    ],
    sources: [
      'm g / A with standard gravity; 40 lbf/ft2 = 1.92 kPa: International Residential Code, table R301.5; conversion NIST SP 811.',
      'EN 1991-1-1:2002, table 6.2 and section 6: from memory. Saddles: common practice, no source.',
    ],
  });
}

/** A danger where a figure says so and nobody has stated a better one: rooms below, and more than rooms are designed for. */
function judged({ site }: Design, { areaKpa }: Load): CautionId {
  const { storey, allowedKpa } = site.room;
  return storey !== 0 && allowedKpa === null && areaKpa > DWELLING_LIVE_LOAD_KPA ? 'P-01' : 'P-25';
}

function floorWords({ site, fresh, mixing }: Design, { totalKg, areaKpa, patchKpa }: Load): string {
  const { allowedKpa } = site.room;
  const vats = `${litres(fresh.capacityL + mixing.capacityL)} of water, ${totalKg.toFixed(0)} kg: ${areaKpa.toFixed(1)} kPa over the free floor, ${patchKpa.toFixed(1)} kPa under a vat`;
  if (allowedKpa !== null) {
    return areaKpa > allowedKpa
      ? `${vats}.`
      : `${vats}. Over the free floor it is less than the ${allowedKpa.toFixed(1)} kPa stated for it, which is no approval either.`;
  }
  const times = areaKpa / DWELLING_LIVE_LOAD_KPA;
  return times > 1
    ? `${vats}; over the free floor ${times.toFixed(1)} times the area load for which rooms of dwellings are commonly designed. Nothing is stated for this floor.`
    : `${vats}. Nothing is stated for this floor.`;
}
