// How long the station goes on by itself when nobody comes to add salt.
import { daysOfAutonomy } from '../../engineering/exchange.ts';
import { cautionIf } from '../cautions.ts';
import type { Design } from '../design.ts';
import { figure, type Section, section } from '../report.ts';
import { days, litres, perDay } from '../words.ts';

/** Of a batch, as the planned station has it. */
const AGE_LIMIT_DAYS = 14;

export function absence(design: Design): Section {
  const { site, mixedL, freshL, exchangePerDayL, worst } = design;
  const { absenceDays } = site.owner;
  const useL = site.system.freshUsePerDayL;
  const mixed = daysOfAutonomy(mixedL, exchangePerDayL, 0);
  const alone = daysOfAutonomy(freshL, useL, 0);
  const withPurifier = daysOfAutonomy(freshL, useL, worst.oldLpm * 1440);
  const mixedDays = mixed.kind === 'lasts' ? mixed.days : null;
  return section({
    id: 'absence',
    title: 'While nobody is there',
    says: [
      mixedDays === null
        ? 'Nothing is exchanged by schedule, so no batch is used up.'
        : `A full batch of ${litres(mixedL)} carries the exchange for ${days(mixedDays)}; then it waits for somebody with salt. The longest absence is ${days(absenceDays)}.`,
      useL > 0
        ? `Fresh water for ${perDay(useL)} lasts ${withPurifier.kind === 'for ever' ? 'as long as the purifier works' : days(withPurifier.days)}${alone.kind === 'lasts' ? `, and ${days(alone.days)} without it` : ''}.`
        : 'No fresh water is drawn beside the batches.',
      `A batch older than ${AGE_LIMIT_DAYS} d is not delivered any more: it is measured anew when somebody is back.`,
      'Shut the tap before the purifier by hand when nobody is there for long, unless a spring-return valve and a leak switch that work without the computer do it.',
    ],
    figures: [
      figure('exchange', 'Exchange goes on for', mixedDays, 'd', 1, 'for ever'),
      figure('absence', 'Longest absence', absenceDays, 'd', 0),
      figure(
        'fresh',
        'Fresh water without purifier',
        alone.kind === 'lasts' ? alone.days : null,
        'd',
        1,
        'not used',
      ),
    ],
    cautions: cautionIf(
      mixedDays !== null && mixedDays < absenceDays,
      'P-16',
      () =>
        `A batch carries the exchange for ${days(mixedDays ?? 0)}, and nobody may come for ${days(absenceDays)}: for the rest the exchange waits.`,
    ),
    sources: ['On hand over daily use.'],
  });
}
