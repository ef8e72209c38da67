// How long water takes from vat to vat and to the system.
import { exchangeFlowLpm, turnoversPerHour } from '../../engineering/standing.ts';
import { constantFlowMinutes } from '../../engineering/transfer.ts';
import { caution, cautionIf } from '../cautions.ts';
import type { Design } from '../design.ts';
import { type LinePlan, minutesToMove } from '../lines.ts';
import { type Caution, type Cell, figure, type Section, section, type Table, timeText } from '../report.ts';
import { changeL, PRIMING_S, stepL } from '../station.ts';
import { counted, days, litres, lpm } from '../words.ts';

export function moving(design: Design): Section {
  const { batch, transfer, supply, drainLpm, circulationLpm, mixing, site } = design;
  const step = stepL(design);
  const change = changeL(design);
  const stepS = (60 * step) / Math.max(drainLpm, supply.flowLpm ?? 0);
  const stepMinutes =
    supply.flowLpm === null ? null : constantFlowMinutes(step, exchangeFlowLpm(drainLpm, supply.flowLpm));
  const largeMinutes = minutesToMove(
    supply,
    Math.min(batch.mixedL, site.schedule.largeShare * site.system.volumeL),
  );
  return section({
    id: 'moving',
    title: 'Transfer and delivery',
    says: [
      batch.transferMinutes === null
        ? 'The transfer pump moves nothing; see the warnings.'
        : `A batch's worth of fresh water is in the mixing vat after ${timeText(batch.transferMinutes / 60)}.`,
      supply.flowLpm === null
        ? 'The supply pump moves nothing; see the warnings.'
        : `A full batch is in the system after ${timeText((batch.supplyMinutes ?? 0) / 60)} of pumping, its level falling all the while. ${isDaily(site) ? 'In daily use the' : `A change of ${litres(change)} every ${days(site.schedule.intervalDays)} is asked for by a person or a hub, since no day of the week stands in a station file; the`} system is drained and refilled in steps of ${litres(step)}.`,
      `The circulation pump turns the mixing vat over ${turnoversPerHour(circulationLpm, mixing.capacityL).toFixed(1)} times in an hour${site.mixing.circulationLpm === null ? ' (assumed)' : ''}. Salt lies on the bottom and heat on top where it is slower than a few times.`,
      ...(site.drain.lpm === null
        ? ['The drain was assumed as strong as the supply: measure it with a bucket and a watch.']
        : []),
    ],
    figures: [
      figure('transfer', 'Transfer for a batch', batch.transferMinutes, 'min', 1, 'it does not move'),
      figure('supply', 'Delivery of a whole batch', batch.supplyMinutes, 'min', 1, 'it does not move'),
      figure(
        'large',
        'Pumping the first batch of the large change',
        largeMinutes,
        'min',
        1,
        'it does not move',
      ),
      figure('step', 'One exchange step, out and in', stepMinutes, 'min', 1, 'it does not move'),
      figure('stepVolume', 'Volume of a step', step, 'L', 1),
      figure('steps', isDaily(site) ? 'Steps in a day' : 'Steps in each change', change / step, '', 1),
      figure(
        'turnover',
        'Turnovers of the mixing vat',
        turnoversPerHour(circulationLpm, mixing.capacityL),
        '1/h',
        1,
      ),
    ],
    tables: [flowsTable(transfer, supply, drainLpm)],
    cautions: [
      ...cautionIf(
        change > batch.mixedL,
        'P-32',
        () =>
          `${isDaily(site) ? "A day's exchange" : 'One change'} takes ${litres(change)}, and a batch is ${litres(batch.mixedL)}: it needs ${counted(Math.ceil(change / batch.mixedL), 'batch', 'batches')}, and waits for salt in between.`,
      ),
      ...cautionIf(
        stepS < 2 * PRIMING_S,
        'P-33',
        () =>
          `A step of ${litres(step)} lasts ${stepS.toFixed(0)} s, hardly longer than the ${PRIMING_S} s that a pump takes to its full flow: the room above the normal level of the system, or the batch, allows no more.`,
      ),
      ...throttleCautions(design),
    ],
    sources: [
      `Flow integrated over the falling level; the pipe's end over the rim feels no rising level. Drain ${site.drain.lpm === null ? 'assumed' : `measured: ${lpm(drainLpm)}`}.`,
    ],
  });
}

const isDaily = ({ schedule }: Design['site']): boolean => schedule.intervalDays <= 1;

function throttleCautions({ leases: { throttle } }: Design): Caution[] {
  const lines = [
    ['transfer', throttle.transferLpm, 'the mixing vat'],
    ['supply', throttle.supplyLpm, 'the system'],
  ] as const;
  return lines.flatMap(([name, most, to]) =>
    most === null
      ? []
      : [
          caution(
            'P-30',
            `The ${name} is too strong for ${to}: what it brings within its shortest lease does not fit above the high float. It must bring no more than ${lpm(most)}.`,
          ),
        ],
  );
}

function flowsTable(transfer: LinePlan, supply: LinePlan, drainLpm: number): Table {
  return {
    id: 'flows',
    title: 'Flows to expect, for the flow meters',
    columns: [
      { title: 'Line' },
      { title: 'least lift', unit: 'm', digits: 2 },
      { title: 'most lift', unit: 'm', digits: 2 },
      { title: 'least flow', unit: 'L/min', digits: 1 },
      { title: 'usual', unit: 'L/min', digits: 1 },
      { title: 'most flow', unit: 'L/min', digits: 1 },
    ],
    rows: [row('Transfer', transfer), row('Supply', supply), ['Drain', null, null, null, drainLpm, null]],
  };
}

function row(name: string, { leastLiftM, mostLiftM, range, flowLpm }: LinePlan): Cell[] {
  return [name, leastLiftM, mostLiftM, range?.leastLpm ?? null, flowLpm, range?.mostLpm ?? null];
}
