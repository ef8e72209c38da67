// The one door to SQLite, with no more of it than the journal needs. Nothing is compiled when it is installed: from 22.16 on
// Node brings SQLite along (22 says once that it is new there); before that it comes from a package with the same door, whose
// binaries lie in it.
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

const PACKAGE = '@photostructure/sqlite';

/** Why there is no driver; its code is that of a part that does not load. */
class NoDriver extends Error {
  readonly code = 'ERR_DLOPEN_FAILED';
}

/**
 * @param file made where it is not there; `:memory:` for none
 * @throws an error with SQLite's code in `code` ('SQLITE_CANTOPEN'), or ERR_DLOPEN_FAILED where there is no driver
 */
export function openDatabase(file: string, { readonly = false, timeout = 5_000 }: Opening = {}): Database {
  return throughNode(sqlite(), file, { readonly, timeout });
}

/** @throws an error with ERR_DLOPEN_FAILED in `code` where there is none */
export function sqlite(): NodeSqlite {
  const own = ownSqlite();
  if (own !== null) return own;
  try {
    return createRequire(import.meta.url)(PACKAGE) as NodeSqlite;
  } catch (error) {
    const why = error instanceof Error ? (error.message.split('\n', 1)[0] ?? '') : String(error);
    throw new NoDriver(`${PACKAGE} does not load: ${why}`, { cause: error });
  }
}

/** Null on a Node that has none, or lacks what is needed of it here (before 22.16). */
export function ownSqlite(): NodeSqlite | null {
  const own = process.getBuiltinModule('node:sqlite' as 'node:module') as unknown as NodeSqlite | undefined;
  return own !== undefined && 'isTransaction' in own.DatabaseSync.prototype ? own : null;
}
