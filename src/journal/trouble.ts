// What can go wrong with the file, in words that say what to do. SQLite's codes come in families; the family decides.
import { Coded } from '../errors/coded.ts';
import type { Code } from '../errors/codes.ts';

export interface Refused {
  readonly ok: false;
  readonly trouble: Trouble;
  readonly words: string;
  readonly mend: string;
}
export type Written = { readonly ok: true } | Refused;
export const WRITTEN: Written = { ok: true };

export type Trouble =
  | 'full'
  | 'read-only'
  | 'damaged'
  | 'busy'
  | 'another-writer'
  | 'unreadable'
  /** The file is whole, and not ours to write: another station's, a newer release's, or no journal at all. */
  | 'another-station'
  | 'newer'
  | 'no-journal'
  /** What was asked for makes no sense. */
  | 'refused'
  | 'missing'
  /** There is no database driver for this Node on this computer. */
  | 'no-driver';

const CODE_OF: Readonly<Record<Trouble, Code>> = {
  full: 'E-411',
  'read-only': 'E-412',
  damaged: 'E-413',
  busy: 'E-414',
  'another-writer': 'E-414',
  unreadable: 'E-415',
  'another-station': 'E-416',
  newer: 'E-416',
  'no-journal': 'E-416',
  refused: 'E-416',
  missing: 'E-417',
  'no-driver': 'E-418',
};

/** The journal can't be opened. Nothing was changed. */
export class JournalError extends Coded {
  override readonly name = 'JournalError';
  readonly trouble: Trouble;
  readonly words: string;
  readonly mend: string;
  constructor({ trouble, words, mend }: Omit<Refused, 'ok'>, cause?: unknown) {
    super(CODE_OF[trouble], `${words}. ${mend}`, cause);
    this.trouble = trouble;
    this.words = words;
    this.mend = mend;
  }
}

/** What is in the file contradicts its own checks, or SQLite's. */
export class Damaged extends Error {
  override readonly name = 'Damaged';
}

/** Sorts an error of SQLite, of the file system or of our own checks. @param file for the words */
export function refusalOf(error: unknown, file: string): Refused {
  const code = String((error as { code?: unknown } | null)?.code ?? '');
  const message = error instanceof Error ? error.message : String(error);
  const isDriver = code === 'ERR_DLOPEN_FAILED';
  const found = FAMILIES.find(({ codes }) => codes.some((family) => code.startsWith(family)));
  const trouble =
    error instanceof Damaged ? 'damaged' : isDriver ? 'no-driver' : (found?.trouble ?? 'unreadable');
  const { words, mend } = SENTENCES[trouble];
  const told = message.replace(/\s+/gu, ' ').slice(0, 200);
  return { ok: false, trouble, words: `${words(file)} (${told})`, mend };
}

/** The first family that fits counts. */
const FAMILIES: readonly {
  readonly trouble: Exclude<Trouble, 'refused' | 'missing' | 'no-driver'>;
  readonly codes: readonly string[];
}[] = [
  // The file that two processes share with SQLite is enlarged before it is used: where that fails, the disk is full.
  { trouble: 'full', codes: ['SQLITE_FULL', 'SQLITE_IOERR_SHMSIZE', 'ENOSPC', 'EDQUOT'] },
  {
    trouble: 'read-only',
    codes: ['SQLITE_READONLY', 'EROFS', 'EACCES', 'EPERM', 'SQLITE_CANTOPEN', 'SQLITE_PERM'],
  },
  {
    trouble: 'damaged',
    // SQLITE_ERROR: our statements are sound, so it is the tables that are not.
    codes: ['SQLITE_CORRUPT', 'SQLITE_ERROR', 'SQLITE_NOTADB', 'SQLITE_FORMAT', 'SQLITE_IOERR_SHORT_READ'],
  },
  { trouble: 'busy', codes: ['SQLITE_BUSY', 'SQLITE_LOCKED', 'SQLITE_PROTOCOL'] },
  // Each step has its number once; a number that is taken was given by somebody else.
  { trouble: 'another-writer', codes: ['SQLITE_CONSTRAINT'] },
];

const SENTENCES: Readonly<
  Record<Exclude<Trouble, 'refused' | 'missing'>, { words: (file: string) => string; mend: string }>
> = {
  full: {
    words: (file) => `the disk with the journal ${file} is full`,
    mend: 'Make room on it, or move the journal to a larger one; the journal goes on by itself as soon as it can.',
  },
  'read-only': {
    words: (file) => `the journal ${file} can't be written`,
    mend: 'Look whether the disk was mounted read-only (a worn memory card does that: replace it), and whether the folder belongs to the user who runs the service.',
  },
  damaged: {
    words: (file) => `the journal ${file} is damaged`,
    mend: 'Start the service again: the file is kept under another name, and a new one is begun. Check the disk, it may be wearing out.',
  },
  busy: {
    words: (file) => `another process holds the journal ${file}`,
    mend: 'End the other program that has the file open, or let it read a copy.',
  },
  'another-writer': {
    words: (file) => `another service writes into the journal ${file}`,
    mend: 'Stop one of the two, or give each its own folder.',
  },
  unreadable: {
    words: (file) => `the journal ${file} can't be read or written`,
    mend: 'Look at the disk: its cable, its card, the messages of the system.',
  },
  'another-station': {
    words: (file) => `the journal ${file} belongs to another station`,
    mend: 'Give each station a folder of its own, or move the file away if that station is gone.',
  },
  newer: {
    words: (file) => `the journal ${file} was written by a newer release`,
    mend: 'Install that release or a later one, or move the file away; then a new history begins; what is latched is in the state file.',
  },
  'no-driver': {
    words: (file) =>
      `the journal ${file} can't be opened: there is no database driver for Node ${process.version} on ${process.platform} ${process.arch}`,
    mend: 'Run Vatwarden with Node 24 or newer (22.16 will do), which brings a driver along; or, on x64 and arm64, install it again without leaving out optional packages.',
  },
  'no-journal': {
    words: (file) => `${file} is not a journal`,
    mend: 'Name the file journal.db of a station, or another folder.',
  },
};

/** The sentence for a file that is not ours to write. @param detail what was found, what was expected */
export function notOurs(
  trouble: 'another-station' | 'newer' | 'no-journal',
  file: string,
  detail: string,
): JournalError {
  const { words, mend } = SENTENCES[trouble];
  return new JournalError({ trouble, words: `${words(file)} (${detail})`, mend });
}
