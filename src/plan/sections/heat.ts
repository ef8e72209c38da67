// Heater: how large, how long, how much energy; and how much water may go in unheated.
import { energyKwh } from '../../engineering/consumption.ts';
import { largestShareForTemperature } from '../../engineering/exchange.ts';
import {
  heatCapacityJPerK,
  heaterPowerW,
  heatToWarmKwh,
  steadyTemperatureC,
} from '../../engineering/heat.ts';
import { cautionIf } from '../cautions.ts';
import { type Design, lossWPerK } from '../design.ts';
import { type Caution, figure, type Section, section, timeText } from '../report.ts';
import { degC, kwh, litres, percent } from '../words.ts';

/** Where the site states no heater: the time in which one should do it. */
const USUAL_WITHIN_HOURS = 12;
const BOILS_C = 100;

export function heat(design: Design): Section {
  const { site, batch, mixingMarks } = design;
  const { temperatureC, salinity, mayMoveK } = site.system;
  const litresToHeat = mixingMarks.batchL;
  const withinHours = site.heater?.withinHours ?? USUAL_WITHIN_HOURS;
  const isCold = batch.fromC < temperatureC;
  // As heaters are sold, and the same figure in the sentence and in the list.
  const neededW = isCold
    ? roundedUp(
        heaterPowerW(
          heatCapacityJPerK(litresToHeat, salinity, batch.fromC, temperatureC),
          batch.fromC,
          temperatureC,
          lossWPerK(site),
          site.room.temperatureC,
          withinHours,
        ),
      )
    : 0;
  const warmKwh = isCold ? heatToWarmKwh(litresToHeat, salinity, batch.fromC, temperatureC) : 0;
  const unheated = largestShareForTemperature(mayMoveK, temperatureC, batch.fromC);
  const { heating } = batch;
  const everC =
    site.heater === null
      ? null
      : steadyTemperatureC(site.heater.powerW, site.heater.lossWPerK, site.room.temperatureC);
  const settles = everC !== null && everC < BOILS_C ? everC : null;
  const settlesWords = everC === null ? 'no heater' : 'it boils: only a cut-out stops it';
  const hours = heating?.kind === 'reached' ? heating.hours : null;
  const takesKwh = hours === null ? null : energyKwh(site.heater?.powerW ?? 0, hours * 60);
  return section({
    id: 'heat',
    title: 'Heater',
    says: [
      heaterWords(design, hours),
      `To warm ${litres(litresToHeat)} from ${degC(batch.fromC)} to ${degC(temperatureC)} takes ${kwh(warmKwh)} without losses; to do it within ${timeText(withinHours)} in a room of ${degC(site.room.temperatureC)} takes ${neededW} W.`,
      `Unheated water of ${degC(batch.fromC)} may be ${percent(unheated)} of the system in one change, if the system is to move by no more than ${mayMoveK} K.`,
      'A heater needs its own circuit with residual-current protection, a hard-wired thermal cut-out and a low float of its own; it runs only when the salt is dissolved and the water moves. A lid saves more than a stronger heater.',
    ],
    figures: [
      figure(
        'hours',
        'Time to heat a batch in the cold season',
        hours,
        'h',
        1,
        heating === null ? 'no heater' : 'never',
      ),
      figure('energy', 'Energy for it, losses included', takesKwh, 'kWh', 1, 'none'),
      figure('needed', `Power that does it within ${timeText(withinHours)}`, neededW, 'W'),
      figure('unheated', 'Share that may go in unheated', 100 * unheated, '%', 2),
      figure('settles', 'With the heater on for ever it settles at', settles, 'degC', 1, settlesWords),
    ],
    cautions: heaterCautions(design, unheated),
    sources: [
      'Lumped heat capacity, m cp dT/dt = P - UA (T - room): Incropera & DeWitt, chapter 5; evaporation left out.',
      'Specific heat of seawater: TEOS-10 (IAPWS R13-08). Start: the colder of room and coldest inlet month.',
    ],
  });
}

const roundedUp = (watts: number): number => Math.ceil(watts / 10) * 10;

function heaterWords({ site, batch }: Design, hours: number | null): string {
  if (site.heater === null) return 'No heater is planned.';
  const { powerW } = site.heater;
  if (hours === 0) return 'The water never comes in colder than the system: the heater rests.';
  if (hours !== null) return `The heater of ${powerW} W warms a batch in ${timeText(hours)}.`;
  const settles = batch.heating?.kind === 'never' ? batch.heating.settlesAtC : null;
  return `The heater of ${powerW} W never gets there: the water settles at ${settles === null ? 'another temperature' : degC(settles)}.`;
}

function heaterCautions({ site, batch, exchangePerDayL }: Design, unheated: number): Caution[] {
  const { heating, fromC } = batch;
  const { system, schedule, heater } = site;
  // A change spread over the day moves the system by the day's share, one in one go by its own.
  const share = schedule.intervalDays <= 1 ? exchangePerDayL / system.volumeL : schedule.share;
  return [
    ...cautionIf(
      heating?.kind === 'never',
      'P-12',
      () =>
        `The heater is too weak: from ${degC(fromC)} in a room of ${degC(site.room.temperatureC)} it never reaches ${degC(system.temperatureC)}.`,
    ),
    ...cautionIf(
      heating?.kind === 'reached' && heater !== null && heating.hours > heater.withinHours,
      'P-13',
      () =>
        `The heater takes ${timeText(heating?.kind === 'reached' ? heating.hours : 0)} for a batch in the cold season, longer than the ${timeText(heater?.withinHours ?? 0)} asked for.`,
    ),
    ...cautionIf(
      heater === null && share > unheated,
      'P-14',
      () =>
        `Without a heater the exchange moves the system by more than ${system.mayMoveK} K in the cold season: ${percent(share)} goes in at once, ${percent(unheated)} may.`,
    ),
  ];
}
