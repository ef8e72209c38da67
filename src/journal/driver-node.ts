// SQLite as Node brings it (`node:sqlite`), behind the journal's own door. Its errors carry numbers; here they get the names
// that the journal sorts them by. Numbers and names: sqlite.org, "Result and Error Codes".
import type { Database, Opening, Statement } from './driver.ts';

/** What is used of `node:sqlite`; its types are those of a later Node than the one that this is compiled for. */
export interface NodeSqlite {
  readonly DatabaseSync: new (
    file: string,
    options: { readonly readOnly: boolean; readonly timeout: number },
  ) => NodeDatabase;
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
  return {
    prepare: <Given extends readonly unknown[], Row>(sql: string) =>
      statement<Given, Row>(named(() => db.prepare(sql))),
    exec: (sql) => named(() => db.exec(sql)),
    pragma: (text, { simple } = { simple: false }) => {
      const rows = named(() => db.prepare(`PRAGMA ${text}`).all()) as readonly object[];
      return simple ? Object.values(rows[0] ?? {})[0] : rows;
    },
    transaction: (work) => ({ immediate: () => allOrNothing(db, work) }),
    close: () => named(() => db.close()),
  };
}

function statement<Given extends readonly unknown[], Row>(own: NodeStatement): Statement<Given, Row> {
  return {
    run: (...given) => named(() => own.run(...given)),
    get: (...given) => named(() => own.get(...given)) as Row | undefined,
    all: (...given) => named(() => own.all(...given)) as Row[],
    pluck: () => {
      own.setReturnArrays(true);
      const first = (row: unknown): Row => (row as readonly Row[])[0] as Row;
      return {
        ...statement<Given, Row>(own),
        get: (...given) => {
          const row = named(() => own.get(...given));
          return row === undefined ? undefined : first(row);
        },
        all: (...given) => named(() => own.all(...given)).map(first),
      };
    },
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
    if (code !== 'ERR_SQLITE_ERROR' || typeof errcode !== 'number') throw error;
    throw new SqliteError(String(message), nameOf(errcode), error);
  }
}

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
