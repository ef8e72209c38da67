// The record of commissioning on the disk: in the state directory, whole or not at all, and never believed once it was edited.
import { existsSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { brokenAt, emptyRecord, type RecordFile } from '../commission/record.ts';
import { Coded, unwritable } from '../errors/coded.ts';

const RECORD = 'commissioning.json';

/** @throws Coded naming the entry that does not fit */
export function recordIn(directory: string, station: string): RecordFile {
  const file = join(directory, RECORD);
  if (!existsSync(file)) return emptyRecord(station);
  const remedy = `put the file back from a backup, or move it away and commission again`;
  let record: RecordFile;
  try {
    record = JSON.parse(readFileSync(file, 'utf8'));
  } catch (error) {
    throw new Coded('E-405', `${file} can't be read: ${(error as Error).message}; ${remedy}`, error);
  }
  if (record?.format !== 1 || !Array.isArray(record.entries))
    throw new Coded('E-405', `${file} is no record of commissioning that this release knows; ${remedy}`);
  if (record.station !== station)
    throw new Coded(
      'E-405',
      `${file} is the record of the station '${record.station}', and this is '${station}': give each station a directory of its own`,
    );
  const place = brokenAt(record);
  if (place !== null)
    throw new Coded(
      'E-405',
      `${file}: entry ${place + 1} of ${record.entries.length} (${record.entries[place]?.item}) is not as it was written; ${remedy}`,
    );
  return record;
}

export const writeRecord = (directory: string, record: RecordFile): void =>
  writeWhole(join(directory, RECORD), `${JSON.stringify(record, null, 1)}\n`);

/** Whole or not at all. */
export function writeWhole(file: string, text: string): void {
  try {
    writeFileSync(`${file}.new`, text, { flush: true });
    renameSync(`${file}.new`, file);
  } catch (error) {
    throw unwritable('the file', file, error);
  }
}
