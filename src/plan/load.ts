// From the text of a site file to a site, or to everything that is wrong with it at once.
import { readDocument } from '../station/document.ts';
import type { StationError } from '../station/problem.ts';
import { compiledSchema } from '../station/schema.ts';
import { type SiteFile, siteSchema } from './file/site.ts';
import { mistakesInSite } from './rules.ts';
import type { Site } from './site.ts';
import { siteOf } from './site-of.ts';

const SITE_SCHEMA = compiledSchema(siteSchema);

export type LoadedSite =
  | { readonly ok: true; readonly site: Site }
  | { readonly ok: false; readonly errors: readonly StationError[] };

/**
 * Reads a site file. Never throws on what a file may hold.
 * @param file its name, for the messages only: nothing is opened.
 */
export function loadSite(file: string, text: string): LoadedSite {
  const read = readDocument<SiteFile>(file, text, SITE_SCHEMA, mistakesInSite);
  return read.ok ? { ok: true, site: siteOf(read.value) } : read;
}
