// Three sites and one centre, all real brokers on this computer; the line of one is cut and comes back.
import type { ChildProcess } from 'node:child_process';
import { mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { MqttClient } from 'mqtt';
import mqtt from 'mqtt';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { passwordLine } from '../../src/hub/mosquitto.ts';
import { centralAcl, uplinkAccount, uplinkConfig } from '../../src/hub/uplink.ts';
import type { Plant } from '../../src/station/plant.ts';
import { until } from '../bridge/rig.ts';
import { type BlackHole, blackHole } from '../tools/black-hole.ts';
import { freePort, hasMosquitto } from '../tools/brokers.ts';
import { type Site, started, startSite, stopped } from './site.ts';
import { EXAMPLES, loaded, stationFile } from './stations.ts';

const stations = EXAMPLES.map((name) => loaded(stationFile(name)));
const [marram, nursery, cliff] = stations.map(({ plant }) => plant) as [Plant, Plant, Plant];
/** The one site that lets requests in. */
const OPEN = nursery.id;

it('Nothing comes down where the site does not say so, and never a command', () => {
  const options = { host: 'central', port: 8883, caFile: '/ca.crt', passwordHint: 'X' };
  for (const { plant } of stations) {
    for (const letsRequestsIn of [false, true]) {
      const config = uplinkConfig(plant, { ...options, letsRequestsIn });
      const down = config.split('\n').filter((line) => / (in|both) \d$/u.test(line));
      expect(down).toEqual(letsRequestsIn ? [`topic vatwarden/${plant.id}/request in 1`] : []);
      for (const { command } of Object.values(plant.actuators))
        expect(config).not.toContain(` ${command.topic} `);
    }
  }
});

describe.runIf(hasMosquitto)('three sites and a centre', () => {
  let centre: ChildProcess;
  let centrePort = 0;
  const directory = mkdtempSync(join(tmpdir(), 'vatwarden-centre-'));
  const holes = new Map<string, BlackHole>();
  const sites = new Map<string, Site>();
  let eye: MqttClient;
  const heard: { readonly topic: string; readonly text: string }[] = [];
  const at = (plant: Plant) => sites.get(plant.id) as Site;
  const savedMs = (plant: Plant) =>
    statSync(join(at(plant).directory, 'data', 'mosquitto.db'), { throwIfNoEntry: false })?.mtimeMs ?? 0;
  const service = (plant: Plant) => at(plant).as(`vatwarden-${plant.id}`);
  const texts = (topic: string) => heard.filter((one) => one.topic === topic).map(({ text }) => text);

  beforeAll(async () => {
    centrePort = await freePort();
    const acl = [
      ...stations.map(({ plant }) => centralAcl(plant, plant.id === OPEN)),
      'user centre\ntopic read vatwarden/#\ntopic write vatwarden/+/request\n',
      'user rogue\ntopic readwrite #\n',
    ];
    writeFileSync(join(directory, 'acl'), acl.join('\n'));
    const names = [...stations.map(({ plant }) => uplinkAccount(plant)), 'centre', 'rogue'];
    writeFileSync(
      join(directory, 'passwords'),
      `${names.map((name) => passwordLine(name, 'secret')).join('\n')}\n`,
    );
    const lines = [
      'user root',
      `listener ${centrePort} 127.0.0.1`,
      'allow_anonymous false',
      'use_username_as_clientid true',
      'set_tcp_nodelay true',
      `password_file ${join(directory, 'passwords')}`,
      `acl_file ${join(directory, 'acl')}`,
    ];
    writeFileSync(join(directory, 'mosquitto.conf'), `${lines.join('\n')}\n`);
    centre = await started(join(directory, 'mosquitto.conf'), centrePort);
    for (const { plant, station } of stations) {
      const hole = await blackHole(centrePort);
      holes.set(plant.id, hole);
      const letsRequestsIn = plant.id === OPEN;
      const options = {
        host: '127.0.0.1',
        port: hole.port,
        caFile: null,
        passwordHint: 'secret',
        letsRequestsIn,
      };
      // The shortest times that mosquitto knows, so that the test is short.
      const more = uplinkConfig(plant, options).replace('restart_timeout 2 60', 'restart_timeout 1');
      sites.set(
        plant.id,
        await startSite({
          plant,
          station,
          more: `autosave_interval 1\n${more}`,
          without: /^autosave_interval/u,
        }),
      );
    }
    eye = await mqtt.connectAsync({
      host: '127.0.0.1',
      port: centrePort,
      protocol: 'mqtt',
      protocolVersion: 5,
      username: 'centre',
      password: 'secret',
      reconnectPeriod: 0,
    });
    eye.on('message', (topic, payload) => heard.push({ topic, text: payload.toString() }));
    await eye.subscribeAsync('vatwarden/#', { qos: 1 });
    for (const { plant } of stations) {
      const client = await service(plant);
      await client.publishAsync(`vatwarden/${plant.id}/online`, 'online', { qos: 1, retain: true });
    }
    await until(
      () => stations.every(({ plant }) => texts(`vatwarden/${plant.id}/online`).length > 0),
      'all three are seen',
      300_000,
    );
  });

  afterAll(async () => {
    eye?.end(true);
    for (const site of sites.values()) await site.close();
    for (const hole of holes.values()) await hole.close();
    if (centre !== undefined) await stopped(centre);
    rmSync(directory, { recursive: true, force: true });
  });

  it('each is seen at the centre under its own name', () => {
    expect(stations.map(({ plant }) => texts(`vatwarden/${plant.id}/online`)[0])).toEqual([
      'online',
      'online',
      'online',
    ]);
  });

  it('what happens while the line is cut arrives when it is back, each at least once and in order; the others do not notice', async () => {
    const hole = holes.get(marram.id) as BlackHole;
    const record = `vatwarden/${marram.id}/record`;
    const client = await service(marram);
    const say = (n: number) =>
      client.publishAsync(record, JSON.stringify({ about: 'test', message: { text: String(n) } }), {
        qos: 1,
      });
    await say(-1);
    await until(() => texts(record).length === 1, 'the line carries');
    hole.swallow();
    for (let n = 0; n < 300; n++) await say(n);
    await client.publishAsync(`vatwarden/${marram.id}/alarm/I-02-fresh`, '{"state":"unacknowledged"}', {
      qos: 1,
      retain: true,
    });
    const other = await service(cliff);
    await other.publishAsync(`vatwarden/${cliff.id}/record`, 'meanwhile', { qos: 1 });
    await until(() => texts(`vatwarden/${cliff.id}/record`).includes('meanwhile'), 'another site goes on');
    expect(texts(record)).toHaveLength(1);
    // The cut becomes one that both ends notice, and then the line is mended.
    hole.cut();
    hole.restore();
    await until(() => texts(`vatwarden/${marram.id}/alarm/I-02-fresh`).length > 0, 'the alarm');
    const numbers = texts(record).map((text) => Number(JSON.parse(text).message.text));
    const once = [...new Set(numbers)];
    expect(once).toEqual(Array.from({ length: 301 }, (_, place) => place - 1));
  });

  it("what waits is still there after a power cut of the site's broker, once its autosave has come round", async () => {
    const hole = holes.get(marram.id) as BlackHole;
    const record = `vatwarden/${marram.id}/record`;
    const from = texts(record).length;
    hole.swallow();
    const client = await service(marram);
    for (let n = 0; n < 20; n++) {
      await client.publishAsync(record, JSON.stringify({ about: 'cut', message: { text: String(n) } }), {
        qos: 1,
      });
    }
    // Shipped are 30 s; this broker saves every second. What was begun before the last word does not count.
    for (let saves = 0; saves < 2; saves++) {
      const before = savedMs(marram);
      await until(() => savedMs(marram) > before, 'an autosave');
    }
    await at(marram).crash();
    hole.cut();
    hole.restore();
    const late = () =>
      new Set(
        texts(record)
          .slice(from)
          .map((text) => JSON.parse(text).message.text),
      );
    await until(() => late().size === 20, 'all that waited');
  });

  it('nothing comes down to a site that does not let requests in, whatever the centre says', async () => {
    const down: string[] = [];
    const local = await at(marram).as(`vatwarden-${marram.id}`);
    local.on('message', (topic, _, { retain }) => {
      if (!retain) down.push(topic);
    });
    await local.subscribeAsync(
      [
        `vatwarden/${marram.id}/request`,
        ...Object.values(marram.actuators).map(({ command }) => command.topic),
      ],
      { qos: 1 },
    );
    const rogue = await mqtt.connectAsync({
      host: '127.0.0.1',
      port: centrePort,
      protocol: 'mqtt',
      protocolVersion: 5,
      username: 'rogue',
      password: 'secret',
      reconnectPeriod: 0,
    });
    for (const topic of [
      `vatwarden/${marram.id}/request`,
      ...Object.values(marram.actuators).map(({ command }) => command.topic),
    ]) {
      await rogue.publishAsync(topic, 'on', { qos: 1 });
    }
    // The same through the open site shows that the centre really passed it on.
    const open = await at(nursery).as(`vatwarden-${nursery.id}`);
    const asked: string[] = [];
    open.on('message', (_, payload) => asked.push(payload.toString()));
    await open.subscribeAsync(`vatwarden/${nursery.id}/request`, { qos: 1 });
    await rogue.publishAsync(`vatwarden/${nursery.id}/request`, '{"id":"1"}', { qos: 1 });
    await until(() => asked.includes('{"id":"1"}'), 'the open site is asked');
    expect(down).toEqual([]);
    await rogue.endAsync(true);
  });

  it('an answer of the open site reaches the centre', async () => {
    const client = await service(nursery);
    await client.publishAsync(
      `vatwarden/${nursery.id}/answer`,
      '{"id":"1","accepted":false,"message":{"text":""}}',
      {
        qos: 1,
      },
    );
    await until(() => texts(`vatwarden/${nursery.id}/answer`).length > 0, 'the answer');
  });

  it("a site's account at the centre can't speak for another site", async () => {
    const forger = await mqtt.connectAsync({
      host: '127.0.0.1',
      port: centrePort,
      protocol: 'mqtt',
      protocolVersion: 5,
      username: uplinkAccount(cliff),
      password: 'secret',
      clientId: 'forger',
      reconnectPeriod: 0,
    });
    await expect(
      forger.publishAsync(`vatwarden/${marram.id}/online`, 'offline', { qos: 1 }),
    ).rejects.toMatchObject({ code: 135 });
    await forger.endAsync(true);
  });
});
