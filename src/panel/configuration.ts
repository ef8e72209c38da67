// The panel's own file: where it is served, over which wire, to whom. Read once at the start; a slip in it stops the start.
import { readFileSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { Coded, unreadable } from '../errors/coded.ts';
import { readDocument } from '../station/document.ts';
import { wordsOf } from '../station/problem.ts';
import { compiledSchema } from '../station/schema.ts';
import type { DoorOptions } from './door.ts';
import { type PanelText, panelSchema, panelValues } from './panel-file.ts';

export interface PanelFile extends DoorOptions {
  readonly port?: number;
  readonly mayWriteStation: boolean;
}

/** The message names the file, the place and the mend. */
export class ConfigurationError extends Coded {
  override readonly name = 'ConfigurationError';
}

const SCHEMA = compiledSchema(panelSchema);

/** @throws ConfigurationError */
export function readPanelFile(path: string): PanelFile {
  const read = readDocument<PanelText>(path, textIn("the panel's file", path), SCHEMA, () => []);
  if (!read.ok) {
    const slips = read.errors.map(wordsOf).join('\n');
    throw new ConfigurationError('E-221', `the panel's file can't be used:\n${slips}`);
  }
  const { host, port, tls, behindProxy, people, mayWriteStation } = panelValues(read.value);
  const beside = (file: string) =>
    textIn(`a key or certificate of the panel's file`, resolve(dirname(path), file));
  return {
    host,
    mayWriteStation,
    ...(port === null ? {} : { port }),
    ...(tls === null ? {} : { tls: { key: beside(tls.key), cert: beside(tls.cert) } }),
    ...(behindProxy === null ? {} : { behindProxy }),
    ...(people === null ? {} : { people }),
  };
}

function textIn(what: string, path: string): string {
  try {
    return readFileSync(path, 'utf8');
  } catch (error) {
    throw unreadable(what, path, error);
  }
}
