// Which charts a station's history has, and how each of its lines is written.
import type { Channel, HistoryAnswer } from '../../contract.ts';
import type { Line } from '../parts/chart.tsx';
import { standing } from '../state/live.ts';
import { t } from '../texts.ts';
import * as units from '../units.ts';

export interface ChartPlan {
  readonly key: string;
  readonly label: string;
  readonly channels: readonly Channel[];
  readonly unit: string;
  readonly write: (value: number) => string;
  readonly inUnit: (value: number) => number;
  /** It can't be less than nothing. */
  readonly fromZero?: boolean;
}

/** Charts hold numbers already converted; writing them must not convert again. */
const written = (digits: number, unit: string) => ({
  unit,
  write: (value: number) => `${units.number(value, digits)}\u00a0${unit}`,
});
const degree = (unit: string): string => (unit === 'degF' ? '\u00b0F' : '\u00b0C');

/** One chart for each vessel's contents and each route's flow (their scales differ), one for what can be compared. */
export function plansOf(channels: readonly Channel[]): ChartPlan[] {
  const station = standing.value;
  const kind = (...kinds: Channel['kind'][]) => channels.filter((channel) => kinds.includes(channel.kind));
  const plan = (
    key: string,
    label: string,
    of: readonly Channel[],
    rest: Pick<ChartPlan, 'write' | 'unit' | 'inUnit' | 'fromZero'>,
  ) => (of.length > 0 ? [{ key, label, channels: of, ...rest }] : []);
  const litres = { inUnit: units.inUnit.volume, ...written(1, units.unitOf.volume()) };
  const contents = kind('least').flatMap(({ subject }) => {
    const name = station?.vessels[subject ?? '']?.name ?? subject ?? '';
    const pair = kind('least', 'most').filter((channel) => channel.subject === subject);
    return plan(`contents:${subject}`, t('history.contents', { vessel: name }), pair, litres);
  });
  const flows = kind('flow').flatMap((channel) => {
    const name = station?.routes[channel.subject ?? '']?.name ?? channel.subject ?? '';
    const rest = { inUnit: units.inUnit.flow, ...written(2, units.unitOf.flow()), fromZero: true };
    return plan(channel.id, t('history.flow', { route: name }), [channel], rest);
  });
  return [
    ...contents,
    ...plan('salinity', t('history.salinity'), kind('salinity'), {
      inUnit: units.inUnit.salinity,
      ...written(units.DIGITS.salinity(), units.unitOf.salinity()),
    }),
    ...plan('temperature', t('history.temperature'), kind('temperature'), {
      inUnit: units.inUnit.temperature,
      ...written(1, degree(units.unitOf.temperature())),
    }),
    ...flows,
    ...kind('output').flatMap((channel) =>
      plan(channel.id, t('history.output'), [channel], {
        inUnit: units.inUnit.flow,
        ...written(3, units.unitOf.flow()),
        fromZero: true,
      }),
    ),
    ...plan('delivered', t('history.delivered'), kind('delivered'), { ...litres, fromZero: true }),
    ...plan('difference', t('history.difference'), kind('difference'), litres),
    ...plan('reserve', t('history.reserve'), kind('reserve'), {
      inUnit: (share) => 100 * share,
      ...written(0, '%'),
    }),
  ];
}

/** The lines of a plan out of what the service sent; contents are one line from certain to possible. */
export function linesOf(plan: ChartPlan, answer: HistoryAnswer): Line[] {
  const convert = (values: readonly (number | null)[] | undefined) =>
    (values ?? []).map((value) => (value === null ? null : plan.inUnit(value)));
  const least = plan.channels.find(({ kind }) => kind === 'least');
  const most = plan.channels.find(({ kind }) => kind === 'most');
  if (least && most)
    return [
      {
        name: plan.label,
        least: convert(answer.series[least.id]?.least),
        most: convert(answer.series[most.id]?.most),
      },
    ];
  return plan.channels.map((channel) => {
    const [a, b] = [convert(answer.series[channel.id]?.least), convert(answer.series[channel.id]?.most)];
    // Specific gravity rises with salinity, but nobody promises that of every unit.
    return {
      name: nameOf(channel),
      least: a.map((low, i) => lesser(low, b[i])),
      most: a.map((low, i) => greater(low, b[i])),
    };
  });
}

const lesser = (a: number | null, b: number | null | undefined) => (a === null ? null : Math.min(a, b ?? a));
const greater = (a: number | null, b: number | null | undefined) => (a === null ? null : Math.max(a, b ?? a));

function nameOf({ subject }: Channel): string {
  const station = standing.value;
  if (subject === null) return t('reserve.head');
  return station?.vessels[subject]?.name ?? station?.routes[subject]?.name ?? subject;
}
