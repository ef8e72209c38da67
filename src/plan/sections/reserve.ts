// Do the vats cover the reserve, and how does it split between fresh and mixed?
import { LEAST_RESERVE_SHARE, reserveShare, reserveShortfallL } from '../../engineering/reserve.ts';
import { cautionIf } from '../cautions.ts';
import type { Design } from '../design.ts';
import { FLOAT_MM, type Marks } from '../marks.ts';
import { figure, type Section, section, type Table } from '../report.ts';
import type { Vat } from '../site.ts';
import { levelMm, wordsOfShape } from '../vat-level.ts';
import { litres, percent } from '../words.ts';

export function reserve(design: Design): Section {
  const { site, fresh, mixing, freshL, mixedL, freshMarks, mixingMarks } = design;
  const { volumeL } = site.system;
  const wanted = site.schedule.reserveShare;
  const onHandL = freshL + mixedL;
  const share = reserveShare(onHandL, volumeL);
  const shortL = reserveShortfallL(onHandL, volumeL, wanted);
  const lowered = mixingMarks.highL < 0.9 * mixingMarks.capacityL - 0.5;
  return section({
    id: 'reserve',
    title: 'Vats and reserve',
    says: [
      `Fresh vat: ${fresh.name} (${wordsOfShape(fresh)}). Mixing vat: ${mixing.name} (${wordsOfShape(mixing)}).`,
      `With both full, ${litres(onHandL)} can be drawn: ${percent(share)} of the ${litres(volumeL)} of the system. ` +
        (shortL > 0
          ? `The reserve of ${percent(wanted, 0)} needs ${litres(wanted * volumeL)}: ${litres(shortL)} are missing.`
          : `That is no less than the reserve of ${percent(wanted, 0)} (${litres(wanted * volumeL)}), but only in the moments in which both are full: between two batches it is less, and --promises lets the station run to say by how much and how long.`),
      `It splits into ${litres(freshL)} of fresh water and ${litres(mixedL)} of mixed water. Right after a batch was delivered only the fresh water is left, ${percent(reserveShare(freshL, volumeL))} of the system.`,
      'What lies under the low floats, what is kept free for a trim and below the brim is not counted; the running station counts by the same marks.',
    ],
    figures: [
      figure('system', 'Volume of the system', volumeL, 'L'),
      figure('wanted', 'Reserve aimed at', wanted * volumeL, 'L'),
      figure('fresh', 'Fresh water on hand, vat full', freshL, 'L'),
      figure('mixed', 'Mixed water on hand, batch ready', mixedL, 'L'),
      figure('onHand', 'On hand together', onHandL, 'L'),
      figure('share', 'Share of the system', 100 * share, '%', 1),
      figure('short', 'Missing to the reserve', shortL, 'L'),
    ],
    tables: [marksTable(fresh, freshMarks, mixing, mixingMarks)],
    cautions: [
      ...cautionIf(
        shortL > 0,
        'P-07',
        () =>
          `The vats hold ${percent(share)} of the system on hand, less than the reserve of ${percent(wanted, 0)}: ${litres(shortL)} are missing.`,
      ),
      ...cautionIf(
        lowered,
        'P-19',
        () =>
          `The transfer pump is so strong for the mixing vat that its high float has to sit at ${litres(mixingMarks.highL)} of ${litres(mixingMarks.capacityL)}.`,
      ),
      ...[
        [fresh, freshMarks] as const,
        ...(fresh.name === mixing.name ? [] : [[mixing, mixingMarks] as const]),
      ].flatMap(([vat, { cramped }]) =>
        cautionIf(
          cramped.length > 0,
          'P-31',
          () =>
            `The floats of ${vat.name} can't be built as they should: it leaves ${cramped.join(', and ')}.`,
        ),
      ),
    ],
    sources: [
      `That ${percent(LEAST_RESERVE_SHARE, 0)} of the system should stand ready is common practice; no source.`,
      `Marks as shares of the capacity, and ${FLOAT_MM} mm for each float: choices of this plan; no source. Low floats: ANSI/HI 9.8, see the heights.`,
    ],
  });
}

function marksTable(fresh: Vat, freshMarks: Marks, mixing: Vat, mixingMarks: Marks): Table {
  const row = (title: string, freshL: number | null, mixingL: number | null) => [
    title,
    freshL,
    freshL === null ? null : levelMm(fresh, freshL),
    mixingL,
    mixingL === null ? null : levelMm(mixing, mixingL),
  ];
  return {
    id: 'marks',
    title: 'Where the floats go, inside and above the bottom',
    columns: [
      { title: 'Mark' },
      { title: 'Fresh vat', unit: 'L', digits: 0 },
      { title: 'level', unit: 'mm', digits: 0 },
      { title: 'Mixing vat', unit: 'L', digits: 0 },
      { title: 'level', unit: 'mm', digits: 0 },
    ],
    rows: [
      row('Brim', freshMarks.capacityL, mixingMarks.capacityL),
      row('Overflow float', freshMarks.overflowL, mixingMarks.overflowL),
      row('High float', freshMarks.highL, mixingMarks.highL),
      row('Refill ends', freshMarks.stopAtL, null),
      row('Contents of a batch', null, mixingMarks.batchL),
      row('Refill begins', freshMarks.startBelowL, null),
      row('Low float', freshMarks.lowL, mixingMarks.lowL),
      row('Least for a pump', freshMarks.minimumL, mixingMarks.minimumL),
    ],
  };
}
