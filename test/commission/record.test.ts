// Items, their digests, the record and the change that is proposed: plain functions of a station file's text.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { itemsOf } from '../../src/commission/items.ts';
import { changed, exchanged, unifiedDiff } from '../../src/commission/proposal.ts';
import {
  brokenAt,
  commissionedBy,
  type Entry,
  emptyRecord,
  standingsOf,
  type Verdict,
  waiverOf,
  withEntry,
} from '../../src/commission/record.ts';
import { message } from '../../src/language/message.ts';
import { loadStation } from '../../src/station/load.ts';

const RIG = 'test/stations/bench-rig.json';
const TEXT = readFileSync(RIG, 'utf8');
const itemsIn = (text: string) => {
  const loaded = loadStation('station.json', text);
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.errors));
  return itemsOf(loaded.plant, loaded.station);
};
const edited = (edit: (file: ReturnType<typeof JSON.parse>) => void): string => {
  const file = JSON.parse(TEXT);
  edit(file);
  return JSON.stringify(file);
};
const entry = (item: string, digest: string, verdict: Verdict = 'passed'): Entry => ({
  item,
  digest,
  who: 'Kim',
  wallMs: 1_790_000_000_000,
  stated: {},
  measured: { droppedAfterMs: 3_050 },
  verdict,
  words: message('commission-identified', { device: 'fill' }),
  change: [],
});
/** A record in which every item has passed. */
const whole = (text: string) =>
  itemsIn(text).reduce(
    (record, { key, digest }) => withEntry(record, entry(key, digest)),
    emptyRecord('bench-rig'),
  );
const staleAfter = (edit: (file: ReturnType<typeof JSON.parse>) => void) =>
  standingsOf(itemsIn(edited(edit)), whole(TEXT))
    .filter(({ standing }) => standing !== 'passed')
    .map(({ item, standing }) => `${item.key} ${standing}`);

describe('a changed entry makes just its own items not commissioned', () => {
  test('nothing changed: everything has passed', () => {
    expect(staleAfter(() => {})).toEqual([]);
  });

  test('a name, a note of colour, the order of keys: nothing rests on them', () => {
    expect(
      staleAfter((file) => {
        file.name = 'Another name';
        file.policy.starts.refill = 'person';
        file.actuators = Object.fromEntries(Object.entries(file.actuators).toReversed());
      }),
    ).toEqual([]);
  });

  // biome-ignore format: a table reads as a table
  test.each<[string, (file: ReturnType<typeof JSON.parse>) => void, readonly string[]]>([
    ['the lease of an output', (file) => { file.actuators.fill.lease.lasts = '2 s'; }, ['lease/fill stale']],
    ['its command', (file) => { file.actuators.fill.command.topic = 'rig/other/cmd'; }, ['identity/fill stale', 'lease/fill stale', 'power/fill stale', 'latency/fill stale']],
    ['a mark', (file) => { file.sensors['fresh-high'].mark = '10.1 L'; }, ['mark/fresh-high stale']],
    ['the words of a float', (file) => { file.sensors['fresh-high'].wet = 'wet'; }, ['contact/fresh-high stale', 'mark/fresh-high stale']],
    ['pulses a litre', (file) => { file.sensors['transfer-meter'].pulsesPerLitre = 451; }, ['meter/transfer stale']],
    ['the probe', (file) => { file.sensors['mixing-conductivity'].validFor = '5 min'; }, ['probe/mixing-conductivity stale', 'first-batch/mixing stale', 'first-delivery/supply stale']],
    ['a flow', (file) => { file.routes.drain.flow.most = '9 L/min'; }, ['meter/drain stale']],
  ])('%s', (_, edit, stale) => {
    expect(staleAfter(edit)).toEqual(stale);
  });

  test('a device that is new is never tried', () => {
    const added = staleAfter((file) => {
      file.sensors.second = { ...file.sensors['tray-leak'], tray: 'another tray', topic: 'rig/tray/second' };
    });
    expect(added).toEqual(['contact/second never-tried', 'period/second never-tried']);
  });
});

describe('the record', () => {
  test('nobody has tried anything: never tried, and not passed', () => {
    const standings = standingsOf(itemsIn(TEXT), emptyRecord('bench-rig'));
    expect(new Set(standings.map(({ standing }) => standing))).toEqual(new Set(['never-tried']));
    expect(standings.length).toBeGreaterThan(60);
  });

  test('the last entry about an item decides', () => {
    const items = itemsIn(TEXT);
    const [item] = items;
    if (item === undefined) throw new Error('no item');
    const record = withEntry(whole(TEXT), entry(item.key, item.digest, 'failed'));
    expect(standingsOf(items, record)[0]?.standing).toBe('failed');
    expect(standingsOf(items, withEntry(record, entry(item.key, item.digest)))[0]?.standing).toBe('passed');
  });

  test('an entry that was changed, cut out or moved is found by its place', () => {
    const record = whole(TEXT);
    const again = JSON.parse(JSON.stringify(record));
    expect(brokenAt(again)).toBeNull();
    const { entries } = record;
    expect(
      brokenAt({
        ...record,
        entries: entries.map((one, n) => (n === 3 ? { ...one, verdict: 'failed' } : one)),
      }),
    ).toBe(3);
    expect(
      brokenAt({ ...record, entries: entries.map((one, n) => (n === 3 ? { ...one, who: 'Nobody' } : one)) }),
    ).toBe(3);
    expect(brokenAt({ ...record, entries: entries.filter((_, n) => n !== 5) })).toBe(5);
    expect(brokenAt({ ...record, entries: [...entries.slice(1, 2), ...entries.slice(0, 1)] })).toBe(0);
    expect(brokenAt({ ...record, station: 'other' })).toBe(0);
  });
});

describe('a proposed change', () => {
  const mended = changed(TEXT, [
    { path: ['actuators', 'fill', 'lease', 'countedBy'], value: 'nobody' },
    { path: ['sensors', 'mixing-conductivity', 'temperatureFrom'], value: null },
    { path: ['sensors', 'mixing-conductivity', 'compensatedTo'], value: '25 degC' },
  ]);

  test('touches what it names and nothing else', () => {
    const file = JSON.parse(TEXT);
    file.actuators.fill.lease.countedBy = 'nobody';
    delete file.sensors['mixing-conductivity'].temperatureFrom;
    file.sensors['mixing-conductivity'].compensatedTo = '25 degC';
    expect(JSON.parse(mended)).toEqual(file);
  });

  test('is a difference that `patch` applies, byte for byte', () => {
    const folder = mkdtempSync(join(tmpdir(), 'vatwarden-diff-'));
    const file = join(folder, 'station.json');
    writeFileSync(file, TEXT);
    const diff = unifiedDiff('station.json', TEXT, mended);
    const { status, stderr, stdout } = spawnSync('patch', ['-p0', '--fuzz=0'], {
      cwd: folder,
      input: diff,
      encoding: 'utf8',
    });
    expect([status, stderr, stdout]).toEqual([0, '', 'patching file station.json\n']);
    expect(readFileSync(file, 'utf8')).toBe(mended);
    expect(unifiedDiff('station.json', TEXT, TEXT)).toBe('');
  });

  test('two entries that name their devices exchange the devices, and the rest stays', () => {
    const text = JSON.stringify({
      sensors: {
        a: { device: 'left', channel: '1', mark: '1 L' },
        b: { device: 'right', channel: '1', mark: '2 L' },
      },
    });
    expect(JSON.parse(changed(text, exchanged(text, 'sensors', ['a', 'b'], ['topic'])))).toEqual({
      sensors: {
        a: { device: 'right', channel: '1', mark: '1 L' },
        b: { device: 'left', channel: '1', mark: '2 L' },
      },
    });
  });
});

describe('a waiver', () => {
  const NOW = 1_790_000_000_000;
  const items = itemsIn(TEXT);
  const waiving = (record = emptyRecord('bench-rig')) =>
    withEntry(record, waiverOf('Kim', 'the isolator comes on Monday', NOW, 3_600_000));

  test('lasts as long as it was given for, and not a moment longer', () => {
    const at = (wallMs: number) => commissionedBy(items, waiving(), wallMs);
    expect(at(NOW)).toEqual({
      missing: items.length,
      waiver: { leftMs: 3_600_000, who: 'Kim', reason: 'the isolator comes on Monday' },
    });
    expect(at(NOW + 3_599_000).waiver?.leftMs).toBe(1_000);
    expect(at(NOW + 3_600_000).waiver).toBeNull();
  });

  test('a clock that stands before the day on which it was given makes it no longer', () => {
    expect(commissionedBy(items, waiving(), NOW - 86_400_000).waiver?.leftMs).toBe(3_600_000);
  });

  test('none given: not waived; a later one counts instead of an earlier one', () => {
    expect(commissionedBy(items, emptyRecord('bench-rig'), NOW)).toEqual({
      missing: items.length,
      waiver: null,
    });
    const twice = withEntry(waiving(), waiverOf('Ada', 'not today', NOW + 1_000, 1_000));
    expect(commissionedBy(items, twice, NOW + 1_500).waiver?.who).toBe('Ada');
    expect(commissionedBy(items, twice, NOW + 2_500).waiver).toBeNull();
  });

  test('everything passed: nothing is missing', () => {
    expect(commissionedBy(items, whole(TEXT), NOW)).toEqual({ missing: 0, waiver: null });
  });
});
