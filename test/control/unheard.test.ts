// Devices that report only changes and were there before the service: what is told, when, and what may run all the same.
import { describe, expect, test } from 'vitest';
import { MISSED_REPORTS, UNHEARD_MS } from '../../src/control/guard/limits.ts';
import type { Plant } from '../../src/station/plant.ts';
import { type Coupled, couple, plantAt } from '../tools/coupled.ts';
import { say } from '../tools/english.ts';

const DAY_MS = 86_400_000;
const AT = 'schemas/examples/marram-point.json';
const ALARM = 'A-40/unheard';
const HABIT = { republishesMs: null, maxAgeMs: DAY_MS };

/** What is chosen reports only changes, and is believed for a day. */
function quiet(plant: Plant, isChosen: (id: string) => boolean): Plant {
  const sensors = Object.entries(plant.sensors).map(([id, sensor]) => [
    id,
    isChosen(id) ? { ...sensor, ...HABIT } : sensor,
  ]);
  const actuators = Object.entries(plant.actuators).map(([id, actuator]) => [
    id,
    actuator.feedback !== null && isChosen(id)
      ? { ...actuator, feedback: { ...actuator.feedback, ...HABIT } }
      : actuator,
  ]);
  return { ...plant, sensors: Object.fromEntries(sensors), actuators: Object.fromEntries(actuators) };
}

/** The devices said what they had to say before the service came: it hears changes only. */
function afterTheDevices(plant: Plant): Coupled {
  const coupled = couple(plant);
  coupled.twin.inputs();
  return coupled;
}

const isActuator = (id: string): boolean => id in plantAt(AT).actuators;
const told = ({ log }: Coupled, alarm: RegExp): number[] =>
  log.flatMap(({ atMs, effect }) =>
    effect.do === 'alarm' && effect.state === 'unacknowledged' && alarm.test(effect.alarm) ? [atMs] : [],
  );

describe('what was never heard since the link came up', () => {
  test('is one alarm within minutes, that names it, what it blocks, and what to do', () => {
    const coupled = afterTheDevices(quiet(plantAt(AT), (id) => !isActuator(id)));
    coupled.run(UNHEARD_MS - 5_000);
    expect(told(coupled, /./u)).toEqual([]);
    coupled.run(15_000);
    expect(told(coupled, /^A-40/u)).toHaveLength(1);
    const alarm = coupled.state().alarms[ALARM];
    const [words, mend] = [say(alarm?.words), say(alarm?.response)];
    expect(words).toMatch(/from: .*Fresh vat, high float.*; .*Drain meter/u);
    expect(words).toMatch(/nothing can run$/u);
    expect(mend).toMatch(/breaker panel.*a float is still silent.*republishes/u);
    coupled.run(3_600_000);
    expect(told(coupled, /^I-1[23]/u)).toEqual([]);
    expect(told(coupled, /./u)).toHaveLength(1);
  });

  test('follows what is still missing, names only what it blocks, and ends with the last word', () => {
    const coupled = afterTheDevices(quiet(plantAt(AT), (id) => id === 'fresh-high' || id === 'system-low'));
    coupled.run(UNHEARD_MS + 10_000);
    const words = () => say(coupled.state().alarms[ALARM]?.words);
    expect(words()).toBe(
      'no report since the connection was made from: Fresh vat, high float; Sump, low float. Until they report, blocked: Refill; Drain',
    );
    const before = coupled.log.length;
    coupled.input({ type: 'reading', sensor: 'system-low', value: true, live: true });
    coupled.run(5_000);
    expect(words()).toMatch(/from: Fresh vat, high float\. Until they report, blocked: Refill$/u);
    expect(coupled.log.slice(before).filter(({ effect }) => effect.do === 'alarm')).toHaveLength(1);
    coupled.input({ type: 'reading', sensor: 'fresh-high', value: false, live: true });
    coupled.run(5_000);
    expect(coupled.state().alarms[ALARM]?.state).toBe('returned-unacknowledged');
  });

  test('is overdue sooner where it promised to report', () => {
    const plant = plantAt(AT);
    const coupled = couple(plant, { faults: ['silent:fresh-high@0'] });
    const promisedMs = MISSED_REPORTS * (plant.sensors['fresh-high']?.republishesMs ?? 0);
    expect(promisedMs).toBeLessThan(UNHEARD_MS);
    coupled.run(promisedMs + 10_000);
    expect(told(coupled, /^A-40/u)[0]).toBeLessThanOrEqual(promisedMs + 5_000);
    expect(say(coupled.state().alarms[ALARM]?.response)).not.toMatch(/only changes/u);
  });

  test('a value that the broker stored, and a word that it is offline, are no reports', () => {
    const coupled = afterTheDevices(quiet(plantAt(AT), (id) => id === 'fresh-high' || id === 'fresh-low'));
    coupled.input({ type: 'reading', sensor: 'fresh-high', value: false, live: false });
    coupled.input({ type: 'bad-reading', sensor: 'fresh-low', reason: 'offline' });
    coupled.run(UNHEARD_MS + 10_000);
    expect(say(coupled.state().alarms[ALARM]?.words)).toMatch(/high float; Fresh vat, low float/u);
    expect(told(coupled, /^I-12/u)).toEqual([]);
  });

  test('a silence that was told of goes on under its own name when the link comes up anew', () => {
    const coupled = couple(plantAt(AT), { faults: ['silent:fresh-high@1min'] });
    coupled.run(10 * 60_000);
    expect(coupled.state().alarms['I-12/fresh-high']?.active).toBe(true);
    coupled.setLink(false);
    coupled.run(60_000);
    coupled.setLink(true);
    coupled.run(10 * 60_000);
    expect(coupled.state().alarms['I-12/fresh-high']?.active).toBe(true);
    expect(told(coupled, /^A-40/u)).toEqual([]);
  });
});

describe('feedback that reports only changes', () => {
  test('does not keep a device from being used for ever: its lease has ended, and it reports once it is on', () => {
    const coupled = afterTheDevices(quiet(plantAt(AT), isActuator));
    coupled.run(3_600_000);
    expect(told(coupled, /^(?:A-40|I-12|I-23)/u)).toEqual([]);
    expect(coupled.twin.world.ledger.moved.transfer?.litres).toBeGreaterThan(100);
  });

  test('says nothing of a device before its own lease has ended', () => {
    const plant = quiet(plantAt(AT), isActuator);
    const coupled = afterTheDevices(plant);
    const leaseMs = plant.actuators['drain-pump']?.leaseMs ?? 0;
    coupled.run(leaseMs - 5_000);
    expect(coupled.state().devices['drain-pump']?.provenOff).toBe(false);
    coupled.run(10_000);
    expect(coupled.state().devices['drain-pump']?.provenOff).toBe(true);
  });

  test.each([
    ['that counts no lease', { countsLease: false }],
    ['that promised to report', { feedback: { ...plantAt(AT).actuators['drain-pump']?.feedback } }],
  ])('its silence proves nothing of a device %s', (_, change) => {
    const plant = quiet(plantAt(AT), isActuator);
    const pump = { ...plant.actuators['drain-pump'], ...change } as Plant['actuators'][string];
    const actuators = { ...plant.actuators, 'drain-pump': pump };
    const coupled = couple({ ...plant, actuators }, { faults: ['feedback-silent:drain-pump@0'] });
    coupled.run(UNHEARD_MS + 10_000);
    expect(coupled.state().devices['drain-pump']?.provenOff).toBe(false);
    expect(say(coupled.state().alarms[ALARM]?.words)).toMatch(
      /from: the feedback of Drain pump\. .*blocked: Drain$/u,
    );
  });

  test('that stays away when the device is switched on stops it, and is told', () => {
    const plant = quiet(plantAt(AT), isActuator);
    const coupled = couple(plant, { faults: ['feedback-silent:transfer-pump@0'] });
    coupled.run(UNHEARD_MS + 60_000);
    expect(told(coupled, /^A-40/u)).not.toEqual([]);
    expect(coupled.twin.relays.all['transfer-pump']?.starts).toBe(1);
  });

  test('a device that reported on and then nothing is not off because it is silent', () => {
    const plant = quiet(plantAt(AT), isActuator);
    const coupled = couple(plant, {
      faults: ['feedback-says:drain-pump=on@0', 'feedback-silent:drain-pump@10s'],
    });
    coupled.run(30 * 60_000);
    expect(coupled.state().devices['drain-pump']?.provenOff).toBe(false);
  });
});

describe('an empty message on a command topic', () => {
  test.each(['inlet-valve', 'transfer-pump', 'circulation-pump'])('commands nothing: %s', (actuator) => {
    const coupled = couple(plantAt(AT));
    coupled.run(3_600_000);
    const before = coupled.log.length;
    coupled.input({ type: 'empty-command', actuator });
    coupled.run(5_000);
    expect(coupled.log.slice(before).filter(({ effect }) => effect.do !== 'command')).toEqual([]);
    expect(coupled.state().trips).toEqual({});
  });

  test('where no feedback would tell, `off` is said again: some devices toggle on it', () => {
    const plant = plantAt(AT);
    const pump = {
      ...plant.actuators['drain-pump'],
      feedback: null,
      offProvenBy: 'lease',
    } as Plant['actuators'][string];
    const coupled = couple({ ...plant, actuators: { ...plant.actuators, 'drain-pump': pump } });
    coupled.run(3_600_000);
    const before = coupled.log.length;
    coupled.input({ type: 'empty-command', actuator: 'drain-pump' });
    coupled.run(10_000);
    const said = coupled.log.slice(before).flatMap(({ effect }) => (effect.do === 'command' ? [effect] : []));
    expect(said).toContainEqual({ do: 'command', actuator: 'drain-pump', on: false, leaseMs: 0 });
    expect(coupled.state().devices['drain-pump']?.provenOff).toBe(true);
  });
});
