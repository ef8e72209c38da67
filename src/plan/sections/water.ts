// The purifier's other pipe, the drain, and what must be said about both.
import { DAYS_PER_YEAR } from '../../engineering/consumption.ts';
import { rejectWaterL } from '../../engineering/purification.ts';
import { columnPressureKpa, trayDepthMm } from '../../engineering/standing.ts';
import { cautionIf } from '../cautions.ts';
import type { Design } from '../design.ts';
import { mostFlowLpm } from '../lines.ts';
import { figure, type Section, section } from '../report.ts';
import { rimM } from '../vat-level.ts';
import { litres, lpm, percent, perDay } from '../words.ts';

export function water(design: Design): Section {
  const { site, purifiedPerDayL, best, transfer, fresh, mixing } = design;
  const { recovery } = site.purifier;
  const rejectL = rejectWaterL(purifiedPerDayL, recovery);
  const inletLpm = best.newLpm / recovery;
  const trayL = Math.max(fresh.capacityL, mixing.capacityL);
  const areaM2 = (site.room.lengthMm * site.room.widthMm) / 1e6;
  const backKpa = columnPressureKpa(site.vats.standMm / 1000 + rimM(fresh), 0, 15);
  const greatestLpm = Math.max(mostFlowLpm(transfer), best.newLpm);
  return section({
    id: 'water',
    title: 'Purifier, tray and drain',
    says: [
      `Of each litre from the line ${percent(recovery, 0)} become purified water: the schedule sends ${perDay(rejectL)} to the drain beside ${perDay(purifiedPerDayL)} of purified water. While it runs the purifier takes up to ${lpm(inletLpm)}.`,
      `The rim of the fresh vat presses back on the membrane with ${backKpa.toFixed(0)} kPa.`,
      `Both vats stand in a tray with a drain to a floor drain that nobody can close. It must carry away ${lpm(greatestLpm)}, the most that a pump can bring when every float fails. A tray over the whole free floor would have to be ${trayDepthMm(trayL, areaM2).toFixed(0)} mm deep to hold one vat: a tray without a drain is only a delay.`,
      'The purifier hangs on the drinking water: it needs the backflow protection that the local code demands, fitted by somebody licensed for it, and a free gap where its waste pipe ends over the drain. Never route its line past an unattended vat without a drain below.',
    ],
    figures: [
      figure('reject', 'To the drain on the average day', rejectL, 'L/d'),
      figure(
        'rejectYear',
        'To the drain in a year',
        rejectWaterL(purifiedPerDayL * DAYS_PER_YEAR, recovery) / 1000,
        'm3',
        1,
      ),
      figure('inlet', 'Taken from the line while it runs, at most', inletLpm, 'L/min', 2),
      figure('drain', 'What the tray drain must carry', greatestLpm, 'L/min', 1),
      figure('back', 'Back pressure of the fresh vat', backKpa, 'kPa', 1),
      figure('tray', `Depth of a tray for ${litres(trayL)}`, trayDepthMm(trayL, areaM2), 'mm'),
    ],
    cautions: cautionIf(
      !site.room.floorDrain,
      'P-03',
      () => 'The room has no floor drain: nothing takes the water of a vat that runs over.',
    ),
    sources: [
      'Reject = purified (1 / recovery - 1).',
      'That a tray should hold 110 % of the largest vessel: from memory, oil storage regulations of England 2001.',
    ],
  });
}
