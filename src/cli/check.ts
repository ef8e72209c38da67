// The command `check`: what was understood from a station file, what protects it, and what protects it not. With `--report`
// the same at length, for whoever has to answer for the station.

import type { Command } from 'commander';
import { deriveRows } from '../control/guard/interlocks.ts';
import { Coded } from '../errors/coded.ts';
import { englishOf } from '../language/english.ts';
import { told } from '../language/told.ts';
import { protectionOf } from '../protection/report.ts';
import { textOf } from '../protection/text.ts';
import type { Warning } from '../station/advice.ts';
import type { Assumed } from '../station/file/declare.ts';
import { readStationFile } from '../station/file/station.ts';
import { type Gap, gapsOf } from '../station/gaps.ts';
import { loadStation } from '../station/load.ts';
import type { Plant } from '../station/plant.ts';
import { type StationError, wordsOf } from '../station/problem.ts';
import { checkText, type PrintedRow } from './check-text.ts';
import { readText, unusableStation, writeText } from './files.ts';

interface Options {
  readonly strict?: true;
  readonly json?: true;
  readonly all?: true;
  /** True: to standard output. */
  readonly report?: true | string;
}

/** Adds `check` to the program. */
export function addCheck(program: Command): void {
  program
    .command('check')
    .description(
      'Reads a station file: says what it understood, what protects the station, and what does not',
    )
    .argument('<file>', 'the station file, JSON')
    .option('--strict', 'exit with 1 when there are warnings')
    .option('--json', 'answer in JSON')
    .option('--all', 'print each interlock, each proof test and each combination of failures')
    .option(
      '--report [file]',
      'the protection report: hazards, what holds them, what does not, proof tests, common causes, fault trees; as text, or to a file .txt or .html (a page to print)',
    )
    .addHelpText(
      'after',
      '\nExamples:\n  $ vatwarden check station.json\n  $ vatwarden check station.json --report protection.html\n  $ vatwarden check station.json --all\n  $ vatwarden check station.json --strict\nExit code 0: fine; 1: warnings, with --strict; 2: errors, no such file, or no report where one was asked for.',
    )
    .action(async (file: string, options: Options) => {
      const refusal = refusalOf(options);
      if (refusal !== null) throw new Coded('E-105', refusal);
      process.exitCode = await check(file, readText('the station file', file), options);
    });
}

/** Why these options make no sense together, or null. */
function refusalOf({ report, json }: Options): string | null {
  if (report === true && json) return '--report prints text: leave out --json, or name a file for the report';
  if (typeof report === 'string' && !/\.(txt|html)$/u.test(report))
    return `--report ${report}: the name of the report must end in .txt or .html`;
  return null;
}

async function writeReport(plant: Plant, file: string): Promise<void> {
  const report = protectionOf(plant);
  // The page's means take longer to load than all the rest; who wants text does not wait for them.
  const text = file.endsWith('.html')
    ? (await import('../protection/html.ts')).htmlOf(report)
    : textOf(report);
  writeText('the report', file, text);
}

async function check(file: string, text: string, options: Options): Promise<number> {
  const { strict, json } = options;
  const loaded = loadStation(file, text);
  if (!loaded.ok) {
    const trouble = unusableStation(file, text, loaded.errors);
    if (!json && trouble.code !== 'E-211') throw trouble;
    print(
      json ? inJson({ errors: loaded.errors }) : [...loaded.errors.map(wordsOf), summary(loaded.errors, [])],
    );
    return 2;
  }
  const { plant, station, warnings } = loaded;
  const code = strict && warnings.length > 0 ? 1 : 0;
  if (options.report === true) {
    process.stdout.write(textOf(protectionOf(plant)));
    return code;
  }
  if (options.report !== undefined) await writeReport(plant, options.report);
  const rows = printedRows(plant);
  const checked = { plant, rows, warnings, assumed: readStationFile(station).assumed };
  print(
    json
      ? inJson({ ...checked, gaps: gapsOf(plant) })
      : [...checkText(checked, options.all === true), summary([], warnings)],
  );
  return code;
}

function printedRows(plant: Plant): PrintedRow[] {
  return told(englishOf(plant), deriveRows(plant))
    .map(
      ({ id, key, about, message, action, response, forbids, hazard, hardware, pattern, reset, ...row }) => ({
        ...{ id, key, about, message, action, response, forbids, hazard, hardware, pattern, reset },
        mayBeBypassed: row.bypass.may,
        proof: row.proof,
        unproven: row.unproven,
      }),
    )
    .sort((a, b) => a.id.localeCompare(b.id));
}

function summary(errors: readonly StationError[], warnings: readonly Warning[]): string {
  return `${counted(errors.length, 'error')}, ${counted(warnings.length, 'warning')}`;
}

function counted(count: number, noun: string): string {
  return `${count} ${noun}${count === 1 ? '' : 's'}`;
}

function inJson(found: {
  readonly errors?: readonly StationError[];
  readonly warnings?: readonly Warning[];
  readonly plant?: Plant;
  readonly rows?: readonly PrintedRow[];
  readonly assumed?: readonly Assumed[];
  readonly gaps?: readonly Gap[];
}): string[] {
  const { errors = [], warnings = [], ...understood } = found;
  return [JSON.stringify({ ok: errors.length === 0, errors, warnings, ...understood }, null, 2)];
}

function print(lines: readonly string[]): void {
  process.stdout.write(`${lines.join('\n')}\n`);
}
