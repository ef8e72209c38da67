// The command `backup`: a state directory copied while its station runs, in a form that may be put back by a plain copy.
//
// History is worth the same for ever; the state of a station is not. Put back after a week it would say with certainty what
// was in the vats a week ago. So the state goes along marked as out of a backup: the service that finds it keeps it aside,
// knows nothing, and lets nothing move before a person has looked (bridge/keeper.ts).
import {
  chmodSync,
  closeSync,
  copyFileSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readFileSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import type { Command } from 'commander';
import { backedUp } from '../bridge/keeper.ts';
import { Coded, unwritable } from '../errors/coded.ts';
import { copyJournal } from '../journal/copying.ts';

export function addBackup(program: Command): void {
  program
    .command('backup')
    .description('Copies the state directory of a station, which may be running, to a new directory')
    .argument('<state>', 'the directory that `run --state` has')
    .argument('<to>', 'where the copy goes; must not be there yet')
    .addHelpText('after', HELP)
    .action((state: string, to: string) => {
      process.stdout.write(backup(state, to));
    });
}

const HELP = `
Examples:
  $ vatwarden backup state backup-of-today
To put it back: stop the service, move the state directory away (never copy into one that has files in it), copy the
backup to its place, give it to the service's user, start the service. The history is there again. What was in the vats,
latched or half done when the backup was made is not taken over: row I-36 stops everything until somebody has looked at
every vat and resets it with their name and what they saw.
Exit code 0: the copy is whole and on the disk; 2: there is none, for the copy's sake; 4: for the
state's.`;

/** Small, replaced whole by their owners: reading one gives the old or the new. */
const BOOKS = ['panel.json', 'announced.json'] as const;

function backup(state: string, to: string): string {
  const beside = `${to}.new`;
  if (existsSync(to))
    throw new Coded(
      'E-206',
      `${to} is already there: give the backup a name of its own, for example with the date`,
    );
  const journal = join(state, 'journal', 'journal.db');
  const isNone = [journal, ...['state.json', ...BOOKS].map((name) => join(state, name))].every(
    (file) => !existsSync(file),
  );
  if (isNone)
    throw new Coded(
      'E-404',
      `${state} is no state directory: neither a journal nor a state is in it. Name the one that \`run --state\` has`,
    );
  try {
    rmSync(beside, { recursive: true, force: true });
    mkdirSync(join(beside, 'journal'), { recursive: true, mode: 0o700 });
    const told = [
      ...stateLine(state, beside),
      ...bookLines(state, beside),
      journalLine(journal, join(beside, 'journal', 'journal.db')),
    ];
    for (const folder of [join(beside, 'journal'), beside]) flush(folder);
    renameSync(beside, to);
    flush(dirname(resolve(to)));
    return [...told, `${to} is whole and on the disk`].map((line) => `${line}\n`).join('');
  } catch (error) {
    rmSync(beside, { recursive: true, force: true });
    throw error instanceof Coded ? error : unwritable('the backup', to, error);
  }
}

function stateLine(state: string, to: string): readonly string[] {
  const file = join(state, 'state.json');
  if (!existsSync(file)) return [];
  writeFileSync(join(to, 'state.json'), backedUp(readFileSync(file, 'utf8'), Date.now()), {
    mode: 0o600,
    flush: true,
  });
  return ['state: kept for whoever wants to look, marked so that no service goes on from it'];
}

function bookLines(state: string, to: string): readonly string[] {
  return BOOKS.filter((name) => existsSync(join(state, name))).map((name) => {
    copyFileSync(join(state, name), join(to, name));
    chmodSync(join(to, name), 0o600);
    flush(join(to, name));
    return `${name}: copied`;
  });
}

function journalLine(from: string, to: string): string {
  if (!existsSync(from)) return 'journal: there is none';
  const { lastStep, lastWallMs } = copyJournal(from, to);
  chmodSync(to, 0o600);
  const until =
    lastWallMs === null
      ? 'without a step yet'
      : `to step ${lastStep}, ${new Date(lastWallMs).toLocaleString('en-GB')}`;
  return `journal: ${until}`;
}

/** A file or a folder. */
function flush(path: string): void {
  const handle = openSync(path, 'r');
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
}
