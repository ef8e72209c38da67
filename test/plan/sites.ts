// Sites for the tests: the example, and the example with something changed.
import { readFileSync } from 'node:fs';
import { type Design, designOf } from '../../src/plan/design.ts';
import type { SiteFile } from '../../src/plan/file/site.ts';
import { loadSite } from '../../src/plan/load.ts';
import { planOf } from '../../src/plan/plan.ts';
import type { Report, Section } from '../../src/plan/report.ts';
import type { Site } from '../../src/plan/site.ts';
import { wordsOf } from '../../src/station/problem.ts';

export const MARRAM = 'schemas/examples/marram-point.site.json';
export const UNEQUAL = 'schemas/examples/marram-point-unequal.site.json';

type Writable<T> = { -readonly [K in keyof T]: T[K] extends object ? Writable<T[K]> : T[K] };
/** Both lines of the examples have a pump. */
type Pumped<L extends { pump?: object }> = Omit<L, 'pump'> & Required<Pick<L, 'pump'>>;
type Example = Omit<Writable<SiteFile>, 'transfer' | 'supply'> & {
  transfer: Pumped<Writable<SiteFile>['transfer']>;
  supply: Pumped<Writable<SiteFile>['supply']>;
};
export type Change = (file: Example) => void;

export function fileWith(change: Change = () => {}, from = MARRAM): SiteFile {
  const file = JSON.parse(readFileSync(from, 'utf8')) as Example;
  change(file);
  return file as SiteFile;
}

/** Through text and loader, as a user's file would come. */
export function siteWith(change: Change = () => {}, from = MARRAM): Site {
  const loaded = loadSite('test.site.json', JSON.stringify(fileWith(change, from), null, 2));
  if (!loaded.ok) throw new Error(loaded.errors.map(wordsOf).join('\n'));
  return loaded.site;
}

export const designWith = (change?: Change, from?: string): Design => designOf(siteWith(change, from));
export const reportWith = (change?: Change, from?: string): Report => planOf(siteWith(change, from));

export function sectionIn(report: Report, id: string): Section {
  const found = report.sections.find((section) => section.id === id);
  if (found === undefined) throw new Error(`no section '${id}'`);
  return found;
}

/** A figure's number; fails where there is none. */
export function valueIn(report: Report, sectionId: string, figureId: string): number {
  const found = sectionIn(report, sectionId).figures.find(({ id }) => id === figureId);
  if (found === undefined) throw new Error(`no figure '${figureId}' in '${sectionId}'`);
  if (found.value === null) throw new Error(`'${figureId}' has no number: ${found.words}`);
  return found.value;
}

export const cautionIds = (report: Report): string[] => report.cautions.map(({ id }) => id);
