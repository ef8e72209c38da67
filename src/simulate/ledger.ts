// The verdict as a page of text for whoever sits in front of it.
import type { Verdict } from './verdict.ts';

export function ledgerText(verdict: Verdict): string {
  const { elapsedMs, vessels, deliveredSalinity, deliveredTemperatureC } = verdict;
  const lines = [
    `${verdict.station}, seed ${verdict.seed}, ${spanOf(elapsedMs)} of station time`,
    '',
    table(
      ['vessel', 'L', 'salinity', 'degC', 'highest L', 'spilled L', 'drawn L'],
      Object.entries(vessels).map(([id, vessel]) => [
        id,
        vessel.litres.toFixed(1),
        vessel.salinity.toFixed(2),
        vessel.temperatureC.toFixed(1),
        vessel.peakL.toFixed(1),
        (vessel.spilledL + vessel.leakedL).toFixed(1),
        vessel.drawnL.toFixed(1),
      ]),
    ),
    '',
    table(
      ['route', 'L', 'starts'],
      Object.entries(verdict.litresMoved).map(([id, litres]) => [
        id,
        litres.toFixed(1),
        String(verdict.starts[id] ?? 0),
      ]),
    ),
    '',
    table(
      ['actuator', 'commands', 'dropped out', 'dry s'],
      Object.entries(verdict.commands).map(([id, commands]) => [
        id,
        String(commands),
        String(verdict.dropOuts[id] ?? 0),
        id in verdict.secondsDry ? (verdict.secondsDry[id] ?? 0).toFixed(1) : '',
      ]),
    ),
    '',
    `delivered ${verdict.deliveredL.toFixed(1)} L in ${verdict.deliveries} deliveries, ${verdict.deliveredOffSpecL.toFixed(1)} L off spec; drained ${verdict.drainedL.toFixed(1)} L`,
    `mean of what was delivered: salinity ${shown(deliveredSalinity, 2)}, ${shown(deliveredTemperatureC, 1)} degC`,
    `salt added ${verdict.saltAddedKg.toFixed(2)} kg; topped off ${verdict.toppedOffKg.toFixed(1)} kg, evaporated ${verdict.evaporatedKg.toFixed(1)} kg`,
    `balance closes within ${(100 * verdict.balanceErrorShare).toExponential(1)} %`,
    '',
    verdict.ok ? 'Good: nothing spilled, nothing ran dry, and a delivery was made.' : 'Not good:',
    ...verdict.found.map((sentence) => `  - ${sentence}`),
  ];
  return `${lines.join('\n')}\n`;
}

function shown(value: number | null, digits: number): string {
  return value === null ? '-' : value.toFixed(digits);
}

function spanOf(ms: number): string {
  const minutes = Math.floor(ms / 60_000);
  const [days, hours] = [Math.floor(minutes / 1440), Math.floor(minutes / 60) % 24];
  const seconds = Math.round((ms % 60_000) / 1000);
  return `${days > 0 ? `${days} d ` : ''}${hours} h ${minutes % 60} min${seconds > 0 ? ` ${seconds} s` : ''}`;
}

/** First column to the left, the rest to the right. */
function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const widths = head.map((title, column) =>
    Math.max(title.length, ...rows.map((row) => row[column]?.length ?? 0)),
  );
  return [head, ...rows]
    .map((row) =>
      row
        .map((cell, column) =>
          column === 0 ? cell.padEnd(widths[column] ?? 0) : cell.padStart(widths[column] ?? 0),
        )
        .join('  ')
        .trimEnd(),
    )
    .join('\n');
}
