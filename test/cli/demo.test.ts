// `demo --once` of each example: it comes to a delivery, also where a person must start what the station does not. The first
// example, which `demo` runs by itself, is run by other tests.
import { readdirSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { ran } from '../tools/packed.ts';
import { turnOf } from '../tools/turn.ts';

const EXAMPLES = readdirSync('schemas/examples').filter(
  (name) => name.endsWith('.json') && !name.endsWith('.site.json') && name !== 'marram-point.json',
);

/** Half a minute each on a computer that does nothing else: every commit tries one of them. */
const TRIED = EXAMPLES[turnOf(EXAMPLES.length)] ?? '';

describe('a day of an example', () => {
  it('is known for more than one', () => expect(EXAMPLES.length).toBeGreaterThan(1));

  it.each([TRIED])(
    '%s comes to a delivery',
    (name) => {
      const said = ran('node', ['dist/cli/main.js', 'demo', `schemas/examples/${name}`, '--once'], '.');
      expect(said).toMatch(/^Good: nothing spilled, nothing ran dry, and a delivery was made\.$/mu);
      // Whoever must be asked to begin was asked once.
      expect(said.match(/asks: start/gu)?.length ?? 0).toBeLessThan(2);
    },
    300_000,
  );
});
