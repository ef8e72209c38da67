// Sites of our own, one for each way in which a place can be unlike the example: each has a report, and a drafted station
// with exactly these warnings of `check`, or the reason why there is none.
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { designOf } from '../../src/plan/design.ts';
import { draftOf } from '../../src/plan/draft.ts';
import { loadSite } from '../../src/plan/load.ts';
import { reportOf } from '../../src/plan/plan.ts';
import { wordsOf } from '../../src/station/problem.ts';
import { sectionIn } from './sites.ts';

const FOLDER = 'test/plan/sites';
/** By site: what `check` says of its station, and the dangers that heights make. W-32: the reserve; W-06: the overflow float. */
const EXPECTED: Readonly<Record<string, readonly [warnings: string, dangers: string]>> = {
  'cellar-5-m-below': ['W-32', 'P-26'],
  'flat-300-litres': ['W-06', 'P-28'],
  'gravity-only': ['W-06 W-32', 'P-28'],
  'lying-tanks': ['', 'P-28'],
  'narrow-door': ['W-32', 'P-28'],
  'no-heater': ['W-16', 'P-28'],
  'one-pump': ['', 'P-28'],
  'out-of-reach': ['none', 'P-28'],
  slab: ['', 'P-28'],
  'strong-pump': ['W-06 W-32', 'P-28'],
  'sump-beside-the-vats': ['W-32', 'P-26 P-28'],
  'system-above': ['W-32', 'P-28'],
  'two-displays-one-sump': ['', 'P-28'],
  'us-units': ['', 'P-28'],
};

describe('A site of our own', () => {
  it('stands in this list, and the list names no other', () => {
    const names = readdirSync(FOLDER).map((file) => file.replace('.site.json', ''));
    expect(names.toSorted()).toEqual(Object.keys(EXPECTED).toSorted());
  });

  it.each(Object.entries(EXPECTED))(
    '%s has a report and a station, or the reason',
    (name, [warnings, dangers]) => {
      const file = `${FOLDER}/${name}.site.json`;
      const read = loadSite(file, readFileSync(file, 'utf8'));
      if (!read.ok) throw new Error(read.errors.map(wordsOf).join('\n'));
      const design = designOf(read.site);
      const report = reportOf(design);
      const draft = draftOf(design);
      expect(draft.ok ? draft.loaded.warnings.map(({ id }) => id).join(' ') : 'none').toBe(warnings);
      const heights = sectionIn(report, 'heights').cautions.filter(({ weight }) => weight === 'danger');
      expect(heights.map(({ id }) => id).join(' ')).toBe(dangers);
      if (draft.ok) {
        // What `check --strict` stops at stands in the report.
        for (const { id } of draft.loaded.warnings)
          expect(sectionIn(report, 'station').says.join(' ')).toContain(`${id} `);
        for (const { siphons, name: route } of Object.values(draft.loaded.plant.routes))
          expect(siphons, route).not.toBe('by itself');
      } else {
        expect(sectionIn(report, 'station').says.slice(1)).toEqual(draft.reasons);
      }
    },
  );
});
