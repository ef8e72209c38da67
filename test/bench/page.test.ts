// The page says what results.json says and nothing else; a missed aim has its reason, and no reason has a figure in it.
import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { AIMS, HELD } from './aims.ts';
import { isMet, judged, number, pageOf, plotOf, reasonsWritten } from './page.ts';
import { resultsStored } from './results.ts';
import { type Curve, figure, quantile, ratio, slope } from './tools/figures.ts';

const results = resultsStored();
const reasons = reasonsWritten();

describe('the page', () => {
  test('is the one that the stored results make', () => {
    expect(readFileSync('test/bench/README.md', 'utf8')).toBe(pageOf(results, reasons));
  });

  test('has the plots that the stored curves make', () => {
    for (const [part, { curves = {} }] of Object.entries(results.parts)) {
      for (const [id, curve] of Object.entries(curves)) {
        const file = `test/bench/plots/${part}-${id}.svg`;
        expect(existsSync(file) && readFileSync(file, 'utf8')).toBe(plotOf(`${part}-${id}`, curve));
      }
    }
  });

  test('gives a reason for every aim that is missed', () => {
    const missed = judged(results).filter(({ figure, met }) => figure !== null && !met);
    expect(missed.map(({ aim }) => aim.id).filter((id) => reasons[id] === undefined)).toEqual([]);
  });

  test('has no reason for an aim that does not exist, and none with a figure typed into it', () => {
    const ids = AIMS.map(({ id }) => id);
    expect(Object.keys(reasons).filter((id) => !ids.includes(id))).toEqual([]);
    // `QoS 1`, `MQTT 5` and names in backticks are names.
    const typed = Object.values(reasons).filter((words) =>
      /\d/u.test(words.replaceAll(/`[^`]*`|QoS \d|MQTT \d/gu, '')),
    );
    expect(typed).toEqual([]);
  });

  test('every aim and every ratio of the gate names a figure that its part has', () => {
    for (const { part, figure } of [...AIMS, ...HELD]) {
      const stored = results.parts[part];
      if (stored !== undefined) expect(Object.keys(stored.figures)).toContain(figure);
    }
    expect(new Set(AIMS.map(({ id }) => id)).size).toBe(AIMS.length);
  });
});

describe('the figures', () => {
  test('a figure is the median with its extremes, a ratio goes pair by pair', () => {
    expect(figure([3, 1, 2], 'ms')).toEqual({ value: 2, least: 1, most: 3, repetitions: 3, unit: 'ms' });
    expect(ratio([2, 9, 4], [1, 3, 1])).toMatchObject({ value: 3, least: 2, most: 4 });
    expect(quantile([1, 2, 3, 4], 0.5)).toBe(2.5);
    expect(() => quantile([], 0.5)).toThrow('nothing was measured');
  });

  test.each([
    [1, (x: number) => 7 * x],
    [2, (x: number) => 3 * x * x],
    [0, () => 5],
  ])('a curve that grows with the power %d has that slope', (power, grows) => {
    const x = [1, 2, 4, 8];
    const curve: Curve = {
      words: '',
      x: { words: '', values: x },
      y: { words: '', values: x.map(grows) },
    };
    expect(slope(curve)).toBeCloseTo(power, 9);
  });

  test('an aim is met at its bound and missed beyond it', () => {
    const aim = { ...(AIMS[0] as (typeof AIMS)[number]), atMost: 2 };
    expect(isMet(aim, figure([2], 'x'))).toBe(true);
    expect(isMet(aim, figure([2.01], 'x'))).toBe(false);
    const { atMost: _, ...least } = { ...aim, atLeast: 2 };
    expect(isMet(least, figure([1.99], 'x'))).toBe(false);
  });

  test('numbers are read by people', () => {
    expect([1_234_567, 0.012345, 12.345].map(number)).toEqual(['1 234 567', '0.0123', '12.3']);
  });
});
