// The command `check`: what was understood from a station file, what protects it, and what protects it not. With `--report`
// the same at length, for whoever has to answer for the station.
import type { Command } from 'commander';
import { deriveRows } from '../control/interlocks.ts';
import { provable } from '../control/proof-tests.ts';
import { Coded } from '../errors/coded.ts';
import { besides, hardWired } from '../protection/outside.ts';
import { protectionOf } from '../protection/report.ts';
import { textOf } from '../protection/text.ts';
import type { Warning } from '../station/advice.ts';
import { loadStation } from '../station/load.ts';
import { pictureOf } from '../station/picture.ts';
import type { Plant } from '../station/plant.ts';
import { type StationError, wordsOf } from '../station/problem.ts';
import { readText, unusableStation, writeText } from './files.ts';

interface Options {
  readonly strict?: true;
  readonly json?: true;
  /** True: to standard output. */
  readonly report?: true | string;
}

/** One interlock as `check` prints it. */
export interface PrintedRow {
  readonly id: string;
  readonly key: string;
  readonly about: string;
  readonly words: string;
  readonly response: 'block' | 'trip';
  readonly forbids: readonly string[];
  readonly hazard: string;
  /** What the station must have for it. */
  readonly hardware: string;
  /** What fresh evidence must say for it to hold. */
  readonly pattern: string;
  readonly reset: string;
  readonly mayBeBypassed: boolean;
  /** How a person proves it, or why there is no such test. */
  readonly proof: string | null;
  readonly unproven: string;
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
    .option(
      '--report [file]',
      'the protection report: hazards, what holds them, what does not, proof tests, common causes, fault trees; as text, or to a file .txt or .html (a page to print)',
    )
    .addHelpText(
      'after',
      '\nExamples:\n  $ vatwarden check station.json\n  $ vatwarden check station.json --report protection.html\n  $ vatwarden check station.json --strict\nExit code 0: fine; 1: warnings, with --strict; 2: errors, no such file, or no report where one was asked for.',
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
  const { plant, warnings } = loaded;
  const code = strict && warnings.length > 0 ? 1 : 0;
  if (options.report === true) {
    process.stdout.write(textOf(protectionOf(plant)));
    return code;
  }
  if (options.report !== undefined) await writeReport(plant, options.report);
  const rows = printedRows(plant);
  print(json ? inJson({ warnings, plant, rows }) : [...report(plant, rows, warnings), summary([], warnings)]);
  return code;
}

function printedRows(plant: Plant): PrintedRow[] {
  return deriveRows(plant)
    .map(({ id, key, about, words, response, forbids, hazard, hardware, pattern, reset, ...row }) => ({
      ...{ id, key, about, words, response, forbids, hazard, hardware, pattern, reset },
      mayBeBypassed: row.bypass.may,
      proof: row.proof,
      unproven: row.unproven,
    }))
    .sort((a, b) => a.id.localeCompare(b.id));
}

function report(plant: Plant, rows: readonly PrintedRow[], warnings: readonly Warning[]): string[] {
  const everything = [plant.routes, plant.heaters, plant.dosers].flatMap((part) => Object.keys(part)).length;
  const sections = pictureOf(plant).flatMap(({ title, lines }) => [title, ...lines.map(indent), '']);
  const interlocks = rows.flatMap(({ key, words, response, forbids }) => [
    `  ${key}  ${response}s ${forbids.length === everything ? 'everything' : forbids.join(', ')}`,
    `      ${words}`,
  ]);
  const advice = warnings.flatMap(({ id, about, words, fit }) => [
    `  ${id}  ${about.filter((pointer) => pointer !== '').join(' ') || 'the station'}`,
    `      ${words}`,
    `      To close the gap: ${fit}`,
  ]);
  return [
    `${plant.name} (${plant.id})`,
    '',
    ...sections,
    `Interlocks that follow from this (${rows.length})`,
    ...interlocks,
    '',
    ...proofPlan(plant).map(indent),
    '',
    ...(advice.length === 0 ? [] : ['Warnings', ...advice, '']),
    'What no software can hold',
    ...outside(plant).map(indent),
    '',
  ];
}

/** What a person moves by hand, how often, and what must happen. */
function proofPlan(plant: Plant): string[] {
  const tests = provable(plant);
  const days = (ms: number): string => `${Number((ms / 86_400_000).toFixed(1))} d`;
  const { everyMs, graceMs } = plant.policy.proofTests;
  return [
    `Proof tests: each of these ${tests.length} every ${days(everyMs)}; overdue is an alarm, and ${days(graceMs)} later what relies on it stays off`,
    ...tests.map(({ key, proof }) => `  ${key}  ${proof}`),
    'To do one: publish {"id": "...", "request": "proof-test", "row": "I-02/...", "who": "..."} to the request topic; the status says what to do when.',
  ];
}

/** Said every time, also where nothing is amiss. */
function outside(plant: Plant): string[] {
  return [
    'Software is the first layer, never the last. These must be hard-wired and work with the computer off:',
    ...hardWired(plant).map((part) => `- ${part}`),
    ...besides(plant),
  ];
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
}): string[] {
  const { errors = [], warnings = [], ...understood } = found;
  return [JSON.stringify({ ok: errors.length === 0, errors, warnings, ...understood }, null, 2)];
}

function indent(line: string): string {
  return `  ${line}`;
}

function print(lines: readonly string[]): void {
  process.stdout.write(`${lines.join('\n')}\n`);
}
