// SQLite as Node brings it (`node:sqlite`), and as a package with the same door does, behind the journal's own. Their errors
// carry numbers; here they get the names that the journal sorts them by. Numbers and names: sqlite.org, "Result and Error
// Codes".
import type { Database, Opening, Statement } from './driver.ts';

/** What is used of `node:sqlite`; its types are those of a later Node than the one that this is compiled for. */
export interface NodeSqlite {
  readonly DatabaseSync: {
    new (
      file: string,
      options: { readonly readOnly: boolean; readonly timeout: number; readonly defensive?: boolean },
    ): NodeDatabase;
    readonly prototype: object;
  };
}

interface NodeDatabase {
  prepare(sql: string): NodeStatement;
  exec(sql: string): void;
  close(): void;
  readonly isTransaction: boolean;
}

interface NodeStatement {
  run(...given: readonly unknown[]): unknown;
  get(...given: readonly unknown[]): unknown;
  all(...given: readonly unknown[]): unknown[];
  setReturnArrays(enabled: boolean): void;
}

export function throughNode(
  { DatabaseSync }: NodeSqlite,
  file: string,
  { readonly, timeout }: Required<Opening>,
): Database {
  const db = named(() => new DatabaseSync(file, { readOnly: readonly, timeout }));
  /** Each once, by its text. Nobody else holds one: what is closed can be collected. */
  const prepared = new Map<string, NodeStatement>();
  const statementOf: StatementOf = (sql, gives) => {
    const there = prepared.get(gives + sql);
    if (there !== undefined) return there;
    const made = db.prepare(sql);
    made.setReturnArrays(gives === 'values');
    prepared.set(gives + sql, made);
    return made;
  };
  return {
    prepare: <Given extends readonly unknown[], Row>(sql: string) => statement<Given, Row>(statementOf, sql),
    exec: (sql) => named(() => db.exec(sql)),
    pragma: (text, { simple } = { simple: false }) => {
      const asked = statement<[], unknown>(statementOf, `PRAGMA ${text}`);
      return simple ? asked.pluck().get() : asked.all();
    },
    transaction: (work) => ({ immediate: () => allOrNothing(db, work) }),
    close: () => {
      prepared.clear();
      if (!readonly) fold(db);
      named(() => db.close());
    },
  };
}

type StatementOf = (sql: string, gives: 'rows' | 'values') => NodeStatement;

/**
 * The log beside the file goes into it, so that the file alone is all there is. Node does that when it closes; in the package
 * a statement that was not yet collected holds the file open. What can't be folded now stays in the log and counts.
 */
function fold(db: NodeDatabase): void {
  try {
    db.exec('PRAGMA wal_checkpoint(TRUNCATE)');
  } catch {
    // A full disk, a damaged page: whoever wrote last was told.
  }
}

function statement<Given extends readonly unknown[], Row>(
  of: StatementOf,
  sql: string,
): Statement<Given, Row> {
  return {
    run: (...given) => named(() => of(sql, 'rows').run(...given)),
    get: (...given) => named(() => of(sql, 'rows').get(...given)) as Row | undefined,
    all: (...given) => named(() => of(sql, 'rows').all(...given)) as Row[],
    pluck: () => ({
      ...statement<Given, Row>(of, sql),
      get: (...given) => (named(() => of(sql, 'values').get(...given)) as readonly Row[] | undefined)?.[0],
      all: (...given) =>
        named(() => of(sql, 'values').all(...given)).map((row) => (row as readonly Row[])[0] as Row),
    }),
  };
}

function allOrNothing(db: NodeDatabase, work: () => void): void {
  named(() => db.exec('BEGIN IMMEDIATE'));
  try {
    work();
    named(() => db.exec('COMMIT'));
  } catch (error) {
    // A full disk, for example, has ended it already.
    if (db.isTransaction) named(() => db.exec('ROLLBACK'));
    throw error;
  }
}

/** An error of SQLite, with its name in `code`. */
class SqliteError extends Error {
  readonly code: string;
  constructor(message: string, code: string, cause: unknown) {
    super(message, { cause });
    this.code = code;
  }
}

function named<T>(call: () => T): T {
  try {
    return call();
  } catch (error) {
    const { code, errcode, message } = error as { code?: unknown; errcode?: unknown; message?: unknown };
    if (code !== 'ERR_SQLITE_ERROR') throw error;
    const words = String(message);
    const name = typeof errcode === 'number' ? nameOf(errcode) : nameIn(words);
    throw new SqliteError(words, name, error);
  }
}

/** Of what goes wrong amid a list the package tells SQLite's own sentence, and no number. */
const nameIn = (words: string): string =>
  SENTENCES.find(([sentence]) => words.includes(sentence))?.[1] ?? 'SQLITE_ERROR';

const SENTENCES: readonly (readonly [string, string])[] = [
  ['database is locked', 'SQLITE_BUSY'],
  ['attempt to write a readonly database', 'SQLITE_READONLY'],
  ['disk I/O error', 'SQLITE_IOERR'],
  ['malformed', 'SQLITE_CORRUPT'],
  ['database or disk is full', 'SQLITE_FULL'],
  ['unable to open database file', 'SQLITE_CANTOPEN'],
  ['file is not a database', 'SQLITE_NOTADB'],
];

/** The extended code where its name matters here, else the family. */
const nameOf = (code: number): string => NAMES[code] ?? NAMES[code & 0xff] ?? `SQLITE_${code}`;

const NAMES: Readonly<Record<number, string>> = {
  1: 'SQLITE_ERROR',
  3: 'SQLITE_PERM',
  5: 'SQLITE_BUSY',
  6: 'SQLITE_LOCKED',
  8: 'SQLITE_READONLY',
  10: 'SQLITE_IOERR',
  11: 'SQLITE_CORRUPT',
  13: 'SQLITE_FULL',
  14: 'SQLITE_CANTOPEN',
  15: 'SQLITE_PROTOCOL',
  19: 'SQLITE_CONSTRAINT',
  24: 'SQLITE_FORMAT',
  26: 'SQLITE_NOTADB',
  522: 'SQLITE_IOERR_SHORT_READ',
  4874: 'SQLITE_IOERR_SHMSIZE',
};
