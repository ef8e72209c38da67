#!/usr/bin/env node
// The commands, nothing else: each file beside this one adds one command and calls a room for the work. Only the command
// that is asked for is loaded: all of them together took 1.1 s, and a service that comes back after a power cut has an
// `off` to say.
import { readFileSync } from 'node:fs';
import { Command } from 'commander';

type Add = (program: Command) => unknown;

/** In the order in which the help lists them. */
const COMMANDS: Readonly<Record<string, () => Promise<Add>>> = {
  calc: async () => (await import('./calc.ts')).addCalc,
  replay: async () => (await import('./replay.ts')).addReplay,
  check: async () => (await import('./check.ts')).addCheck,
  plan: async () => (await import('./plan.ts')).addPlan,
  simulate: async () => (await import('./simulate.ts')).addSimulate,
  trial: async () => (await import('./trial.ts')).addTrial,
  prove: async () => (await import('./prove.ts')).addProve,
  wire: async () => (await import('./wire.ts')).addWire,
  listen: async () => (await import('./listen.ts')).addListen,
  run: async () => (await import('./run.ts')).addRun,
  demo: async () => (await import('./demo.ts')).addDemo,
  backup: async () => (await import('./backup.ts')).addBackup,
  password: async () => (await import('./password.ts')).addPassword,
};

const { version } = JSON.parse(readFileSync(new URL('../../package.json', import.meta.url), 'utf8'));

const program = new Command('vatwarden')
  .description('Runs a saltwater mixing station over MQTT, and does the arithmetic of the whole job.')
  .version(version)
  .showSuggestionAfterError()
  .exitOverride((error) => process.exit(error.exitCode === 0 ? 0 : 2));

// A reader that has seen enough (`vatwarden calc --list | head`) is no fault.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code !== 'EPIPE') throw error;
  process.exit(0);
});

// Anything else (help, a slip of the pen) is answered with the whole list.
const [asked = ''] = process.argv.slice(2);
const wanted = Object.hasOwn(COMMANDS, asked) ? [asked] : Object.keys(COMMANDS);
for (const name of wanted) (await COMMANDS[name]?.())?.(program);

await program.parseAsync();
