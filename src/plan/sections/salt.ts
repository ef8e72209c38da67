// Salt: for a batch, for a year, in bags.
import { bagsNeeded, batchesNeeded, exchangedPerYearL } from '../../engineering/consumption.ts';
import { saltMassForFinalVolumeKg } from '../../engineering/salting.ts';
import type { Design } from '../design.ts';
import { figure, type Section, section } from '../report.ts';
import { counted, kilograms, litres } from '../words.ts';

/** Salt for a year's exchange. @returns kg */
export function saltPerYearKg({ site, batch }: Design): number {
  const { schedule, system, salt } = site;
  const perYearL = exchangedPerYearL(system.volumeL, schedule.share, schedule.intervalDays);
  if (perYearL <= 0) return 0;
  // Mass for a volume is in proportion to it.
  return perYearL * saltMassForFinalVolumeKg(1, system.salinity, batch.fromC, salt.yield);
}

export function salt(design: Design): Section {
  const { site, batch, mixedL } = design;
  const { schedule, system } = site;
  const perYearL = exchangedPerYearL(system.volumeL, schedule.share, schedule.intervalDays);
  const perYearKg = saltPerYearKg(design);
  const bags = bagsNeeded(perYearKg, site.salt.bagKg);
  const reserveKg = saltMassForFinalVolumeKg(
    Math.max(1, schedule.largeShare * system.volumeL),
    system.salinity,
    batch.fromC,
    site.salt.yield,
  );
  return section({
    id: 'salt',
    title: 'Salt',
    says: [
      `A batch of ${litres(mixedL)} takes ${batch.saltKg.toFixed(1)} kg of ${site.salt.name}; a year of exchange takes ${perYearKg.toFixed(0)} kg in ${counted(batchesNeeded(perYearL, mixedL), 'batch', 'batches')}: ${counted(bags, 'bag')} of ${kilograms(site.salt.bagKg)}.`,
      `Keep at least ${counted(bagsNeeded(reserveKg, site.salt.bagKg), 'bag')} in the house, dry and closed: ${reserveKg.toFixed(0)} kg are needed for a change of ${litres(schedule.largeShare * system.volumeL)}. A bag drawn damp yields less than its label says.`,
    ],
    figures: [
      figure('perBatch', 'Salt for a batch', batch.saltKg, 'kg', 1),
      figure('waterPerBatch', 'Purified water for a batch', batch.purifiedL, 'L'),
      figure('exchanged', 'Exchanged in a year', perYearL, 'L'),
      figure('batches', 'Batches in a year', batchesNeeded(perYearL, mixedL), ''),
      figure('perYear', 'Salt in a year', perYearKg, 'kg'),
      figure('bags', `Bags of ${kilograms(site.salt.bagKg)} in a year`, bags, ''),
    ],
    sources: [
      'Mass balance of salt with the density of Millero & Poisson 1981; reference salinity 35.16504/35 g/kg of practical salinity (Millero et al. 2008).',
    ],
  });
}
