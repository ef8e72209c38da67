// The purifier's other pipe, the drain, and what must be said about both.
import { DAYS_PER_YEAR } from '../../engineering/consumption.ts';
import { openJointLpm } from '../../engineering/gravity.ts';
import { columnPressureKpa, trayDepthMm } from '../../engineering/standing.ts';
import { cautionIf } from '../cautions.ts';
import type { Design } from '../design.ts';
import type { LinePlan } from '../lines.ts';
import type { Marks } from '../marks.ts';
import { rejectPerYearL, rejectRatio } from '../purifier.ts';
import { figure, type Section, section } from '../report.ts';
import { levelMm, rimM } from '../vat-level.ts';
import { litres, lpm, perDay } from '../words.ts';

export function water(design: Design): Section {
  const { site, purifiedPerDayL, best, worst, transfer, supply, fresh, mixing } = design;
  const yearL = rejectPerYearL(design.months, site, purifiedPerDayL);
  const rejectL = yearL / DAYS_PER_YEAR;
  const cold = rejectRatio(site, worst.oldLpm);
  const warm = rejectRatio(site, best.newLpm);
  const inletLpm = best.newLpm * (1 + warm);
  const trayL = Math.max(fresh.capacityL, mixing.capacityL);
  const areaM2 = (site.room.lengthMm * site.room.widthMm) / 1e6;
  const backKpa = columnPressureKpa(site.vats.freshStandMm / 1000 + rimM(fresh), 0, 15);
  const pumpLpm = Math.max(transfer.range?.mostLpm ?? 0, best.newLpm);
  const joint = Math.max(jointLpm(transfer, design.freshMarks), jointLpm(supply, design.mixingMarks));
  const greatestLpm = Math.max(pumpLpm, joint);
  return section({
    id: 'water',
    title: 'Purifier, tray and drain',
    says: [
      site.purifier.restrictor === 'fixed'
        ? `A fixed restrictor lets the same water to the drain in winter, when the membrane gives less: ${warm.toFixed(1)} litres for each purified one in ${best.month} with a new membrane, ${cold.toFixed(1)} in ${worst.month} with an old one. The schedule sends ${perDay(rejectL)} to the drain beside ${perDay(purifiedPerDayL)} of purified water, in the mean of the year.`
        : `With its reject valve set anew for every season ${warm.toFixed(1)} litres go to the drain for each purified one: ${perDay(rejectL)} beside ${perDay(purifiedPerDayL)} of purified water.`,
      `While it runs the purifier takes up to ${lpm(inletLpm)}. The rim of the fresh vat presses back on the membrane with ${backKpa.toFixed(0)} kPa.`,
      `Both vats stand in a tray with a drain to a floor drain that nobody can close. It must carry away ${lpm(greatestLpm)}: ${joint > pumpLpm ? `what runs out of a joint that comes off under a full vat; the most that a pump brings when every float fails is ${lpm(pumpLpm)}` : 'the most that a pump can bring when every float fails'}. A tray over the whole free floor would have to be ${trayDepthMm(trayL, areaM2).toFixed(0)} mm deep to hold one vat: a tray without a drain is only a delay.`,
      'The purifier hangs on the drinking water: it needs the backflow protection that the local code demands, fitted by somebody licensed for it, and a free gap where its waste pipe ends over the drain. Never route its line past an unattended vat without a drain below.',
    ],
    figures: [
      figure('reject', 'To the drain on the average day', rejectL, 'L/d'),
      figure('rejectYear', 'To the drain in a year', yearL / 1000, 'm3', 1),
      figure('rejectCold', `Reject for each purified litre, ${worst.month}, old membrane`, cold, 'L/L', 1),
      figure('rejectWarm', `The same, ${best.month}, new membrane`, warm, 'L/L', 1),
      figure('inlet', 'Taken from the line while it runs, at most', inletLpm, 'L/min', 2),
      figure('drain', 'What the tray drain must carry', greatestLpm, 'L/min', 1),
      figure('joint', 'Out of a joint that comes off under a full vat', joint, 'L/min', 1),
      figure('back', 'Back pressure of the fresh vat', backKpa, 'kPa', 1),
      figure('tray', `Depth of a tray for ${litres(trayL)}`, trayDepthMm(trayL, areaM2), 'mm'),
    ],
    cautions: cautionIf(
      !site.room.floorDrain,
      'P-03',
      () => 'The room has no floor drain: nothing takes the water of a vat that runs over.',
    ),
    sources: [
      'Reject of a fixed restrictor: as at the rating, with the root of the line pressure. Of a valve: purified (1 / recovery - 1).',
      'Open joint: 0.6 a sqrt(2 g h), a sharp edge of the size of the pipe (Torricelli; FE Reference Handbook).',
      'That a tray should hold 110 % of the largest vessel: from memory, oil storage regulations of England 2001.',
    ],
  });
}

/** Its widest pipe comes off at the floor, the vat full to the high float. */
function jointLpm({ line, from, standMm }: LinePlan, { highL }: Marks): number {
  const widest = Math.max(...line.pipes.map(({ diameterMm }) => diameterMm));
  return openJointLpm((levelMm(from, highL) + standMm) / 1000, widest);
}
