// The first filling of a system: how many batches, how much salt and water, how many days.
import { bagsNeeded } from '../../engineering/consumption.ts';
import { type Design, twoVats } from '../design.ts';
import type { MonthOutput } from '../purifier.ts';

export interface FirstFill {
  readonly batches: number;
  readonly saltKg: number;
  readonly bags: number;
  readonly purifiedL: number;
  /** With an old membrane in the worst month, and a new one in the best; null where nothing flows. */
  readonly days: { readonly most: number; readonly least: number } | null;
}

/**
 * Batch after batch, somebody there with the salt each time: each takes as long as the purifier needs for it, or as making
 * it takes, whichever is longer.
 */
export function firstFillOf(design: Design): FirstFill {
  const { site, mixedL, batch, worst, best } = design;
  const { volumeL } = site.system;
  const share = volumeL / mixedL;
  const saltKg = batch.saltKg * share;
  const daysOf = (lpm: number): number | null => {
    const vats = twoVats(design, lpm);
    if (vats === null) return null;
    const makingMinutes =
      batch.purifiedL / vats.transferLpm +
      vats.preparationMinutes +
      mixedL / (design.supply.flowLpm ?? vats.supplyLpm);
    return (share * Math.max(batch.purifiedL / lpm, makingMinutes)) / 1440;
  };
  const most = daysOf(lpmOf(worst, 'old'));
  const least = daysOf(lpmOf(best, 'new'));
  return {
    batches: Math.ceil(share - 1e-9),
    saltKg,
    bags: bagsNeeded(saltKg, site.salt.bagKg),
    purifiedL: batch.purifiedL * share,
    days: most === null || least === null ? null : { most, least },
  };
}

const lpmOf = ({ oldLpm, newLpm }: MonthOutput, membrane: 'old' | 'new'): number =>
  membrane === 'old' ? oldLpm : newLpm;
