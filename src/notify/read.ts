// Reads the file that says who is told. A slip in it stops the start: a message that never comes is noticed too late.
import { readFileSync } from 'node:fs';
import { Coded, unreadable } from '../errors/coded.ts';
import { readDocument } from '../station/document.ts';
import { wordsOf } from '../station/problem.ts';
import { compiledSchema } from '../station/schema.ts';
import { type NotifyText, type NotifyValues, notifySchema, notifyValues } from './notify-file.ts';

const SCHEMA = compiledSchema(notifySchema);
const WHAT = 'the file that says who is told';

/** @throws Coded */
export function readNotifyFile(path: string): NotifyValues {
  const read = readDocument<NotifyText>(path, textIn(path), SCHEMA, () => []);
  if (read.ok) return notifyValues(read.value);
  throw new Coded('E-224', `${WHAT} can't be used:\n${read.errors.map(wordsOf).join('\n')}`);
}

function textIn(path: string): string {
  try {
    return readFileSync(path, 'utf8');
  } catch (error) {
    throw unreadable(WHAT, path, error);
  }
}
