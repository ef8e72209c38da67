// `plan --pack`: writes the client pack into a folder that is empty or not there yet.
import { mkdirSync, readdirSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Coded, unwritable } from '../errors/coded.ts';
import { type Item, readCatalogue } from '../plan/pack/catalogue.ts';
import type { PackFile } from '../plan/pack/pages.ts';
import { readText } from './files.ts';

/** Before anything is computed: what would be overwritten. @throws Coded */
export function emptyFolder(folder: string): void {
  const found = statSync(folder, { throwIfNoEntry: false });
  if (found === undefined) return;
  if (!found.isDirectory())
    throw new Coded(
      'E-216',
      `--pack ${folder}: this is a file; name a folder that is empty or not there yet`,
    );
  const [first, ...more] = readdirSync(folder);
  if (first !== undefined)
    throw new Coded(
      'E-216',
      `--pack ${folder}: the folder holds ${first}${more.length === 0 ? '' : ` and ${more.length} more`}; name an empty folder, or one that is not there yet. Nothing was overwritten`,
    );
}

/** @throws Coded */
export function catalogueIn(file: string | undefined, currency: string | null): ReadonlyMap<string, Item> {
  if (file === undefined) return new Map();
  const catalogue = readCatalogue(readText('the catalogue', file), currency);
  if (!catalogue.ok) throw new Coded('E-217', `${file}: ${catalogue.problem}`);
  return catalogue.items;
}

/** @throws Coded */
export function writePack(folder: string, files: readonly PackFile[]): void {
  emptyFolder(folder);
  for (const { name, text } of files) {
    const file = join(folder, name);
    try {
      mkdirSync(folder, { recursive: true });
      writeFileSync(file, text, { flag: 'wx' });
    } catch (error) {
      throw unwritable('the pack', file, error);
    }
  }
}
