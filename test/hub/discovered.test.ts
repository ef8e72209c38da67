// What devices publish about themselves for hubs, read as entries; and what of it is left out, with the reason.
import { describe, expect, it } from 'vitest';
import { draftOf, type Heard } from '../../src/hub/draft.ts';

const heard = (topic: string, sample: unknown): Heard => ({
  topic,
  samples: [typeof sample === 'string' ? sample : JSON.stringify(sample)],
  live: 0,
  retained: true,
  longestGapMs: null,
});
const said = (component: string, id: string, config: unknown) =>
  heard(`homeassistant/${component}/${id}/config`, config);

describe('a discovery message', () => {
  it('makes a whole leak sensor, with the words and the topic that it has', () => {
    const config = {
      name: 'Tray',
      dev_cla: 'moisture',
      '~': 'z/tray',
      stat_t: '~',
      val_tpl: '{{ value_json.water_leak }}',
      pl_on: true,
      pl_off: false,
      avty_t: '~/availability',
    };
    const { sensors, remarks } = draftOf([
      said('binary_sensor', 'tray', config),
      heard('z/tray', { water_leak: true, battery: 88 }),
    ]);
    expect(sensors).toEqual({
      tray: {
        name: 'Tray',
        measures: 'leak',
        tray: 'which tray',
        topic: 'z/tray',
        at: '/water_leak',
        wet: true,
        dry: false,
        availability: { topic: 'z/tray/availability', online: 'online', offline: 'offline' },
      },
    });
    expect(remarks).toEqual([]);
  });

  it('makes an actuator of what it calls a pump, a valve or a heater, with a lease that nobody counts', () => {
    const config = {
      name: 'Supply pump',
      cmd_t: 'cmnd/s/POWER1',
      stat_t: 'tele/s/STATE',
      val_tpl: "{{ value_json['POWER1'] }}",
    };
    expect(draftOf([said('switch', 's', config)]).actuators).toEqual({
      s: {
        name: 'Supply pump',
        kind: 'pump',
        command: { topic: 'cmnd/s/POWER1', on: 'ON', off: 'OFF' },
        lease: { lasts: '30 s', countedBy: 'nobody' },
        feedback: { topic: 'tele/s/STATE', at: '/POWER1', on: 'ON', off: 'OFF' },
      },
    });
  });

  it('makes a probe with the unit that it says, and no compensation that it does not say', () => {
    const config = { stat_t: 'p/ec', unit_of_meas: 'µS/cm' };
    expect(draftOf([said('sensor', 'ec', config)]).sensors.ec).toEqual({
      name: 'ec',
      topic: 'p/ec',
      measures: 'conductivity',
      vessel: 'which-vessel',
      unit: 'uS/cm',
    });
    expect(Object.values(draftOf([heard('p/conductivity', '350')]).sensors)[0]).not.toHaveProperty(
      'compensatedTo',
    );
  });

  it.each<readonly [string, Heard, string]>([
    [
      'a battery',
      said('sensor', 'b', { stat_t: 'x', dev_cla: 'battery', unit_of_meas: '%' }),
      'about the device itself',
    ],
    [
      "a chip's temperature",
      said('sensor', 'c', { stat_t: 'x', unit_of_meas: '°C', ent_cat: 'diagnostic' }),
      'about the device itself',
    ],
    ['no JSON', said('sensor', 'd', '{"stat_t":'), 'no message that can be read'],
    ['a list', said('sensor', 'd', [1]), 'no message that can be read'],
    [
      'a template that reckons',
      said('sensor', 'e', { stat_t: 'x', unit_of_meas: '°C', val_tpl: '{{ value_json.t | float * 2 }}' }),
      'more than where the value is',
    ],
    [
      'one word for both',
      said('binary_sensor', 'f', { stat_t: 'x', dev_cla: 'moisture', pl_on: 'A', pl_off: 'A' }),
      'without words',
    ],
    [
      'a switch of something',
      said('switch', 'g', { stat_t: 'x', cmd_t: 'y', name: 'Lamp' }),
      'not said of what',
    ],
    ['a wildcard', said('sensor', 'h', { stat_t: 'x/#', unit_of_meas: '°C' }), 'without a topic'],
  ])('about %s is listed and left out', (_, one, words) => {
    const { sensors, actuators, remarks } = draftOf([one]);
    expect([sensors, actuators]).toEqual([{}, {}]);
    expect(remarks.join()).toContain(words);
  });

  it('that contradicts another about the same leaves both out', () => {
    const of = (prefix: string, topic: string) =>
      heard(`${prefix}/sensor/t/config`, { stat_t: topic, unit_of_meas: '°C' });
    const { sensors, remarks } = draftOf([of('a', 'x'), of('b', 'y')]);
    expect(sensors).toEqual({});
    expect(remarks.join()).toContain('says otherwise');
  });

  it('a flag of a battery is no low float, and the temperature of a chip no water', () => {
    const { sensors } = draftOf([
      heard('z/float', { battery_low: true }),
      heard('board/chip', { temperature: 51 }),
    ]);
    expect(sensors).toEqual({});
  });
});
