// A hand-over page with an item of each standing, and with texts that would like to be tags.
import { readFileSync } from 'node:fs';
import { itemsOf } from '../../src/commission/items.ts';
import { handOverPage } from '../../src/commission/page.ts';
import { emptyRecord, standingsOf, waiverOf, withEntry } from '../../src/commission/record.ts';
import { message } from '../../src/language/message.ts';
import { loadStation } from '../../src/station/load.ts';

const NOW = Date.UTC(2026, 10, 30);
const loaded = loadStation('station.json', readFileSync('test/stations/bench-rig.json', 'utf8'));
if (!loaded.ok) throw new Error('the rig has a mistake');
const { plant, station } = loaded;
export const items = itemsOf(plant, station);
const digestOf = (key: string) => items.find((item) => item.key === key)?.digest ?? '';
const entry = {
  who: 'Kim <b>',
  wallMs: NOW,
  stated: { ready: '', filled: '1.34' },
  measured: {},
  change: [],
};
const record = [
  {
    ...entry,
    item: 'identity/fill',
    digest: digestOf('identity/fill'),
    verdict: 'passed' as const,
    words: message('commission-identified', { device: 'fill' }),
  },
  {
    ...entry,
    item: 'lease/fill',
    digest: 'of another day',
    verdict: 'passed' as const,
    words: message('commission-identified', { device: 'fill' }),
  },
  {
    ...entry,
    item: 'power/fill',
    digest: digestOf('power/fill'),
    verdict: 'failed' as const,
    words: message('commission-power-restores-on', { device: 'fill' }),
  },
  waiverOf('Ada', 'until "Monday" & <i>', NOW, 86_400_000),
].reduce(withEntry, emptyRecord('bench-rig'));
export const html = handOverPage(plant, standingsOf(items, record), record, NOW);
