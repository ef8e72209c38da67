// A site in, a report out. Pure: no file, no clock, no chance.
import { heavierFirst } from './cautions.ts';
import { type Design, designOf } from './design.ts';
import type { Report, Section } from './report.ts';
import { SECTIONS } from './sections/all.ts';
import type { Site } from './site.ts';

/** @param more sections that are not made from the site alone: a simulated year */
export function planOf(site: Site, more: readonly Section[] = []): Report {
  return reportOf(designOf(site), more);
}

export function reportOf(design: Design, more: readonly Section[] = []): Report {
  const sections = [...SECTIONS.flatMap((section) => section(design) ?? []), ...more];
  const { id, name, prepared } = design.site;
  return {
    format: 1,
    site: { id, name, ...prepared },
    cautions: sections
      .flatMap((section) => section.cautions.map((caution) => ({ ...caution, section: section.id })))
      .toSorted(heavierFirst),
    sections,
  };
}
