// The tree of commands, in the order of the job: draw up a station, try it, run it, look back.
import { readFileSync } from 'node:fs';
import { Command } from 'commander';

/** Adds its command. A command is loaded when it is called: who asks for a salinity does not wait for a broker's library. */
type Add = (program: Command) => void;

interface Entry {
  readonly name: string;
  readonly group: string;
  readonly add: () => Promise<Add>;
}

const DRAW = 'Draw up a station:';
const TRY = 'Try it dry:';
const RUN = 'Run it:';
const SHELL = 'This program:';

const ENTRIES: readonly Entry[] = [
  { name: 'example', group: DRAW, add: async () => (await import('./example.ts')).addExample },
  { name: 'calc', group: DRAW, add: async () => (await import('./calc.ts')).addCalc },
  { name: 'plan', group: DRAW, add: async () => (await import('./plan.ts')).addPlan },
  { name: 'check', group: DRAW, add: async () => (await import('./check.ts')).addCheck },
  { name: 'demo', group: TRY, add: async () => (await import('./demo.ts')).addDemo },
  { name: 'simulate', group: TRY, add: async () => (await import('./simulate.ts')).addSimulate },
  { name: 'trial', group: TRY, add: async () => (await import('./trial.ts')).addTrial },
  { name: 'prove', group: TRY, add: async () => (await import('./prove.ts')).addProve },
  { name: 'listen', group: RUN, add: async () => (await import('./listen.ts')).addListen },
  { name: 'wire', group: RUN, add: async () => (await import('./wire.ts')).addWire },
  { name: 'password', group: RUN, add: async () => (await import('./password.ts')).addPassword },
  { name: 'commission', group: RUN, add: async () => (await import('./commission.ts')).addCommission },
  { name: 'run', group: RUN, add: async () => (await import('./run.ts')).addRun },
  { name: 'fleet', group: RUN, add: async () => (await import('./fleet.ts')).addFleet },
  { name: 'replay', group: RUN, add: async () => (await import('./replay.ts')).addReplay },
  { name: 'backup', group: RUN, add: async () => (await import('./backup.ts')).addBackup },
  { name: 'completion', group: SHELL, add: async () => (await import('./completion.ts')).addCompletion },
];

/** The program with all its commands. */
export function wholeProgram(): Promise<Command> {
  return programWith(ENTRIES);
}

/** With the one command that the call names; with all where it names none of them. @param args behind `vatwarden` */
export function programFor([name]: readonly string[]): Promise<Command> {
  if (name === '--version' || name === '-V') return programWith([]);
  const called = ENTRIES.filter((entry) => entry.name === name && entry.name !== 'completion');
  return programWith(called.length === 0 ? ENTRIES : called);
}

async function programWith(entries: readonly Entry[]): Promise<Command> {
  const { version } = JSON.parse(readFileSync(new URL('../../package.json', import.meta.url), 'utf8'));
  const program = new Command('vatwarden')
    .description('Runs a saltwater mixing station over MQTT, and does the arithmetic of the whole job.')
    .version(version, '-V, --version', 'print the version')
    .helpOption('-h, --help', 'what this is, by example')
    .showSuggestionAfterError()
    .exitOverride()
    .configureOutput({ outputError: () => {} })
    .addHelpText('after', HELP)
    .commandsGroup(SHELL)
    .helpCommand('help [command]', 'the same as --help behind the command');
  for (const { group, add } of entries) {
    (await add())(program);
    const command = program.commands.at(-1);
    command?.helpGroup(group);
    const hasOwn = command?.options.some(({ long }) => long === '--verbose');
    if (hasOwn === false) command?.option('--verbose', 'when it fails, say also where in the program');
  }
  return program;
}

const HELP = `
Examples:
  $ vatwarden demo
  $ vatwarden example one-vat > station.json
  $ vatwarden check station.json
An error ends in a code such as [E-311]; the file ERRORS.md tells what each means, and the exit codes.`;
