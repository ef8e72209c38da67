// What general-purpose devices and bridges say, and what is made of it: lists of words, limits, parts of a payload, stamps,
// faults beside the value, several availabilities, questions on a command topic.
import { describe, expect, it } from 'vitest';
import { codecOf } from '../../src/bridge/codec.ts';
import { take } from '../../src/control/guard/evidence.ts';
import { initial } from '../../src/control/process/initial.ts';
import type { StationFile } from '../../src/station/file/station.ts';
import { errorsOf, least, plantFrom, spoilt } from '../station/stations.ts';

const NOW = Date.parse('2026-11-29T10:00:00Z');
const LEAK = {
  measures: 'leak',
  tray: 'the tray',
  topic: 'z/leak',
  at: '/water_leak',
  wet: true,
  dry: false,
  republishes: '20 s',
};

function heardBy(station: unknown, wallMs: number | null = NOW) {
  expect(errorsOf(station)).toEqual([]);
  const plant = plantFrom(station as StationFile);
  const codec = codecOf(plant, () => wallMs);
  const read = (topic: string, payload: unknown, retain = false) =>
    codec.read(
      topic,
      new TextEncoder().encode(typeof payload === 'string' ? payload : JSON.stringify(payload)),
      retain,
    );
  return { plant, read };
}
const withLeak = (more: object) => spoilt(least(), '/sensors/tray', { ...LEAK, ...more });
const wet = { type: 'reading', sensor: 'tray', value: true, live: true };
const bad = (reason: string) => ({ type: 'bad-reading', sensor: 'tray', reason });

describe('a reading', () => {
  it('is said by any word of its list, and by no other', () => {
    const { read } = heardBy(withLeak({ wet: ['wet', 'WET', 1], dry: ['dry', 0] }));
    for (const word of ['wet', 'WET', 1]) expect(read('z/leak', { water_leak: word })).toEqual([wet]);
    expect(read('z/leak', { water_leak: 0 })).toEqual([{ ...wet, value: false }]);
    expect(read('z/leak', { water_leak: 'Wet' })).toEqual([bad('unparsable')]);
  });

  it('that a message lacks is no news where the file says so, and bad otherwise', () => {
    const partly = heardBy(withLeak({ mayLack: true }));
    expect(partly.read('z/leak', { battery: 80 })).toEqual([]);
    expect(partly.read('z/leak', { water_leak: null })).toEqual([bad('empty')]);
    for (const text of ['', 'x', '[']) expect(partly.read('z/leak', text)).toHaveLength(1);
    expect(heardBy(withLeak({})).read('z/leak', { battery: 80 })).toEqual([bad('unparsable')]);
  });

  it('is faulty while the device tells of a fault beside it', () => {
    const { read } = heardBy(withLeak({ faultAt: '/errors' }));
    expect(read('z/leak', { water_leak: false, errors: ['cable_unplugged'] })).toEqual([bad('sentinel')]);
    for (const errors of [[], null, false, '', undefined])
      expect(read('z/leak', { water_leak: true, errors })).toEqual([wet]);
  });
});

describe('a stamp', () => {
  const stamped = (format: string) => withLeak({ stamp: { at: '/last_seen', format } });
  const said = (last_seen: unknown) => ({ water_leak: true, last_seen });

  it.each([
    ['ISO 8601', '2026-11-29T10:59:50+01:00', 10_000],
    ['ISO 8601', '2026-11-29T10:00:20Z', 0],
    ['epoch s', NOW / 1000 - 5, 5000],
    ['epoch ms', String(NOW - 5), 5],
  ])('%s %s makes a value as old as it says', (format, at, ageMs) => {
    expect(heardBy(stamped(format)).read('z/leak', said(at))).toEqual([{ ...wet, ageMs }]);
  });

  it('makes a cached value history, and a value without a stamp, or from the future, bad', () => {
    const { read } = heardBy(stamped('ISO 8601'));
    expect(read('z/leak', said('2026-11-29T07:00:00Z'))).toEqual([{ ...wet, live: false }]);
    expect(read('z/leak', said('2026-11-29T10:02:00Z'))).toEqual([bad('unparsable')]);
    for (const at of [null, 'yesterday', 17, undefined])
      expect(read('z/leak', said(at))).toEqual([bad('unparsable')]);
  });

  it('is worth nothing while the time of day is not trusted: then the value is history', () => {
    const { read } = heardBy(stamped('ISO 8601'), null);
    expect(read('z/leak', said('2026-11-29T10:00:00Z'))).toEqual([{ ...wet, live: false }]);
  });

  it('counts in the evidence: the reading is as old as its stamp', () => {
    const { plant, read } = heardBy(stamped('ISO 8601'));
    const state = structuredClone(initial(plant));
    for (const input of read('z/leak', said('2026-11-29T09:59:50Z'))) take(plant, state, input);
    expect(state.sensors.tray).toMatchObject({ live: true, ageMs: 10_000 });
  });
});

describe('several availabilities', () => {
  const bridge = { topic: 'z/bridge', at: '/state', online: 'online', offline: 'offline' };
  const own = { topic: 'z/leak/available', online: 'online', offline: 'offline' };

  it('must all say online', () => {
    const { read } = heardBy(withLeak({ availability: [bridge, own] }));
    expect(read('z/bridge', { state: 'offline' })).toEqual([bad('offline')]);
    expect(read('z/leak/available', 'offline')).toEqual([bad('offline')]);
    // A will that sticks while the device goes on speaking is survived.
    expect(read('z/leak', { water_leak: true })).toEqual([wet]);
  });

  it('that hold let no value count until each of them says online again', () => {
    const { read } = heardBy(
      withLeak({
        availability: [
          { ...bridge, holds: true },
          { ...own, holds: true },
        ],
      }),
    );
    expect(read('z/leak', { water_leak: true })).toEqual([wet]);
    read('z/bridge', { state: 'offline' });
    read('z/leak/available', 'offline');
    expect(read('z/leak', { water_leak: false })).toEqual([bad('offline')]);
    read('z/bridge', { state: 'online' });
    expect(read('z/leak', { water_leak: false })).toEqual([bad('offline')]);
    read('z/leak/available', 'online');
    expect(read('z/leak', { water_leak: true })).toEqual([wet]);
  });
});

describe('the power that a pump draws', () => {
  const metered = spoilt(least(), '/actuators/supply-pump/feedback', {
    topic: 'p/status',
    at: '/apower',
    on: { above: 8 },
    off: { below: 2 },
    republishes: '10 s',
  });
  const fed = (on: boolean) => [{ type: 'feedback', actuator: 'supply-pump', on, live: true }];

  it('proves that it runs, and that a welded relay feeds it though it was told off', () => {
    const { read } = heardBy(metered);
    expect(read('p/status', { apower: 41.5 })).toEqual(fed(true));
    expect(read('p/status', { apower: 0 })).toEqual(fed(false));
    for (const apower of [2, 5, 8, 'nan', null]) {
      expect(read('p/status', { apower })).toMatchObject([{ type: 'bad-feedback', actuator: 'supply-pump' }]);
    }
  });
});

describe('on a command topic', () => {
  const board = (relay: number) => ({
    topic: 'board/rpc',
    on: { method: 'set', params: { id: relay, on: true, toggle_after: '$leaseWholeS' } },
    off: { method: 'set', params: { id: relay, on: false } },
  });
  const shared = ['supply-pump', 'drain-pump'].reduce<unknown>(
    (station, id, relay) => spoilt(station, `/actuators/${id}/command`, board(relay)),
    least(),
  );

  it('a payload that was called harmless switches nothing; any other that is not known may', () => {
    const harmless = spoilt(least(), '/actuators/supply-pump/command', {
      topic: 'p/command',
      on: 'on,$leaseS',
      off: 'off',
      harmless: ['status_update'],
    });
    const { read } = heardBy(harmless);
    expect(read('p/command', 'status_update')).toEqual([]);
    expect(read('p/command', 'toggle')).toMatchObject([{ type: 'foreign-command', on: null }]);
    expect(read('p/command', '')).toEqual([{ type: 'empty-command', actuator: 'supply-pump' }]);
  });

  it('relays of one board are told apart by the payload', () => {
    const { read } = heardBy(shared);
    expect(read('board/rpc', { method: 'set', params: { id: 1, on: true } })).toEqual([
      { type: 'foreign-command', actuator: 'drain-pump', on: true, retained: false },
    ]);
  });
});

it('a lease that a restart begins anew counts twice in what may run on, and once on the wire', () => {
  const station = spoilt(least(), '/actuators/supply-pump/lease/restartsInFull', true);
  const before = plantFrom(least());
  const after = plantFrom(station as StationFile);
  expect(after.routes.supply?.leaseMs).toBe(2 * (before.routes.supply?.leaseMs ?? 0));
  expect(after.actuators['supply-pump']?.leaseMs).toBe(before.actuators['supply-pump']?.leaseMs);
});

it('a counter that counts in tenths of a litre has a scale', () => {
  const total = {
    measures: 'total',
    route: 'supply',
    unit: 'L',
    scale: 0.1,
    topic: 'm/total',
    republishes: '10 s',
  };
  const { read } = heardBy(spoilt(least(), '/sensors/supply-total', total));
  expect(read('m/total', '125')).toMatchObject([{ type: 'reading', value: 12.5 }]);
});
