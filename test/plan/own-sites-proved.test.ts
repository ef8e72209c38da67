// The drafted station of each site of our own under the fault that would do most there: the real core on a coarse copy,
// everything that can be reached. What hardware is missing for would be named by a gap; anything else is open.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { designOf } from '../../src/plan/design.ts';
import { draftOf } from '../../src/plan/draft.ts';
import { loadSite } from '../../src/plan/load.ts';
import { proofOf } from '../../src/verify/prove/proof.ts';

/**
 * Where water falls, the valve that stays open; where one pump serves all, the valve that lets it into the system; where a
 * pump is far too strong, that pump; else the pump that fills the system.
 */
const WORST: Readonly<Record<string, string>> = {
  'cellar-5-m-below': 'stuck-on:supply-valve',
  'flat-300-litres': 'stuck-on:supply-pump',
  'gravity-only': 'stuck-on:supply-valve',
  'lying-tanks': 'stuck-on:supply-pump',
  'narrow-door': 'stuck-on:supply-pump',
  'no-heater': 'stuck-on:supply-pump',
  'one-pump': 'stuck-on:to-system',
  slab: 'stuck-on:supply-pump',
  'strong-pump': 'stuck-on:transfer-pump',
  'sump-beside-the-vats': 'stuck-on:supply-valve',
  'system-above': 'stuck-on:supply-pump',
  'two-displays-one-sump': 'stuck-on:supply-pump',
  'us-units': 'stuck-on:supply-pump',
};

describe('The worst fault', () => {
  it.each(Object.entries(WORST))('at %s, %s, does nothing that no gap names', async (name, only) => {
    const file = `test/plan/sites/${name}.site.json`;
    const read = loadSite(file, readFileSync(file, 'utf8'));
    const draft = read.ok ? draftOf(designOf(read.site)) : null;
    if (!draft?.ok) throw new Error('no station');
    const { singles, open } = await proofOf(draft.loaded.plant, { only, workers: 1 });
    expect(singles.map(({ defects }) => defects)).toEqual([[only]]);
    expect(open).toEqual([]);
    expect(singles[0]?.places).toBeGreaterThan(500);
  });
});
