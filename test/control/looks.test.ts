import { describe, expect, test } from 'vitest';
import { deriveRows, looksOf } from '../../src/control/guard/interlocks.ts';
import { couple, plantAt } from '../tools/coupled.ts';

const FILES = [
  'schemas/examples/marram-point.json',
  'schemas/examples/one-vat.json',
  'schemas/examples/unequal-vats.json',
  'test/stations/bench-rig.json',
];
const HOUR_MS = 3_600_000;

/** Rows whose words speak of the future or of a policy: nothing on them is a number of now. */
const WORDLESS = new Set(['I-32']);

/** Rows that hold by one limit alone: there the number shown and the row must agree. */
const BY_ONE_LIMIT = new Set(['I-03', 'I-04', 'I-06', 'I-18', 'I-08', 'I-09']);

describe('what a row looks at', () => {
  test.each(FILES)('%s: every row shows at least one thing, from the first moment on', (file) => {
    const plant = plantAt(file);
    const coupled = couple(plant);
    const bare = new Set<string>();
    for (const forMs of [5_000, 5_000, HOUR_MS, 6 * HOUR_MS]) {
      coupled.run(forMs);
      for (const row of deriveRows(plant))
        if (looksOf(row, coupled.state()).length === 0 && !WORDLESS.has(row.id)) bare.add(row.key);
    }
    expect([...bare]).toEqual([]);
  });

  test('shown limits agree with the rows: beyond its limit a row forbids, within it does not', () => {
    const file = 'schemas/examples/marram-point.json';
    const plant = plantAt(file);
    const stuck = ['stuck-on:inlet-valve@30min', 'says:mixing-temperature=31@2h-3h', 'siphon:supply=0.4@5h'];
    const coupled = couple(plant, { faults: stuck });
    let compared = 0;
    let held = 0;
    coupled.run(8 * HOUR_MS, ({ state }) => {
      for (const row of deriveRows(plant)) {
        if (!BY_ONE_LIMIT.has(row.id)) continue;
        const holds = row.holds(state());
        for (const input of looksOf(row, state())) {
          if (input.input !== 'amount' || input.limit === undefined || input.value === null) continue;
          const { value, limit } = input;
          // Shown to three decimals: on the limit itself either is right.
          if (Math.abs(value - limit) < 0.002) continue;
          compared += 1;
          if (input.forbids === 'above' && value < limit) expect(holds, row.key).toBe(false);
          if (input.forbids === 'below' && value > limit) expect(holds, row.key).toBe(false);
          if (input.forbids === 'above' && value > limit && row.id !== 'I-08' && row.id !== 'I-09') {
            expect(holds, row.key).toBe(true);
            held += 1;
          }
        }
      }
      return false;
    });
    expect(compared).toBeGreaterThan(10_000);
    expect(held).toBeGreaterThan(0);
  });

  test('looking changes nothing', () => {
    const plant = plantAt('schemas/examples/marram-point.json');
    const coupled = couple(plant);
    coupled.run(HOUR_MS);
    const before = JSON.stringify(coupled.state());
    for (const row of deriveRows(plant)) looksOf(row, coupled.state());
    expect(JSON.stringify(coupled.state())).toBe(before);
  });
});
