// What a campaign has shown: how many nights, what of them went wrong and which hardware would have held it, and the one
// command that plays a bad night again.
import type { Plant } from '../../station/plant.ts';
import { CHECKS } from '../checks/all.ts';
import { AGAIN, DELAYS } from '../checks/bounds.ts';
import { type NightReport, replayCommand, type Verdict } from './campaign.ts';

export interface Campaign {
  readonly station: string;
  readonly nights: number;
  /** Nights in which everything held, hardware gaps aside. */
  readonly held: number;
  readonly stationHours: number;
  readonly steps: number;
  readonly deliveredL: number;
  /** Hours from the end of the faults to a delivery: half of the nights, and the slowest. */
  readonly cycleHours: { readonly half: number | null; readonly most: number | null };
  /** How often each kind of fault came, in how many nights. */
  readonly kinds: Readonly<Record<string, number>>;
  readonly gaps: readonly (Verdict & { readonly seed: number; readonly nights: number })[];
  readonly failures: readonly (Verdict & { readonly seed: number; readonly replay: string })[];
}

export function campaignOf(file: string, plant: Plant, reports: readonly NightReport[]): Campaign {
  const cycles = reports.flatMap(({ cycleMs }) => cycleMs ?? []).toSorted((one, other) => one - other);
  const hours = (ms: number | undefined): number | null => (ms === undefined ? null : ms / 3_600_000);
  const kinds: Record<string, number> = {};
  for (const report of reports)
    for (const kind of new Set(report.kinds)) kinds[kind] = (kinds[kind] ?? 0) + 1;
  const isFailure = ({ gap }: Verdict): boolean => gap === null;
  return {
    station: plant.id,
    nights: reports.length,
    held: reports.filter(({ verdicts }) => !verdicts.some(isFailure)).length,
    stationHours: reports.reduce((sum, { stationMs }) => sum + stationMs, 0) / 3_600_000,
    steps: reports.reduce((sum, { steps }) => sum + steps, 0),
    deliveredL: reports.reduce((sum, { deliveredL }) => sum + deliveredL, 0),
    cycleHours: { half: hours(cycles[Math.floor(cycles.length / 2)]), most: hours(cycles.at(-1)) },
    kinds,
    gaps: gapsIn(reports),
    failures: reports.flatMap(({ seed, verdicts }) =>
      verdicts
        .filter(isFailure)
        .map((verdict) => ({ ...verdict, seed, replay: replayCommand(file, seed, verdict.faults) })),
    ),
  };
}

/** One line for each gap and what it did; the first night stands for all. */
function gapsIn(reports: readonly NightReport[]): Campaign['gaps'] {
  const found = new Map<string, Verdict & { seed: number; nights: number }>();
  for (const { seed, verdicts } of reports) {
    for (const verdict of verdicts) {
      if (verdict.gap === null) continue;
      const key = `${verdict.gap} ${verdict.check} ${verdict.about}`;
      const known = found.get(key);
      if (known) known.nights += 1;
      else found.set(key, { ...verdict, seed, nights: 1 });
    }
  }
  return [...found.values()].toSorted((one, other) => `${one.gap}`.localeCompare(`${other.gap}`));
}

export function campaignText(campaign: Campaign): string {
  const { station, nights, held, stationHours, steps, deliveredL, cycleHours, kinds, gaps, failures } =
    campaign;
  const shown = (hours: number | null): string => (hours === null ? '-' : `${hours.toFixed(1)} h`);
  return `${[
    `${station}: ${nights} nights under faults, ${stationHours.toFixed(0)} h of station time in ${steps} steps, ${deliveredL.toFixed(0)} L delivered`,
    `  ${held} of ${nights} nights held`,
    `  after the faults a delivery came about within ${shown(cycleHours.half)} in half of the nights, ${shown(cycleHours.most)} at the most`,
    '',
    'Judged in every step',
    ...CHECKS.map((make) => `  ${make().promise}`),
    '  after the faults were mended a batch became ready and was delivered',
    '',
    'Faults, by the number of nights that had them',
    ...inColumns(Object.entries(kinds).map(([kind, count]) => `${kind} ${count}`)),
    '',
    ...(gaps.length > 0 ? ['What no software can hold here', ...gaps.flatMap(gapLines), ''] : []),
    ...(failures.length > 0 ? ['Not held', ...failures.flatMap(failureLines), ''] : []),
    'What can not be helped, and is allowed for',
    ...DELAYS.map(({ why, with: kinds }) => `  ${why} (${kinds.join(', ')})`),
    `  ${AGAIN}`,
  ].join('\n')}\n`;
}

function gapLines({ gap, words, fit, faults, nights }: Campaign['gaps'][number]): string[] {
  return [
    `  ${gap}  ${nights} nights, for example ${faults.join(' ')}`,
    `      ${words}`,
    `      To close the gap: ${fit}`,
  ];
}

function failureLines({ seed, check, words, replay }: Campaign['failures'][number]): string[] {
  return [`  night ${seed}, ${check}: ${words}`, `      ${replay}`];
}

function inColumns(cells: readonly string[], columns = 4): string[] {
  const width = Math.max(...cells.map(({ length }) => length), 0) + 2;
  const rows = Math.ceil(cells.length / columns);
  return Array.from({ length: rows }, (_, row) =>
    `  ${cells
      .filter((_, at) => at % rows === row)
      .map((cell) => cell.padEnd(width))
      .join('')}`.trimEnd(),
  );
}
