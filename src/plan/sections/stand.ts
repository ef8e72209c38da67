// What the vats stand on, and what its height does to the pumps, the purifier and the ceiling.
import { cautionIf } from '../cautions.ts';
import type { Design } from '../design.ts';
import { supplyLine } from '../lines.ts';
import { outputLpm } from '../purifier.ts';
import { type Cell, figure, type Section, section } from '../report.ts';
import { heightMm, rimM } from '../vat-level.ts';
import { lpm, metres } from '../words.ts';

/** Heights that are built: a pallet, a bench, a table. */
const HEIGHTS_MM = [0, 200, 400, 600, 800];

export function stand(design: Design): Section {
  const { site, mixing, mixingMarks, fresh, worst, supply } = design;
  const own = site.vats.standMm;
  const heights = [...new Set([...HEIGHTS_MM, own])].toSorted((a, b) => a - b);
  const tallestMm = Math.max(heightMm(fresh), heightMm(mixing));
  const above = (standMm: number) => site.room.heightMm - standMm - tallestMm;
  const row = (standMm: number): Cell[] => {
    const line = supplyLine(site, mixing, mixingMarks, standMm);
    return [
      `${standMm} mm${standMm === own ? ' (this plan)' : ''}`,
      line.mostLiftM,
      line.flowLpm,
      outputLpm(site, standMm / 1000 + rimM(fresh), worst.temperatureC, 0) * 1440,
      above(standMm),
    ];
  };
  const higher = supplyLine(site, mixing, mixingMarks, own + 100);
  const gain = higher.flowLpm === null || supply.flowLpm === null ? null : higher.flowLpm - supply.flowLpm;
  return section({
    id: 'stand',
    title: 'Height of the stand',
    says: [
      `Every metre under the vats is a metre less for the supply pump to lift${gain === null ? '' : `: 100 mm more than the ${own} mm of this plan bring ${lpm(gain)} more`}. The transfer from vat to vat gains nothing: both stand equally high.`,
      `The purifier pays for it with 9.8 kPa of back pressure a metre, and ${metres(above(own) / 1000)} are left between the rim and the ceiling.`,
      'A pump wants to stand below the vat that it draws from, its inlet always under water. A valve at the bottom of each vat, and a stand that lets a hand and a bucket under it.',
    ],
    figures: [
      figure('stand', 'Height of the stand', own, 'mm'),
      figure('above', 'Left above the taller vat', above(own), 'mm'),
      figure('gain', 'Supply flow gained by 100 mm more', gain, 'L/min', 2, 'it does not reach'),
    ],
    tables: [
      {
        id: 'heights',
        title: 'Stand by stand',
        columns: [
          { title: 'Stand' },
          { title: 'most lift of the supply', unit: 'm', digits: 2 },
          { title: 'supply', unit: 'L/min', digits: 1 },
          { title: `purifier in ${worst.month}, new`, unit: 'L/d', digits: 0 },
          { title: 'left above', unit: 'mm', digits: 0 },
        ],
        rows: heights.map(row),
      },
    ],
    cautions: cautionIf(
      own > 0,
      'P-21',
      () =>
        `A full vat on a stand of ${own} mm can slide off or be pulled over: several hundred kilograms at knee height.`,
    ),
    sources: ['Lift = height of the outlet less stand and level. A metre of water is 9.8 kPa.'],
  });
}
