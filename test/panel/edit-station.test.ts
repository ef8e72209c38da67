import { describe, expect, test } from 'vitest';
import { editStation } from '../../src/panel/edit-station.ts';
import { textOfStation } from '../tools/panel-station.ts';

const FILE = 'schemas/examples/marram-point.json';
const text = textOfStation(FILE);

function edited(change: Parameters<typeof editStation>[2], from = text) {
  const done = editStation('marram.json', from, change);
  if (!done.ok) throw new Error(done.words);
  return done;
}

/** Lines that are not the same in both. */
function changedLines(before: string, after: string): string[] {
  const [a, b] = [before.split('\n'), after.split('\n')];
  return b.filter((line, i) => line !== a[i] && !a.includes(line));
}

describe('a change in the station file', () => {
  test('only the line that it is about is another, and it counts', () => {
    const done = edited({ salinity: 34 });
    expect(done.plant.process.salinity.target).toBe(34);
    expect(changedLines(text, done.text)).toEqual(['      "target": "34 PSU",']);
    expect(done.text.split('\n')).toHaveLength(text.split('\n').length);
  });

  test('several targets at once', () => {
    const { plant } = edited({
      temperatureC: 24.5,
      batchL: 240,
      reserveShare: 0.15,
      exchange: { system: { perDayShare: 0.035, stepL: 5 } },
      quietHours: { fromMinute: 22 * 60 + 30, toMinute: 5 * 60 },
    });
    expect(plant.process.temperature?.targetC).toBe(24.5);
    expect(plant.process.batch.contentsL).toBe(240);
    expect(plant.process.reserveShare).toBeCloseTo(0.15, 12);
    expect(plant.process.exchange.system?.perDayShare).toBeCloseTo(0.035, 12);
    expect(plant.process.exchange.system?.stepL).toBe(5);
    expect(plant.process.quietHours).toMatchObject({ fromMinute: 1350, toMinute: 300 });
  });

  test('quiet hours can be taken out, wherever they stand, and put in where there were none', () => {
    const without = edited({ quietHours: null });
    expect(without.plant.process.quietHours).toBeNull();
    const again = edited({ quietHours: { fromMinute: 60, toMinute: 120 } }, without.text);
    expect(again.plant.process.quietHours).toEqual({ fromMinute: 60, toMinute: 120, rest: ['exchange'] });
    expect(edited({ quietHours: null }, again.text).plant.process.quietHours).toBeNull();
  });

  test('a value that the file leaves to its default is put in', () => {
    const bare = textOfStation('schemas/examples/one-vat.json');
    expect(edited({ reserveShare: 0.4 }, bare).plant.process.reserveShare).toBe(0.4);
  });

  test('what the rules of a station forbid is refused with the place, and nothing comes of it', () => {
    const done = editStation('marram.json', text, { batchL: 5_000 });
    expect(done.ok).toBe(false);
    expect(done.ok ? '' : done.words).toMatch(/marram\.json:\d+:\d+ .*batch/u);
  });

  test('a temperature for a station without one is refused, not invented', () => {
    const done = editStation('one.json', textOfStation('schemas/examples/one-vat.json'), {
      temperatureC: 25,
    });
    expect(done.ok).toBe(false);
  });
});
