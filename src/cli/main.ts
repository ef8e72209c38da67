#!/usr/bin/env node
// The commands, nothing else: each file beside this one adds one command and calls a room for the work.
import { readFileSync } from 'node:fs';
import { Command } from 'commander';
import { addBackup } from './backup.ts';
import { addCalc } from './calc.ts';
import { addCheck } from './check.ts';
import { addDemo } from './demo.ts';
import { addListen } from './listen.ts';
import { addPassword } from './password.ts';
import { addPlan } from './plan.ts';
import { addProve } from './prove.ts';
import { addReplay } from './replay.ts';
import { addRun } from './run.ts';
import { addSimulate } from './simulate.ts';
import { addTrial } from './trial.ts';
import { addWire } from './wire.ts';

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

addCalc(program);
addReplay(program);
addCheck(program);
addPlan(program);
addSimulate(program);
addTrial(program);
addProve(program);
addWire(program);
addListen(program);
addRun(program);
addDemo(program);
addBackup(program);
addPassword(program);

await program.parseAsync();
