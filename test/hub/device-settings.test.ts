// What goes into the devices, with the leases of the station filled in.
import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { parse } from 'yaml';
import { deviceSettings, pulseTimeOf, settingsLines } from '../../src/hub/device-settings.ts';
import { loadStation } from '../../src/station/load.ts';
import { benchFile } from '../families/bench.ts';

const loaded = loadStation('bench', JSON.stringify(benchFile((file) => file)));
if (!loaded.ok) throw new Error('the bench has a slip');
const all = Object.fromEntries(deviceSettings(loaded.plant, loaded.station).map((one) => [one.device, one]));

it('PulseTime is never shorter than the lease, and no more than a step longer', () => {
  // Tasmota docs, Commands.md: 1 to 111 are tenths of a second, 112 to 64900 are seconds + 100.
  const secondsOf = (set: number) => (set <= 111 ? set / 10 : set - 100);
  for (const leaseS of [0.5, 1, 2.55, 3, 11.1, 11.2, 12, 30, 60, 90.5, 600]) {
    const counted = secondsOf(pulseTimeOf(leaseS));
    expect(counted).toBeGreaterThanOrEqual(leaseS);
    expect(counted).toBeLessThan(leaseS + 1);
  }
});

it('tasmota: both relays, all floats detached from them, and what it answers', () => {
  const { valves } = all;
  const text = valves?.lines.join('\n') ?? '';
  for (const part of [
    'PulseTime1 30;',
    'PulseTime2 30;',
    'PowerOnState 0',
    'SwitchMode6 15',
    'Power2#Boot DO Power2 0',
  ])
    expect(text).toContain(part);
  expect(valves?.answers).toContainEqual({
    topic: 'cmnd/valves/PulseTime1',
    payload: '',
    answeredOn: 'stat/valves/RESULT',
    at: '/PulseTime1/Set',
    is: 30,
  });
  expect(valves?.remarks.join()).toContain('master: switch it on once');
});

it('shelly: each parameter is JSON, the floor lies above the lease, a meter counts and a contact does not', () => {
  const calls = all.pumps?.lines.map((line) => /^([A-Za-z]+\.[A-Za-z]+)(?: (.*))?$/u.exec(line));
  expect(calls?.every((call) => call !== null)).toBe(true);
  const config = (method: string) =>
    (calls ?? []).flatMap((call) => (call?.[1] === method ? [JSON.parse(call[2] ?? 'null')] : []));
  expect(
    config('Switch.SetConfig').map(({ id, config: { auto_off_delay } }) => [id, auto_off_delay]),
  ).toEqual([
    [0, 5],
    [1, 5],
  ]);
  expect(config('Input.SetConfig').map(({ config: { type } }) => type)).toEqual(['count', 'count']);
});

it('esphome: YAML with a lease for each relay that no longer time passes', () => {
  const text = all.board?.lines.join('\n') ?? '';
  // What follows !lambda is code of the device's own.
  const board = parse(text, { logLevel: 'silent' });
  expect(board.script.map(({ id, mode }: { id: string; mode: string }) => [id, mode])).toEqual([
    ['lease_circulation', 'restart'],
    ['lease_heater', 'restart'],
  ]);
  expect(board.mqtt.on_message.map(({ topic }: { topic: string }) => topic)).toEqual([
    'vat-board/circulation/lease',
    'vat-board/heater/lease',
  ]);
  expect(text).toContain('atoi(x.c_str()) <= 3;');
  expect(
    board.switch.every(({ restore_mode }: { restore_mode: string }) => restore_mode === 'ALWAYS_OFF'),
  ).toBe(true);
});

it('zigbee2mqtt: nobody believes that a plug counts before it was tried', () => {
  expect(all.plug?.remarks.join()).toMatch(/take the time; only where it was off after 3 s/);
  expect(all.plug?.lines).toContain('device_options: {optimistic: false}');
});

it('plain: the payloads and the time that the device counts; without devices it says so', () => {
  const rig = loadStation('rig', readFileSync('test/stations/bench-rig-devices.json', 'utf8'));
  const [board] = rig.ok ? deviceSettings(rig.plant, rig.station) : [];
  expect(board?.lines).toContain(
    'circulate: off by itself 4 s after the last "on", and off after every restart',
  );
  expect(board?.lines.join('\n')).not.toContain('master: off by itself');
  expect(settingsLines([])).toHaveLength(1);
});
