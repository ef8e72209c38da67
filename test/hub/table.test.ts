import { describe, expect, it } from 'vitest';
import { deviceOf } from '../../src/hub/model.ts';
import type { Part } from '../../src/hub/row.ts';
import { TABLE } from '../../src/hub/table.ts';
import { stateTopic } from '../../src/hub/view.ts';
import { device, EXAMPLES, loaded, plantOf, stationFile } from './stations.ts';

describe('topics and ids', () => {
  it.each(['a/b', 'a+', '#', '$homie', ''])('T1: a domain of %j is refused with the mend', (domain) => {
    expect(() => deviceOf(plantOf('one-vat'), { homie: { domain } })).toThrow('one level of a topic');
  });

  it('T1: the tree is the domain, then 5, then the station; the domain is homie where nothing is said', () => {
    expect(device('one-vat').root).toBe('homie/5/marram-nursery');
    expect(device('one-vat', { homie: { domain: 'water' } }).root).toBe('water/5/marram-nursery');
  });

  it('T1: the station file refuses a domain of two levels', () => {
    const station = { ...stationFile('one-vat'), announce: { homie: { domain: 'a/b' } } };
    expect(() => loaded(station)).toThrow('/announce/homie/domain');
  });

  it.each(EXAMPLES)('T2, T3: every id of %s is of a-z, 0-9 and hyphens, and none begins with a $', (name) => {
    const { id, nodes, properties } = device(name);
    const ids = [id, ...nodes.map((node) => node.id), ...properties.map((property) => property.id)];
    expect(ids.filter((one) => !/^[a-z0-9-]+$/u.test(one))).toEqual([]);
  });

  const part = (over: Partial<Part>): Part => ({
    kind: 'station',
    words: '',
    over: () => [{ id: 'x', name: 'X' }],
    node: () => 'x',
    rows: [],
    ...over,
  });
  const row = (id: string) => ({ id, name: id, datatype: 'string' as const, words: '', value: () => '' });

  it.each(['under_score', 'Upper', '$own', '', 'a b'])(
    'T2, T3: a table with the node id %j is refused',
    (id) => {
      expect(() => deviceOf(plantOf('one-vat'), {}, [part({ node: () => id })])).toThrow(
        "can't be carried by Homie",
      );
    },
  );

  it('T4: two nodes, or two properties of one node, with the same id are refused', () => {
    expect(() => deviceOf(plantOf('one-vat'), {}, [part({}), part({})])).toThrow("id 'x'");
    const twice = part({ rows: [row('a'), row('a')] });
    expect(() => deviceOf(plantOf('one-vat'), {}, [twice])).toThrow("id 'a'");
    expect(() => deviceOf(plantOf('one-vat'), {}, [part({ rows: [row('a'), row('b')] })])).not.toThrow();
  });

  it('T5: every topic of the Marram Point station is on the list', async () => {
    const { root, properties, ...whole } = device('marram-point');
    const topics = [
      stateTopic({ root, properties, ...whole }),
      `${root}/$description`,
      `${root}/$log/<level>`,
      `${root}/$alert/<id>`,
      ...properties.flatMap(({ topic, setTopic, targetTopic }) => [topic, setTopic, targetTopic]),
    ].filter((topic) => topic !== null);
    await expect(`${topics.join('\n')}\n`).toMatchFileSnapshot('topics.golden.txt');
  });

  it.each(EXAMPLES)(
    'T6: below a property of %s there is only set and $target, below a node nothing with a $',
    (name) => {
      const { root, properties } = device(name);
      for (const { node, id, topic, setTopic, targetTopic } of properties) {
        expect(topic).toBe(`${root}/${node}/${id}`);
        expect([null, `${topic}/set`]).toContain(setTopic);
        expect([null, `${topic}/$target`]).toContain(targetTopic);
      }
    },
  );
});

describe('what a hub may ask', () => {
  const settable = TABLE.flatMap(({ kind, rows }) =>
    rows.filter(({ ask }) => ask !== undefined).map(({ id }) => `${kind}/${id}`),
  );

  it('is start, hold, restart, an exchange, salt, an acknowledgement, upkeep that was done and who comes, and nothing else', () => {
    expect(settable.toSorted()).toEqual([
      'alarms/acknowledge',
      'alarms/on-my-way',
      'batch/ask',
      'batch/held',
      'exchange/ask',
      'exchange/held',
      'refill/ask',
      'refill/held',
      'system/exchange-now',
      'task/salt-added',
      'task/salt-as-asked',
      'task/upkeep-done',
      'vessel/salinity-measured',
    ]);
  });

  it.each(EXAMPLES)('names no actuator, sensor or interlock of %s in any request', (name) => {
    const plant = plantOf(name);
    const devices = [...Object.keys(plant.actuators), ...Object.keys(plant.sensors)];
    for (const { row, subject, datatype, format } of device(name).properties) {
      const values = datatype === 'enum' ? (format ?? '').split(',') : ['true', 'false', '1', 'all'];
      for (const value of values) {
        const body = row.ask?.(value, subject, null);
        if (body === undefined || typeof body === 'string') continue;
        expect([
          'start',
          'hold',
          'restart',
          'exchange-now',
          'salt-added',
          'salinity-measured',
          'acknowledge',
          'upkeep-done',
          'on-my-way',
        ]).toContain(body.request);
        expect(Object.values(body).filter((word) => devices.includes(String(word)))).toEqual([]);
      }
    }
  });

  it('C8: what is momentary is settable and not retained, what is a mode is settable and retained with a target', () => {
    const kinds = TABLE.flatMap(({ rows }) => rows).map(({ value, ask, target }) => ({
      retained: value !== undefined,
      settable: ask !== undefined,
      target: target !== undefined,
    }));
    expect(kinds.filter(({ retained, settable }) => !retained && !settable)).toEqual([]);
    expect(kinds.filter(({ settable, retained, target }) => settable && retained !== target)).toEqual([]);
    expect(kinds.filter(({ settable, target }) => target && !settable)).toEqual([]);
  });
});

it.each(EXAMPLES)('Vessels, routes, heaters, phases, alarms and exchanges of %s are all nodes', (name) => {
  const plant = plantOf(name);
  const ids = device(name).nodes.map(({ id }) => id);
  const expected = [
    ...['station', 'alarms', 'task', 'batch', 'exchange'],
    ...(plant.process.refill === null ? [] : ['refill']),
    ...Object.values(plant.vessels).flatMap(({ id, capacityL }) =>
      Number.isFinite(capacityL) ? [`vessel-${id}`] : [],
    ),
    ...Object.keys(plant.routes).map((id) => `route-${id}`),
    ...Object.keys(plant.heaters).map((id) => `heater-${id}`),
    ...Object.keys(plant.process.exchange).map((id) => `system-${id}`),
  ];
  expect(ids.toSorted()).toEqual(expected.toSorted());
});
