// The one door to SQLite, with no more of it than the journal needs. Two drivers stand behind it: from Node 24 on the one
// that Node brings along, below that better-sqlite3. Its version 12 aborts the process on Node 24.19 and later as soon as a
// statement is collected, and its version 13 does not load on Node 20.
import { createRequire } from 'node:module';
import { type NodeSqlite, throughNode } from './driver-node.ts';

export interface Database {
  prepare<Given extends readonly unknown[] = readonly unknown[], Row = unknown>(
    sql: string,
  ): Statement<Given, Row>;
  exec(sql: string): unknown;
  /** @returns the rows; with `simple` the first value of the first row */
  pragma(text: string, options?: { readonly simple: boolean }): unknown;
  /** All or nothing; begun by `immediate`, which takes the right to write at once. */
  transaction(work: () => void): { readonly immediate: () => void };
  close(): unknown;
}

export interface Statement<Given extends readonly unknown[] = readonly unknown[], Row = unknown> {
  run(...given: Given): unknown;
  get(...given: Given): Row | undefined;
  all(...given: Given): Row[];
  /** Gives the first value of each row instead of the row. */
  pluck(): Statement<Given, Row>;
}

export interface Opening {
  /** Default false. It must be there then. */
  readonly readonly?: boolean;
  /** How long to wait for another process that writes, ms. Default 5,000. */
  readonly timeout?: number;
}

/** The first Node whose own driver is used. */
const OWN_DRIVER = 24;
export const hasOwnDriver: boolean = Number.parseInt(process.versions.node, 10) >= OWN_DRIVER;

/** Why there is no driver; its code is that of a part that does not load. */
class NoDriver extends Error {
  readonly code = 'ERR_DLOPEN_FAILED';
}

/**
 * @param file made where it is not there; `:memory:` for none
 * @throws an error with SQLite's code in `code` ('SQLITE_CANTOPEN'), or ERR_DLOPEN_FAILED where no driver is installed
 */
export function openDatabase(file: string, { readonly = false, timeout = 5_000 }: Opening = {}): Database {
  if (hasOwnDriver) {
    const own = process.getBuiltinModule('node:sqlite' as 'node:module') as unknown as NodeSqlite | undefined;
    if (own === undefined) throw new NoDriver('this Node was built without SQLite');
    return throughNode(own, file, { readonly, timeout });
  }
  return new (compiledDriver())(file, { readonly, timeout });
}

type Compiled = new (file: string, options: Required<Opening>) => Database;

function compiledDriver(): Compiled {
  try {
    return createRequire(import.meta.url)('better-sqlite3') as Compiled;
  } catch (error) {
    throw new NoDriver('better-sqlite3 is not installed', { cause: error });
  }
}
