// The tables, as the path by which they came about: version 1, and what each version changed. A new file walks the whole
// path, an old one the rest of it, so that the two can't differ.
import type { Database } from './driver.ts';

/** In the file's header, so that a journal can be told from any other SQLite file. "VATW" */
export const APPLICATION_ID = 0x56415457;

/** Each brings a file to the version after it: UPGRADES[0] makes version 1 of an empty file. */
const UPGRADES: readonly ((db: Database) => void)[] = [
  (db) => db.exec(VERSION_1),
  (db) => db.exec(VERSION_2),
  (db) => db.exec(VERSION_3),
];

export const VERSION = UPGRADES.length;

export function versionOf(db: Database): number {
  return db.pragma('user_version', { simple: true }) as number;
}

/** All or nothing: a power cut in the middle leaves the old version. @param to for the tests of upgrading */
export function upgrade(db: Database, to: number = VERSION): void {
  db.transaction(() => {
    for (const step of UPGRADES.slice(versionOf(db), to)) step(db);
    db.pragma(`user_version = ${to}`);
    db.pragma(`application_id = ${APPLICATION_ID}`);
  }).immediate();
}

// One row of `steps` holds `count` steps, numbered from `seq`; `wall` and `mono` are of the last of them. A snapshot is
// the state in which step `seq` is taken. A start is a stretch of steps that follow from one another.
const VERSION_1 = `
CREATE TABLE station (id TEXT NOT NULL, name TEXT NOT NULL) STRICT;
CREATE TABLE plants (hash TEXT PRIMARY KEY, body BLOB NOT NULL, dictionary BLOB NOT NULL) STRICT;
CREATE TABLE starts (
  id INTEGER PRIMARY KEY, seq INTEGER NOT NULL, wall INTEGER NOT NULL, mono INTEGER NOT NULL, boot TEXT,
  cause TEXT NOT NULL, gap INTEGER, words TEXT NOT NULL, software TEXT NOT NULL,
  station TEXT NOT NULL, plant TEXT NOT NULL, sum INTEGER NOT NULL, ended INTEGER) STRICT;
CREATE TABLE snapshots (
  start INTEGER NOT NULL, seq INTEGER NOT NULL, wall INTEGER NOT NULL, mono INTEGER NOT NULL,
  chain INTEGER NOT NULL, digest INTEGER NOT NULL, body BLOB NOT NULL, UNIQUE (start, seq)) STRICT;
CREATE TABLE steps (
  seq INTEGER PRIMARY KEY, count INTEGER NOT NULL, start INTEGER NOT NULL,
  wall INTEGER NOT NULL, mono INTEGER NOT NULL, chain INTEGER NOT NULL, body BLOB NOT NULL) STRICT;
CREATE TABLE alarms (
  id INTEGER PRIMARY KEY, seq INTEGER NOT NULL, wall INTEGER NOT NULL, alarm TEXT NOT NULL, state TEXT NOT NULL,
  priority TEXT NOT NULL, words TEXT NOT NULL, mend TEXT NOT NULL) STRICT;
CREATE TABLE records (
  id INTEGER PRIMARY KEY, seq INTEGER NOT NULL, wall INTEGER NOT NULL, about TEXT NOT NULL, words TEXT NOT NULL) STRICT;
CREATE TABLE batches (
  id INTEGER PRIMARY KEY, number INTEGER NOT NULL, began INTEGER NOT NULL, ended INTEGER, outcome TEXT,
  leftover_l REAL NOT NULL, leftover_salinity REAL, asked_kg REAL NOT NULL, added_kg REAL NOT NULL,
  trims INTEGER NOT NULL, accepted INTEGER, volume_l REAL, salinity REAL, temperature_c REAL, yield REAL,
  ready INTEGER) STRICT;
CREATE TABLE ledger (
  system TEXT NOT NULL, day INTEGER NOT NULL, hour INTEGER NOT NULL,
  drained_l REAL NOT NULL, delivered_l REAL NOT NULL, error_l REAL NOT NULL,
  PRIMARY KEY (system, day, hour)) STRICT, WITHOUT ROWID;
`;

// Version 2: a digest of the state after each row, so that a replay notices a state that went astray before it shows in
// an effect (rows of version 1 have none, and nothing to compute it from but a replay); samples; proof tests.
const VERSION_2 = `
ALTER TABLE steps ADD COLUMN digest INTEGER;
CREATE TABLE channels (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, unit TEXT NOT NULL) STRICT;
CREATE TABLE samples (
  span INTEGER NOT NULL, at INTEGER NOT NULL, lasted INTEGER NOT NULL, body TEXT NOT NULL,
  PRIMARY KEY (span, at)) STRICT, WITHOUT ROWID;
CREATE TABLE proof_tests (
  id INTEGER PRIMARY KEY, wall INTEGER NOT NULL, row TEXT NOT NULL, who TEXT NOT NULL, passed INTEGER NOT NULL,
  words TEXT NOT NULL) STRICT;
`;

// Version 3: alarms and records hold what was meant (an id and values, as JSON) and no sentences; those of before are kept as they
// were told.
const VERSION_3 = `
UPDATE alarms SET words = json_object('id', 'told-before', 'values', json_object('what', words)),
  mend = json_object('id', 'told-before', 'values', json_object('what', mend));
UPDATE records SET words = json_object('id', 'told-before', 'values', json_object('what', words));
`;
