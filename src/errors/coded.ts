// An error that a person can meet: its code, and words that say what, where, and what to do next.
import type { Code } from './codes.ts';

export class Coded extends Error {
  override readonly name: string = 'Coded';
  readonly code: Code;

  constructor(code: Code, message: string, cause?: unknown) {
    super(message, cause === undefined ? {} : { cause });
    this.code = code;
  }
}

/** What the system answered, and what that means for a file or folder. */
const SYSTEM: Readonly<Record<string, readonly [code: Code, words: string, next: string]>> = {
  ENOENT: ['E-201', '', ''],
  EACCES: ['E-202', 'this user may not', 'run as the user whom it belongs to, or change its owner'],
  EPERM: ['E-202', 'this user may not', 'run as the user whom it belongs to, or change its owner'],
  EISDIR: ['E-203', 'it is a folder', 'name a file in it'],
  ENOTDIR: ['E-203', 'a part of the path is a file', 'name a folder before it'],
  EEXIST: ['E-203', 'a part of the path is a file', 'name a folder before it'],
  ENOSPC: ['E-204', 'the disk is full', 'make room, or name another place'],
  EDQUOT: ['E-204', "this user's share of the disk is full", 'make room, or name another place'],
  EROFS: ['E-204', 'the disk is read-only', 'name another place; a worn memory card does that: replace it'],
};

type Missing = readonly [words: string, next: string];
const MISSING_HERE: Missing = [
  'it is not there',
  'check the name (a relative one begins at the folder of the call)',
];
const NO_FOLDER: Missing = ['its folder is not there', 'make it first, or name another one'];

/** @param what `the station file`; @param code where the band is another one than that of files */
export function unreadable(what: string, path: string, error: unknown, code?: Code): Coded {
  return fileTrouble(`${what} can't be read: ${path}`, MISSING_HERE, error, code);
}

/** @param what `the report` */
export function unwritable(what: string, path: string, error: unknown, code?: Code): Coded {
  return fileTrouble(`${what} can't be written: ${path}`, NO_FOLDER, error, code);
}

function fileTrouble(start: string, ifMissing: Missing, error: unknown, code: Code | undefined): Coded {
  const answer = String((error as { code?: unknown } | null)?.code);
  const known: readonly [Code, string, string] = SYSTEM[answer] ?? [
    'E-205',
    wordsOf(error),
    'look at the disk and at the messages of the system',
  ];
  const [own, words, next] = known;
  const [fits, mend] = answer === 'ENOENT' ? ifMissing : [words, next];
  return new Coded(code ?? own, `${start}: ${fits}. ${capital(mend)}`, error);
}

/** A port that can't be listened on. @param option how to name another one */
export function portTrouble(what: string, port: number, option: string, error: unknown): Coded {
  const answer = String((error as { code?: unknown } | null)?.code);
  if (answer === 'EADDRINUSE')
    return new Coded(
      'E-501',
      `${what}: port ${port} is taken by another program. End that, or give another one with ${option} (0: any free one)`,
      error,
    );
  if (answer === 'EACCES')
    return new Coded(
      'E-502',
      `${what}: this user may not open port ${port}. Give one above 1023 with ${option}`,
      error,
    );
  if (answer === 'EADDRNOTAVAIL' || answer === 'ENOTFOUND')
    return new Coded(
      'E-503',
      `${what}: the address does not belong to this computer (${wordsOf(error)}). Give 127.0.0.1 or one of its own`,
      error,
    );
  return new Coded('E-205', `${what}: port ${port} can't be opened (${wordsOf(error)})`, error);
}

export function wordsOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

const capital = (text: string): string => `${text.slice(0, 1).toUpperCase()}${text.slice(1)}`;
