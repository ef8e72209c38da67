import { expect, it } from 'vitest';
import { assumedLines } from '../../src/station/assumed.ts';
import { readStationFile } from '../../src/station/file/station.ts';
import { least, load, spoilt } from './stations.ts';

function assumed(station: unknown) {
  const loaded = load(station);
  if (!loaded.ok) throw new Error('not a station');
  return readStationFile(loaded.station).assumed;
}

it('A value that was assumed is said with its unit, and with the key that states it', () => {
  const values = new Map(assumed(least()).map(({ at, value }) => [at, value]));
  expect(values.get('/vessels/fresh/margin')).toBe('3 L');
  expect(values.get('/routes/transfer/flow/usual')).toBe('5 L/min');
  expect(values.get('/actuators/circulation-pump/feedback/within')).toBe('3 s');
  expect(values.get('/process/batch/steady')).toBe('within 0.25 PSU, over 5 min');
  expect(values.get('/process/refill/longestRun')).toBe('25 h');
  expect(values.get('/policy/starts/batch')).toBe('person');
});

it('What the file states is not among them, and what it takes out again is', () => {
  const at = '/vessels/fresh/margin';
  const stated = spoilt(least(), at, '4 L');
  expect(assumed(stated).some((one) => one.at === at)).toBe(false);
  expect(assumed(spoilt(stated, at, undefined)).some((one) => one.at === at)).toBe(true);
});

it('On a page there is one line for each value, with all that have it', () => {
  const lines = assumedLines(assumed(least()));
  const priming = lines.filter((line) => line.startsWith('/routes/ID/priming'));
  expect(priming).toHaveLength(1);
  expect(priming[0]).toMatch(/5 s +\(.*transfer.*supply/u);
});
