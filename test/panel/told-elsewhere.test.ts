// What the page is told of a station, held against the sentences that are built into it.
import { expect, test } from 'vitest';
import { TOLD_ELSEWHERE } from '../../src/panel/page/vite.config.ts';
import { sinceOf } from '../../src/panel/since.ts';
import { standingOf } from '../../src/panel/standing.ts';
import { sectionsOf } from '../../src/panel/view.ts';
import { panelStation } from '../tools/panel-station.ts';

test('the page is told no sentence that is left out of it', () => {
  const { run, source } = panelStation({ faults: ['says:tray-leak=wet@15min'] });
  run(20 * 60_000);
  const told = JSON.stringify([standingOf(source, true), sectionsOf(source, sinceOf(source))]);
  const ids = [...told.matchAll(/"id":"([^"]+)"/gu)].map(([, id = '']) => id);
  expect(ids.length).toBeGreaterThan(200);
  expect(ids.filter((id) => TOLD_ELSEWHERE.some((prefix) => id.startsWith(prefix)))).toEqual([]);
});
