// The command `calc`: the arithmetic of the whole job, one quantity at a time.
import { text } from 'node:stream/consumers';
import { Argument, type Command, Option } from 'commander';
import { type Answer, CalcError, evaluate, findEntry } from '../calc/evaluate.ts';
import { listData, listText } from '../calc/list.ts';
import { SYSTEMS, type System, spokenIn } from '../units/systems.ts';

interface Options {
  readonly list?: true;
  readonly json?: true;
  readonly in?: string;
  readonly units?: System;
}

/** Adds `calc` to the program. */
export function addCalc(program: Command): void {
  program
    .command('calc')
    .description('Computes one quantity of the job, from salinity to floor load, with units and sources')
    .addArgument(new Argument('[name]', 'the quantity, as in --list'))
    .addArgument(new Argument('[inputs...]', "its inputs, each name='number unit'"))
    .option('--list', 'list the quantities with their inputs, units, ranges and sources')
    .option('--json', 'answer in JSON; without inputs, read them from standard input')
    .option('--in <unit>', 'the unit of the answer')
    .addOption(new Option('--units <system>', 'units of the answer, where --in names none').choices(SYSTEMS))
    .addHelpText(
      'after',
      `
Examples:
  $ vatwarden calc --list
  $ vatwarden calc practical-salinity conductivity='42.914 mS/cm' temperature='15 degC'
  $ echo '{"inputs": {"practicalSalinity": {"value": 35, "unit": "1"}}}' | vatwarden calc reference-salinity --json
With --json, standard input holds one { "quantity"?, "inputs" } or a list of them, answered one a line.
An answer may be that there is none (a heater too weak): then the value is null and a note says why.
Exit code 0: answered; 2: the question cannot be computed.`,
    )
    .action(async (name: string | undefined, assignments: string[], options: Options) => {
      await calc(name, assignments, options);
    });
}

async function calc(name: string | undefined, assignments: readonly string[], options: Options) {
  if (options.list) {
    if (name !== undefined) findEntry(name);
    print(options.json ? JSON.stringify(listData(name), null, 2) : listText(name).trimEnd());
  } else if (options.json && assignments.length === 0) {
    await answerStandardInput(name, options);
  } else if (name === undefined) {
    throw new CalcError('E-103', "name a quantity; 'calc --list' names them all");
  } else {
    const answer = evaluate(name, readAssignments(assignments), unitFor(name, options));
    if (options.json) print(JSON.stringify(answer));
    else printForPeople(answer);
  }
}

/** Undefined: the quantity's own. */
function unitFor(name: string, { in: unit, units = 'metric' }: Options): string | undefined {
  return unit ?? spokenIn(units, 0, findEntry(name).unit)?.unit;
}

function readAssignments(assignments: readonly string[]): Record<string, string> {
  // Without a prototype, '__proto__' is an unknown input like any other.
  const given: Record<string, string> = Object.create(null);
  for (const assignment of assignments) {
    const split = assignment.indexOf('=');
    if (split < 1) throw new CalcError('E-112', `'${assignment}' is no input; write name='number unit'`);
    const name = assignment.slice(0, split);
    if (Object.hasOwn(given, name)) throw new CalcError('E-112', `${name} is given twice`);
    given[name] = assignment.slice(split + 1);
  }
  return given;
}

/** One question, or a list answered one a line: then a bad one has its own line and the rest goes on. */
async function answerStandardInput(name: string | undefined, options: Options): Promise<void> {
  const asked = parseJson(await text(process.stdin));
  if (!Array.isArray(asked)) {
    print(JSON.stringify(answerOne(name, asked, options)));
    return;
  }
  for (const one of asked) {
    try {
      print(JSON.stringify(answerOne(name, one, options)));
    } catch (error) {
      if (!(error instanceof CalcError)) throw error;
      print(JSON.stringify({ error: error.message, code: error.code }));
      process.exitCode = 2;
    }
  }
}

function answerOne(name: string | undefined, asked: unknown, options: Options): Answer {
  const { quantity, inputs } = (asked ?? {}) as { quantity?: unknown; inputs?: unknown };
  const wanted = name ?? quantity;
  if (typeof wanted !== 'string')
    throw new CalcError('E-114', 'name a quantity, on the command line or as "quantity"');
  if (quantity !== undefined && quantity !== wanted) {
    throw new CalcError('E-114', `'${wanted}' was asked for, but standard input is about '${quantity}'`);
  }
  if (typeof inputs !== 'object' || inputs === null || Array.isArray(inputs)) {
    throw new CalcError('E-114', 'standard input needs "inputs", an object of name: { "value", "unit" }');
  }
  return evaluate(wanted, inputs as Record<string, unknown>, unitFor(wanted, options));
}

function parseJson(source: string): unknown {
  try {
    return JSON.parse(source);
  } catch (error) {
    throw new CalcError('E-114', `standard input is not JSON: ${(error as Error).message}`);
  }
}

/** Six digits are more than any input is worth; --json prints them all. */
function printForPeople({ value, unit, note }: Answer): void {
  if (value === null) {
    print(`no answer: ${note}`);
    return;
  }
  print(unit === '1' ? shorten(value) : `${shorten(value)} ${unit}`);
  // On its own stream, so that a script may take the number alone.
  if (note !== undefined) process.stderr.write(`${note}\n`);
}

function shorten(value: number): string {
  return String(Number(value.toPrecision(6)));
}

function print(line: string): void {
  process.stdout.write(`${line}\n`);
}
