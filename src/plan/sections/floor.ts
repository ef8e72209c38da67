// What the vats do to the floor. Compared with published figures, never approved.
import { planAreaM2 } from '../../engineering/passage.ts';
import {
  DWELLING_LIVE_LOAD_KPA,
  filledMassKg,
  floorCaution,
  floorPressureKpa,
} from '../../engineering/vessels.ts';
import { caution, cautionIf } from '../cautions.ts';
import type { Design } from '../design.ts';
import { figure, type Section, section } from '../report.ts';
import type { Vat } from '../site.ts';
import { litres } from '../words.ts';

export function floor(design: Design): Section {
  const { site, fresh, mixing } = design;
  const { room } = site;
  // The brim, and salt water in both: what must be carried on the worst day.
  const massKg = (vat: Vat) =>
    filledMassKg(vat.capacityL, site.system.salinity, site.room.temperatureC, vat.massKg);
  const pressures = [fresh, mixing].map((vat) =>
    floorPressureKpa(massKg(vat), planAreaM2(vat.body, vat.lying)),
  );
  const worstKpa = Math.max(...pressures);
  const totalKg = massKg(fresh) + massKg(mixing);
  const averageKpa = floorPressureKpa(totalKg, (room.lengthMm * room.widthMm) / 1e6);
  return section({
    id: 'floor',
    title: 'Floor',
    says: [
      `Full to the brim the two vats weigh ${totalKg.toFixed(0)} kg, stand and people not counted. Under the heavier one the floor carries ${worstKpa.toFixed(1)} kPa (kN/m2): ${floorCaution(worstKpa)}.`,
      `Spread over the whole free floor it is ${averageKpa.toFixed(1)} kPa. Building codes state loads for whole rooms (1.5 to 2.0 kPa for dwellings in EN 1991-1-1, table 6.2, from memory; 1.9 kPa in the IRC), not for a patch under a vat, and EN 1991-1-1 leaves heavy equipment out of them.`,
      room.storey === 0
        ? 'The file says that the floor lies on the ground. A cellar, a duct or a suspended slab below it would change that: ask.'
        : `The floor is on storey ${room.storey}. What carries it, nobody can see from above.`,
      'Reckoned is a flat bottom that touches everywhere. Feet, saddles and joists touch far less and press far harder.',
    ],
    figures: [
      figure('mass', 'Both vats full to the brim', totalKg, 'kg'),
      figure('fresh', 'Pressure under the fresh vat', pressures[0] ?? 0, 'kPa', 1),
      figure('mixing', 'Pressure under the mixing vat', pressures[1] ?? 0, 'kPa', 1),
      figure('average', 'Spread over the free floor', averageKpa, 'kPa', 1),
      figure('times', 'Times the live load of dwellings', worstKpa / DWELLING_LIVE_LOAD_KPA, '', 1),
      figure('allowed', 'Stated for this floor', room.allowedKpa, 'kPa', 1, 'nothing is stated'),
    ],
    cautions: [
      caution('P-01', floorWords(design, worstKpa, totalKg)),
      ...cautionIf(
        room.allowedKpa !== null && worstKpa > room.allowedKpa,
        'P-02',
        () =>
          `A full vat presses with ${worstKpa.toFixed(1)} kPa on a floor for which ${room.allowedKpa?.toFixed(1)} kPa are stated.`,
      ),
    ],
    sources: [
      'm g / A with standard gravity; 40 lbf/ft2 = 1.92 kPa: International Residential Code, table R301.5; conversion NIST SP 811.',
      'EN 1991-1-1:2002, table 6.2 and section 6: from memory.',
    ],
  });
}

function floorWords({ site, fresh, mixing }: Design, worstKpa: number, totalKg: number): string {
  const vats = `${litres(fresh.capacityL + mixing.capacityL)} of water, ${totalKg.toFixed(0)} kg, ${worstKpa.toFixed(1)} kPa under a vat`;
  const times = (worstKpa / DWELLING_LIVE_LOAD_KPA).toFixed(1);
  const stated =
    site.room.allowedKpa !== null && worstKpa <= site.room.allowedKpa
      ? ` It is less than the ${site.room.allowedKpa.toFixed(1)} kPa stated for this floor, which is no approval either.`
      : '';
  return `${vats}: ${times} times the live load for which rooms of dwellings are commonly designed.${stated}`;
}
