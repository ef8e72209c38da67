// What a year costs, and what the vats cost once. Only where the site states prices.
import {
  bagsNeeded,
  batchesNeeded,
  cost,
  DAYS_PER_YEAR,
  energyKwh,
  exchangedPerYearL,
} from '../../engineering/consumption.ts';
import { heatToWarmKwh } from '../../engineering/heat.ts';
import { MONTH_DAYS } from '../../engineering/season.ts';
import type { Design } from '../design.ts';
import { rejectPerYearL } from '../purifier.ts';
import { figure, type Section, section } from '../report.ts';
import type { Site } from '../site.ts';
import { kilograms } from '../words.ts';
import { saltPerYearKg } from './salt.ts';

type Tariffs = NonNullable<Site['tariffs']>;

interface Item {
  readonly id: string;
  readonly name: string;
  readonly amount: number;
  readonly unit: string;
  /** Null where nobody has said the price. */
  readonly price: number | null;
}

export function costs(design: Design): Section | null {
  const { tariffs } = design.site;
  if (tariffs === null) return null;
  const items = [...waterAndSalt(design, tariffs), ...electricity(design, tariffs)];
  const known = items.filter(({ price }) => price !== null);
  const total = known.reduce((sum, { price }) => sum + (price ?? 0), 0);
  const { fresh, mixing } = design;
  const vats = fresh.price === null || mixing.price === null ? null : fresh.price + mixing.price;
  const { currency } = tariffs;
  return section({
    id: 'costs',
    title: 'Costs',
    says: [
      known.length === 0
        ? 'No price is stated that could be reckoned with.'
        : `A year costs about ${total.toFixed(0)} ${currency}${known.length < items.length ? ', without what has no price in the file' : ''}. Membranes, resin, repairs and work are not in it.`,
      'Heating is reckoned as if every litre were warmed from the temperature of its inlet month: a warm room takes some of it over, and then it is less.',
    ],
    figures: [
      ...items.map(({ id, name, amount, unit, price }) =>
        figure(id, `${name}: ${amount.toFixed(0)} ${unit} a year`, price, currency, 0, 'no price stated'),
      ),
      figure('total', 'A year, what has a price', total, currency),
      figure('vats', 'Both vats, once', vats, currency, 0, 'no price stated'),
    ],
    sources: ['Amounts from the other sections; prices from the site file.'],
  });
}

function waterAndSalt(design: Design, { water }: Tariffs): Item[] {
  const { site, purifiedPerDayL } = design;
  const purifiedL = purifiedPerDayL * DAYS_PER_YEAR;
  const inletL = purifiedL + rejectPerYearL(design.months, site, purifiedPerDayL);
  const bags = bagsNeeded(saltPerYearKg(design), site.salt.bagKg);
  return [
    {
      id: 'water',
      name: 'Water from the line, reject included',
      amount: inletL / 1000,
      unit: 'm3',
      price: water === null ? null : cost(inletL, water.price, water.perL),
    },
    {
      id: 'salt',
      name: 'Salt',
      amount: bags,
      unit: `bags of ${kilograms(site.salt.bagKg)}`,
      price: site.salt.price === null ? null : cost(bags, site.salt.price, 1),
    },
  ];
}

function electricity(design: Design, { electricity: tariff }: Tariffs): Item[] {
  const price = (kwh: number) => (tariff === null ? null : cost(kwh, tariff.price, tariff.perKwh));
  const pumpsKwh = pumpingKwh(design);
  const heatKwh = design.site.heater === null ? 0 : heatingKwh(design);
  return [
    { id: 'pumps', name: 'Electricity for pumps', amount: pumpsKwh, unit: 'kWh', price: price(pumpsKwh) },
    {
      id: 'heat',
      name: 'Electricity for heat, at most',
      amount: heatKwh,
      unit: 'kWh',
      price: price(heatKwh),
    },
  ];
}

/** What keeps a finished batch moving, as the planned station has it: ten minutes every six hours. */
const MOVING_MINUTES_PER_DAY = 40;
const MINUTES_PER_DAY = 1440;

function pumpingKwh({ site, batch, mixedL }: Design): number {
  const { schedule, system, mixing } = site;
  const perYearL = exchangedPerYearL(system.volumeL, schedule.share, schedule.intervalDays);
  const batches = batchesNeeded(perYearL, mixedL);
  const circulating = batches * batch.preparationMinutes + DAYS_PER_YEAR * MOVING_MINUTES_PER_DAY;
  // However much a schedule asks for, no pump runs for longer than the year.
  const inAYear = (minutes: number) => Math.min(minutes, DAYS_PER_YEAR * MINUTES_PER_DAY);
  return (
    energyKwh(site.transfer.powerW ?? 0, inAYear(batches * (batch.transferMinutes ?? 0))) +
    energyKwh(site.supply.powerW ?? 0, inAYear(batches * (batch.supplyMinutes ?? 0))) +
    energyKwh(mixing.circulationW, inAYear(circulating))
  );
}

function heatingKwh({ site, exchangePerDayL }: Design): number {
  const { temperatureC, salinity } = site.system;
  return site.inlet.temperaturesC.reduce((sum, inletC, month) => {
    const litres = exchangePerDayL * (MONTH_DAYS[month] ?? 30);
    if (inletC >= temperatureC || litres <= 0) return sum;
    return sum + heatToWarmKwh(litres, salinity, inletC, temperatureC);
  }, 0);
}
