// The site file that `plan` reads.
import { Coded } from '../errors/coded.ts';
import { loadSite } from '../plan/load.ts';
import type { Site } from '../plan/site.ts';
import { kindOf, readText, withLines } from './files.ts';

/** @throws Coded with every mistake in the file */
export function siteIn(file: string): Site {
  const text = readText('the site file', file);
  const loaded = loadSite(file, text);
  if (loaded.ok) return loaded.site;
  if (kindOf(text) === 'station')
    throw new Coded(
      'E-213',
      `${file} is a station file, and a plan is made from a site file: \`vatwarden check ${file}\` reads this one, \`vatwarden example\` lists site files to begin with`,
    );
  throw new Coded('E-212', withLines("the site file can't be used:", loaded.errors));
}
