// How long water takes from vat to vat and to the system.
import { exchangeFlowLpm, turnoversPerHour } from '../../engineering/standing.ts';
import { constantFlowMinutes } from '../../engineering/transfer.ts';
import type { Design } from '../design.ts';
import { type LinePlan, minutesToMove } from '../lines.ts';
import { type Cell, figure, type Section, section, timeText } from '../report.ts';
import { stepL } from '../station.ts';
import { litres, lpm } from '../words.ts';

export function moving(design: Design): Section {
  const { batch, transfer, supply, drainLpm, circulationLpm, mixing, site, exchangePerDayL } = design;
  const step = stepL(design);
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
        : `A full batch is in the system after ${timeText((batch.supplyMinutes ?? 0) / 60)} of pumping, its level falling all the while. In daily use the system is drained and refilled in steps of ${litres(step)}.`,
      `The circulation pump turns the mixing vat over ${turnoversPerHour(circulationLpm, mixing.capacityL).toFixed(1)} times in an hour${site.mixing.circulationLpm === null ? ' (assumed)' : ''}. Salt lies on the bottom and heat on top where it is slower than a few times.`,
      ...(site.drainLpm === null
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
      figure('stepsPerDay', 'Steps in a day', exchangePerDayL / step, '', 1),
      figure(
        'turnover',
        'Turnovers of the mixing vat',
        turnoversPerHour(circulationLpm, mixing.capacityL),
        '1/h',
        1,
      ),
    ],
    tables: [
      {
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
      },
    ],
    sources: [
      `Flow integrated over the falling level; the pipe's end over the rim feels no rising level. Drain ${site.drainLpm === null ? 'assumed' : `measured: ${lpm(drainLpm)}`}.`,
    ],
  });
}

function row(name: string, { leastLiftM, mostLiftM, expected, flowLpm }: LinePlan): Cell[] {
  const between = expected.kind === 'between' ? expected : null;
  return [name, leastLiftM, mostLiftM, between?.leastLpm ?? null, flowLpm, between?.mostLpm ?? null];
}
