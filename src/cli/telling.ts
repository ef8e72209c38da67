// What a person reads when something went wrong: the command, what happened, where, what to do next, and the code.
import { CommanderError } from 'commander';
import { Coded, unreadable, wordsOf } from '../errors/coded.ts';
import { type Code, exitOf } from '../errors/codes.ts';

export interface Told {
  readonly text: string;
  readonly exit: number;
}

export interface Call {
  /** The first word behind `vatwarden`. */
  readonly name: string;
  /** Asks for where in the program it arose. */
  readonly isVerbose: boolean;
}

const OF_THE_CALL: Readonly<Record<string, Code>> = {
  'commander.unknownCommand': 'E-101',
  'commander.unknownOption': 'E-102',
  'commander.missingArgument': 'E-103',
  'commander.excessArguments': 'E-103',
  'commander.optionMissingArgument': 'E-103',
  'commander.missingMandatoryOptionValue': 'E-103',
  'commander.invalidArgument': 'E-104',
  'commander.conflictingOption': 'E-105',
};

/** Help and version are no error: nothing is left to say. */
export function toldOf(error: unknown, { name, isVerbose }: Call): Told {
  if (error instanceof CommanderError) return toldOfCall(error, name);
  const coded = codedOf(error);
  const who = /^[a-z]+$/u.test(name) ? name : 'vatwarden';
  const [first = '', ...more] = coded.message.split('\n');
  const head = first.endsWith(':') ? `${first.slice(0, -1)} [${coded.code}]:` : `${first} [${coded.code}]`;
  const where = isVerbose ? [stackOf(error)] : [];
  return { text: `${[`${who}: ${head}`, ...more, ...where].join('\n')}\n`, exit: exitOf(coded.code) };
}

function toldOfCall({ code, message, exitCode }: CommanderError, name: string): Told {
  const own = OF_THE_CALL[code];
  // Without a command the help itself has just been printed, as an answer to a call that says too little.
  if (own === undefined) return { text: '', exit: exitCode === 0 ? 0 : 2 };
  const [first = '', ...more] = message.replace(/^error: /u, '').split('\n');
  const known = own !== 'E-101' && /^[a-z]+$/u.test(name);
  const help = known
    ? `\`vatwarden ${name} --help\` shows it by example`
    : '`vatwarden --help` lists the commands';
  const lines = [`${known ? name : 'vatwarden'}: ${first} [${own}]`, ...more, help];
  return { text: `${lines.join('\n')}\n`, exit: exitOf(own) };
}

/** What nobody foresaw is a fault of ours, unless the system says that it is a file. */
function codedOf(error: unknown): Coded {
  if (error instanceof Coded) return error;
  const { path, syscall } = (error ?? {}) as { path?: unknown; syscall?: unknown };
  if (typeof path === 'string' && typeof syscall === 'string') return unreadable('a file', path, error);
  const words = `a fault of the program itself (${wordsOf(error)}): call it again with --verbose, and report what it prints`;
  return new Coded('E-901', words, error);
}

function stackOf(error: unknown): string {
  if (!(error instanceof Error)) return String(error);
  const cause = error.cause === undefined ? '' : `\ncaused by ${stackOf(error.cause)}`;
  return `${error.stack ?? error.message}${cause}`;
}
