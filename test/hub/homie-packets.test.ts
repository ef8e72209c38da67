// The Homie side packet by packet, over a broker that writes down what it sees.
import { describe, expect, it } from 'vitest';
import type { Bridge } from '../../src/bridge/bridge.ts';
import type { State } from '../../src/control/process/state.ts';
import { filtersOf } from '../../src/hub/life.ts';
import { deviceOf } from '../../src/hub/model.ts';
import { device as ear, pause, until } from '../bridge/rig.ts';
import { openedThings } from '../tools/opened.ts';
import { type HubSide, type SpyBroker, spyBroker, startHubSide, startStation } from './rig.ts';
import { plantOf, shownOf } from './stations.ts';

/** Nothing starts by itself: a station without devices would only hold it again. */
const nursery = plantOf('one-vat');
const plant = {
  ...nursery,
  policy: { ...nursery.policy, starts: { refill: 'person', batch: 'person', exchange: 'person' } },
} as const;
const homie = deviceOf(plant);
const STATE = `${homie.root}/$state`;
const OWN = `vatwarden/${plant.id}`;

const { keep, afterwards } = openedThings();
const station = (port: number, version: 4 | 5): Bridge<State> => {
  const bridge = startStation(plant, port, version);
  afterwards(() => bridge.stop(0));
  return bridge;
};

describe('packet by packet', () => {
  const begin = async (options = {}, hub = {}): Promise<{ broker: SpyBroker; side: HubSide }> => {
    const broker = keep(await spyBroker(options));
    station(broker.port, 4);
    const side = keep(startHubSide(plant, broker.port, 4, hub));
    return { broker, side };
  };
  const mine = ({ seen }: SpyBroker) => seen.filter(({ client }) => client.endsWith('-homie'));
  const states = (broker: SpyBroker) =>
    mine(broker).flatMap(({ topic, payload }) => (topic === STATE ? [payload] : []));

  it('S1: the will of the connection is lost on the state of the root device, stored', async () => {
    const { broker, side } = await begin();
    await until(side.isReady, 'ready');
    expect(mine(broker).find(({ cmd }) => cmd === 'connect')?.will).toMatchObject({
      topic: STATE,
      payload: 'lost',
      retain: true,
      qos: 2,
    });
  });

  it('S2, S3: init, description, values, the subscriptions granted, then ready', async () => {
    const { broker, side } = await begin();
    await until(side.isReady, 'ready');
    const all = mine(broker);
    const words = all.map(({ cmd, topic, payload, filters }) => {
      if (topic === STATE) return payload;
      if (cmd === 'granted') return filters?.some((filter) => filter.endsWith('/set')) ? 'sets' : 'own';
      return topic?.endsWith('/$description') ? 'description' : topic?.startsWith(homie.root) ? 'value' : cmd;
    });
    expect(words.slice(0, 4)).toEqual(['connect', 'init', 'description', 'own']);
    const last = words.indexOf('ready');
    expect(words.lastIndexOf('value', last)).toBeLessThan(words.indexOf('sets'));
    expect(words.indexOf('sets')).toBeLessThan(last);
    expect(words.slice(0, last)).not.toContain('ready');
  });

  it('S2: ready waits for a broker that is slow to grant the subscriptions', async () => {
    const { broker, side } = await begin({ grantAfterMs: 200 });
    await until(() => states(broker).filter((state) => state === 'init').length === 2, 'the second init');
    await pause(150);
    expect(states(broker)).not.toContain('ready');
    await until(side.isReady, 'ready');
    expect(states(broker).at(-1)).toBe('ready');
  });

  it('S2: it never calls itself ready where the broker refuses one of its subscriptions, and does not hammer', async () => {
    const { broker, side } = await begin({ refuses: (filter: string) => filter.endsWith('/batch/ask/set') });
    await until(() => side.lines.some(({ event }) => event === 'homie-trouble'), 'the trouble is told');
    await pause(1000);
    expect(states(broker)).not.toContain('ready');
    expect(side.lines.find(({ event }) => event === 'homie-trouble')?.fields.words).toContain(
      '/batch/ask/set',
    );
    expect(mine(broker).filter(({ cmd }) => cmd === 'connect').length).toBeLessThan(4);
  });

  it("C1: it subscribes to the set topics of the settable properties and, beyond the station's own words, to nothing", async () => {
    const { broker, side } = await begin();
    await until(side.isReady, 'ready');
    const filters = mine(broker).flatMap((packet) =>
      packet.cmd === 'granted' ? (packet.filters ?? []) : [],
    );
    const own = ['status', 'answer', 'online', 'record'].map((topic) => `${OWN}/${topic}`);
    expect(filters.toSorted()).toEqual([...own, ...filtersOf(homie)].toSorted());
  });

  it('Q2, Q3, Q5: what is stored has one QoS, what is momentary has 0 and is not stored', async () => {
    const { broker, side } = await begin({}, { announce: { homie: { log: 'info' } } });
    await until(side.isReady, 'ready');
    const hand = keep(await ear(broker.port, 4, [`${OWN}/answer`]));
    hand.client.publish(`${homie.root}/batch/ask/set`, 'start', { qos: 0 });
    const ask = `${homie.root}/batch/ask`;
    await until(() => mine(broker).some(({ topic }) => topic === ask), 'the accepted moment');
    hand.client.publish(`${homie.root}/batch/ask/set`, 'nonsense', { qos: 0 });
    await until(() => mine(broker).some(({ topic }) => topic?.includes('/$log/warn')), 'a line of the log');
    const tree = mine(broker).filter(({ cmd, topic }) => cmd === 'publish' && topic?.startsWith(homie.root));
    const kinds = new Set(tree.map(({ qos, retain }) => `${retain ? 'stored' : 'momentary'} ${qos}`));
    expect(kinds).toEqual(new Set(['stored 2', 'momentary 0']));
    expect(
      tree.filter(({ retain }) => !retain).every(({ topic }) => topic === ask || topic?.includes('/$log/')),
    ).toBe(true);
    expect(tree.filter(({ topic, retain }) => topic?.includes('/$log/') && retain)).toEqual([]);
  });

  it('S4: leaving it says disconnected by its own hand, and lost is not said after that', async () => {
    const { broker, side } = await begin();
    const listener = keep(await ear(broker.port, 4, [STATE]));
    await until(side.isReady, 'ready');
    await side.close();
    await until(() => mine(broker).some(({ cmd }) => cmd === 'disconnect'), 'the goodbye');
    await pause(200);
    expect(states(broker).at(-1)).toBe('disconnected');
    expect(listener.texts(STATE).at(-1)).toBe('disconnected');
    expect(listener.texts(STATE)).not.toContain('lost');
  });

  it('S4: leaving in the middle of arriving never ends in ready', async () => {
    const { broker, side } = await begin({ grantAfterMs: 5 });
    await until(() => states(broker).length > 0, 'the first state');
    await side.close();
    expect(states(broker).at(-1)).toBe('disconnected');
  });

  it('S5, S6: in a life with a station that comes and goes, only init, ready and disconnected are said', async () => {
    const broker = keep(await spyBroker());
    const first = startStation(plant, broker.port, 4);
    const side = keep(startHubSide(plant, broker.port, 4));
    await until(side.isReady, 'ready');
    await first.stop(0);
    await until(() => !side.isReady(), 'not ready without its station');
    expect(states(broker).at(-1)).toBe('init');
    station(broker.port, 4);
    await until(side.isReady, 'ready again');
    await side.close();
    expect(new Set(states(broker))).toEqual(new Set(['init', 'ready', 'disconnected']));
  });

  it('Q4: a stored command is dropped, counted and logged, and nothing is asked of the station', async () => {
    const broker = keep(await spyBroker());
    const hand = keep(await ear(broker.port, 4, [`${OWN}/request`]));
    await hand.say(`${homie.root}/batch/ask/set`, 'start', true);
    station(broker.port, 4);
    const side = keep(startHubSide(plant, broker.port, 4));
    await until(side.isReady, 'ready');
    await until(() => side.counts().dropped === 1, 'the drop is counted');
    expect(side.lines.find(({ event }) => event === 'homie-command-dropped')?.fields).toEqual({
      topic: `${homie.root}/batch/ask/set`,
      why: 'retained',
    });
    expect(hand.texts(`${OWN}/request`)).toEqual([]);
  });

  it('Q6: an alarm stands as an alert until it is normal again, and acknowledging it asks the station', async () => {
    const broker = keep(await spyBroker());
    const service = keep(await ear(broker.port, 4, [`${OWN}/request`, `${homie.root}/$alert/+`]));
    const { status } = shownOf(plant);
    const alarm = {
      alarm: 'I-02/fresh',
      state: 'unacknowledged',
      priority: 'urgent',
      message: { text: 'too full' },
      response: { text: '', steps: [{ step: 'do', text: 'Close the tap.' }] },
    };
    const say = (alarms: readonly object[]) =>
      service.say(`${OWN}/status`, JSON.stringify({ ...status, alarms }), true);
    await say([alarm]);
    await service.say(`${OWN}/online`, 'online', true);
    const side = keep(startHubSide(plant, broker.port, 4));
    await until(side.isReady, 'ready');
    const alert = `${homie.root}/$alert/i-02-fresh`;
    expect(service.texts(alert)).toEqual(['Too full. Close the tap.']);
    await service.say(`${homie.root}/alarms/acknowledge/set`, 'i-02-fresh');
    await until(() => service.texts(`${OWN}/request`).length === 1, 'the request');
    expect(JSON.parse(service.texts(`${OWN}/request`)[0] ?? '')).toMatchObject({
      request: 'acknowledge',
      alarm: 'I-02/fresh',
    });
    await say([]);
    await until(() => service.texts(alert).at(-1) === '', 'cleared');
  });

  it('a request that nobody answers is told as refused', async () => {
    const broker = keep(await spyBroker());
    const service = keep(await ear(broker.port, 4, [`${homie.root}/station/+`]));
    await service.say(`${OWN}/status`, JSON.stringify(shownOf(plant).status), true);
    await service.say(`${OWN}/online`, 'online', true);
    const side = keep(startHubSide(plant, broker.port, 4));
    await until(side.isReady, 'ready');
    await service.say(`${homie.root}/batch/ask/set`, 'start');
    await until(
      () => service.texts(`${homie.root}/station/last-command`).at(-1) === 'refused',
      'refused',
      300_000,
    );
    expect(service.texts(`${homie.root}/station/last-command-words`).at(-1)).toContain('does not answer');
  });
});
