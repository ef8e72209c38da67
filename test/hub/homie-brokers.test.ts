// The Homie side over the embedded broker and a real one, as a controller sees it.
import { describe, expect, it } from 'vitest';
import type { Bridge } from '../../src/bridge/bridge.ts';
import type { State } from '../../src/control/process/state.ts';
import { descriptionOf } from '../../src/hub/description.ts';
import { shortMemory } from '../../src/hub/memory.ts';
import { deviceOf } from '../../src/hub/model.ts';
import { pictureOf } from '../../src/hub/view.ts';
import type { AnnounceFile } from '../../src/station/file/station.ts';
import { type Device as Ear, device as ear, pause, until } from '../bridge/rig.ts';
import { blackHole } from '../tools/black-hole.ts';
import { embedded, hasMosquitto, mosquitto, type TestBroker } from '../tools/brokers.ts';
import { openedThings } from '../tools/opened.ts';
import { confirmsOff, type HubSide, startHubSide, startStation } from './rig.ts';
import { plantOf, shownOf } from './stations.ts';

/** Nothing starts by itself: a station without devices would only hold it again. */
const nursery = plantOf('one-vat');
const plant = {
  ...nursery,
  policy: { ...nursery.policy, starts: { refill: 'person', batch: 'person', exchange: 'person' } },
} as const;
const homie = deviceOf(plant);
const STATE = `${homie.root}/$state`;

const { keep, afterwards } = openedThings();
const station = (port: number, version: 4 | 5): Bridge<State> => {
  const bridge = startStation(plant, port, version);
  afterwards(() => bridge.stop(0));
  return bridge;
};

const ways = [
  { name: 'embedded, MQTT 3.1.1', version: 4 as const, open: () => embedded(), there: true },
  { name: 'mosquitto, MQTT 3.1.1', version: 4 as const, open: () => mosquitto(), there: hasMosquitto },
  { name: 'mosquitto, MQTT 5', version: 5 as const, open: () => mosquitto(), there: hasMosquitto },
];

describe.each(ways)('over $name', ({ version, open, there }) => {
  const begin = async (hub = {}): Promise<{ broker: TestBroker; side: HubSide; all: Ear }> => {
    const broker = keep(await open());
    const all = keep(await ear(broker.port, version));
    station(broker.port, version);
    const side = keep(startHubSide(plant, broker.port, version, hub));
    await until(side.isReady, 'ready');
    return { broker, side, all };
  };
  const last = (all: Ear, path: string) => all.texts(`${homie.root}/${path}`).at(-1);

  it.runIf(there)(
    'Q1: who comes late finds the whole device stored: state, description, and every value that is known',
    async () => {
      const { broker } = await begin();
      const late = keep(await ear(broker.port, version, [`${homie.root}/#`]));
      const known = [...pictureOf(homie, shownOf(plant))]
        .filter(([topic, payload]) => payload !== '' && !topic.includes('/$alert/'))
        .map(([topic]) => topic);
      const stored = () => late.heard.filter(({ retain }) => retain);
      await until(() => {
        const topics = stored().map(({ topic }) => topic);
        return [STATE, ...known].every((topic) => topics.includes(topic));
      }, 'the whole device, stored');
      const found = stored();
      expect(found.find(({ topic }) => topic === STATE)?.text).toBe('ready');
      expect(JSON.parse(found.find(({ topic }) => topic.endsWith('/$description'))?.text ?? '')).toEqual(
        descriptionOf(homie),
      );
    },
  );

  it.runIf(there)('T7: the wildcard by which controllers discover finds exactly this device', async () => {
    const { broker } = await begin();
    const finder = keep(await ear(broker.port, version, ['+/5/+/$state']));
    await until(() => finder.heard.length > 0, 'a device');
    await pause(100);
    expect(finder.heard.map(({ topic, text }) => `${topic} ${text}`)).toEqual([`${STATE} ready`]);
  });

  it.runIf(there)(
    'T5, T6: nothing is said on the tree beside its topics, its alerts and its log',
    async () => {
      const { all } = await begin();
      const known = new Set([
        STATE,
        `${homie.root}/$description`,
        ...homie.properties.flatMap(({ topic, targetTopic }) => [topic, targetTopic ?? topic]),
      ]);
      const strange = all.heard
        .map(({ topic }) => topic)
        .filter((topic) => topic.startsWith('homie/') && !known.has(topic))
        .filter((topic) => !/\/\$alert\/[a-z0-9-]+$|\/\$log\/(error|warn|info)$/u.test(topic));
      expect(strange).toEqual([]);
    },
  );

  it.runIf(there)(
    'C2, C4: an accepted hold shows in $target at once and as it was sent, and then in the value',
    async () => {
      const { all } = await begin();
      confirmsOff(all, plant);
      await all.say(`${homie.root}/batch/ask/set`, 'start');
      await until(() => last(all, 'station/last-command') === 'accepted', 'accepted');
      const from = all.heard.length;
      await all.say(`${homie.root}/batch/held/set`, 'true');
      const target = () =>
        all.heard.slice(from).find(({ topic }) => topic === `${homie.root}/batch/held/$target`);
      await until(() => target() !== undefined, 'the target');
      expect(target()?.text).toBe('true');
      // At once: before the service's own clock, its heartbeat, has come round twice.
      const told = target() as (typeof all.heard)[number];
      const heartbeats = () =>
        all.heard.slice(from, all.heard.indexOf(told)).filter(({ topic }) => topic.endsWith('/heartbeat'));
      expect(heartbeats().length).toBeLessThan(2);
      await until(() => last(all, 'batch/held') === 'true', 'held');
      const topics = all.heard.slice(from).map(({ topic }) => topic);
      expect(topics.indexOf(`${homie.root}/batch/held/$target`)).toBeLessThan(
        topics.lastIndexOf(`${homie.root}/batch/held`),
      );
    },
  );

  it.runIf(there)(
    'C7: a refused command moves nothing but the last command, and the log says why',
    async () => {
      const broker = keep(await open());
      const all = keep(await ear(broker.port, version));
      // A service that says one thing and stays with it: what moves then, moves because of the command.
      await all.say(`vatwarden/${plant.id}/status`, JSON.stringify(shownOf(plant).status), true);
      await all.say(`vatwarden/${plant.id}/online`, 'online', true);
      all.client.on('message', (topic, payload) => {
        if (topic !== `vatwarden/${plant.id}/request`) return;
        const { id } = JSON.parse(payload.toString());
        const answer = { id, accepted: false, message: { text: 'no batch is being mixed' } };
        void all.say(`vatwarden/${plant.id}/answer`, JSON.stringify(answer));
      });
      const side = keep(startHubSide(plant, broker.port, version));
      await until(side.isReady, 'ready');
      await pause(100);
      const from = all.heard.length;
      await all.say(`${homie.root}/task/salt-as-asked/set`, 'true');
      await until(() => last(all, 'station/last-command') === 'refused', 'refused');
      await until(() => last(all, 'station/last-command-words')?.includes('no batch') === true, 'the words');
      await until(() => all.texts(`${homie.root}/$log/warn`).length > 0, 'the log');
      const moved = all.heard.slice(from).filter(({ topic }) => topic.startsWith(homie.root));
      const expected = [
        'station/last-command',
        'station/last-command-words',
        '$log/warn',
        'task/salt-as-asked/set',
      ];
      expect(new Set(moved.map(({ topic }) => topic.slice(homie.root.length + 1)))).toEqual(
        new Set(expected),
      );
      expect(side.counts().refused).toBe(1);
    },
  );

  it.runIf(there)('an exchange is asked for and the request stands in the value', async () => {
    const { all } = await begin();
    const [system] = plant.systemIds;
    await all.say(`${homie.root}/system-${system}/exchange-now/set`, '4');
    await until(() => Number(last(all, `system-${system}/requested`)) === 4, 'requested');
    expect(all.heard.find(({ topic, retain }) => topic.endsWith('/exchange-now') && retain)).toBeUndefined();
  });

  it.runIf(there)('S11: after a cut the whole sequence is said again, and it ends in ready', async () => {
    const broker = keep(await open());
    const hole = keep(await blackHole(broker.port));
    const all = keep(await ear(broker.port, version));
    station(broker.port, version);
    const side = keep(startHubSide(plant, hole.port, version));
    await until(side.isReady, 'ready');
    const from = all.heard.length;
    hole.cut();
    await until(() => !side.isReady(), 'the cut is noticed');
    await until(side.isReady, 'ready again');
    await pause(100);
    const said = all.heard.slice(from);
    const states = said.filter(({ topic }) => topic === STATE).map(({ text }) => text);
    expect(states[0]).toBe('lost');
    expect(states.slice(1)).toEqual(['init', 'init', 'ready']);
    const topics = new Set(said.map(({ topic }) => topic));
    for (const { topic, retained } of homie.properties) if (retained) expect(topics).toContain(topic);
  });

  it.runIf(there)(
    'S11: a connection that is half dead is taken over, its will comes first, and the last word is ready',
    async () => {
      const broker = keep(await open());
      const hole = keep(await blackHole(broker.port));
      const all = keep(await ear(broker.port, version, [STATE]));
      station(broker.port, version);
      const first = keep(startHubSide(plant, hole.port, version));
      await until(first.isReady, 'ready');
      hole.swallow();
      const from = all.heard.length;
      const second = keep(startHubSide(plant, broker.port, version));
      await until(second.isReady, 'the second is ready');
      await until(() => all.texts(STATE).slice(from).at(-1) === 'ready', 'the last word');
      expect(all.texts(STATE).slice(from)).toEqual(['lost', 'init', 'init', 'ready']);
    },
  );

  it.runIf(there)(
    'S9, S10: what is taken out of the file is gone from the broker after the next start',
    async () => {
      const broker = keep(await open());
      station(broker.port, version);
      const memory = shortMemory();
      const announce: AnnounceFile = {
        templates: [
          {
            each: 'property' as const,
            topic: 'elsewhere/$identifier',
            payload: { name: '$label' },
            where: { kind: ['task' as const] },
          },
        ],
      };
      const first = startHubSide(plant, broker.port, version, { memory, announce });
      await until(first.isReady, 'ready');
      await first.close();
      const before = keep(await ear(broker.port, version, ['elsewhere/#', 'homie/#']));
      await until(
        () => before.heard.filter(({ topic }) => topic.startsWith('elsewhere/')).length === 7,
        'seven announcements',
      );
      const moved = startHubSide(plant, broker.port, version, {
        memory,
        announce: { homie: { domain: 'water' } },
      });
      await until(moved.isReady, 'ready under the new domain');
      await moved.close();
      const late = keep(await ear(broker.port, version));
      await until(() => late.texts('water/5/marram-nursery/$state').length > 0, 'the new tree');
      await pause(200);
      const left = late.heard.filter(
        ({ topic, retain }) => retain && (topic.startsWith('elsewhere/') || topic.startsWith('homie/')),
      );
      expect(left.map(({ topic }) => topic)).toEqual([]);
      // S9: the state of the removed device went first.
      const cleared = before.heard
        .filter(({ topic, text }) => topic.startsWith('homie/') && text === '')
        .map(({ topic }) => topic);
      expect(cleared[0]).toBe(STATE);
    },
  );
});
