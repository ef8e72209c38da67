// The panel's own file: where it is served, over which wire, to whom. Read once at the start; a slip in it stops the start.
import { readFileSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { Coded, unreadable, wordsOf } from '../errors/coded.ts';
import type { DoorOptions } from './door.ts';
import type { Person } from './people.ts';

export interface PanelFile extends DoorOptions {
  readonly port?: number;
  readonly mayWriteStation: boolean;
}

/** The message names the file, the place and the mend. */
export class ConfigurationError extends Coded {
  override readonly name = 'ConfigurationError';
}

interface Written {
  readonly host?: string;
  readonly port?: number;
  readonly tls?: { readonly key: string; readonly cert: string };
  readonly behindProxy?: { readonly origin: string; readonly addresses?: readonly string[] };
  readonly people?: readonly Person[];
  readonly mayWriteStation?: boolean;
}

const SCHEMA = JSON.parse(readFileSync(new URL('../../schemas/panel.schema.json', import.meta.url), 'utf8'));
const fits = new Ajv2020({ allErrors: true }).compile<Written>(SCHEMA);

/** @throws ConfigurationError */
export function readPanelFile(path: string): PanelFile {
  const value = parsed(path);
  if (!fits(value)) {
    const slips = (fits.errors ?? []).map(
      ({ instancePath, message, params }) =>
        `${instancePath === '' ? 'the whole file' : instancePath} ${message}${listed(params)}`,
    );
    throw new ConfigurationError('E-221', `the panel's file ${path} can't be used: ${slips.join('; ')}`);
  }
  const { tls, mayWriteStation = false, ...rest } = value;
  const beside = (file: string) =>
    textIn(`a key or certificate of the panel's file`, resolve(dirname(path), file));
  return {
    ...rest,
    mayWriteStation,
    ...(tls === undefined ? {} : { tls: { key: beside(tls.key), cert: beside(tls.cert) } }),
  };
}

function parsed(path: string): unknown {
  const text = textIn("the panel's file", path);
  try {
    return JSON.parse(text);
  } catch (error) {
    throw new ConfigurationError('E-221', `the panel's file ${path} is no JSON: ${wordsOf(error)}`, error);
  }
}

function textIn(what: string, path: string): string {
  try {
    return readFileSync(path, 'utf8');
  } catch (error) {
    throw unreadable(what, path, error);
  }
}

const listed = (params: Readonly<Record<string, unknown>>): string => {
  const named = params.additionalProperty ?? params.allowedValues;
  return named === undefined ? '' : ` (${Array.isArray(named) ? named.join(', ') : String(named)})`;
};
