// Who may do what, tried against a real mosquitto with the configuration that is shipped and the files that `wire` writes.
import mqtt, { type MqttClient } from 'mqtt';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { accountsOf } from '../../src/hub/accounts.ts';
import { wiringOf } from '../../src/hub/catalogue.ts';
import { deviceOf } from '../../src/hub/model.ts';
import { device as ear, pause, until } from '../bridge/rig.ts';
import { hasMosquitto, mosquitto } from '../tools/brokers.ts';
import { startHubSide, startStation } from './rig.ts';
import { OBSERVER, type Site, startSite } from './site.ts';
import { loaded, stationFile } from './stations.ts';

const { plant, station } = loaded({
  ...stationFile('marram-point'),
  announce: {
    templates: [{ each: 'station', topic: 'elsewhere/$station', payload: { name: '$stationName' } }],
  },
});
const wiring = wiringOf(plant, station);
const accounts = accountsOf(wiring);
const SERVICE = `vatwarden-${plant.id}`;
const own = (name: string) => `vatwarden/${plant.id}/${name}`;
const commands = Object.values(plant.actuators).map(({ command }) => command.topic);
const homie = deviceOf(plant, station.announce);

it('Only the service may write a command topic, by the list itself', () => {
  const writers = accounts.filter(({ writes }) =>
    writes.some((filter) => commands.some((topic) => matches(filter, topic))),
  );
  expect(writers.map(({ name }) => name)).toEqual([SERVICE]);
});

it('A simulated water adds a clock and a narrator, lets the service hear the clock, and gives nobody anything else', () => {
  const simulated = accountsOf(wiring, true);
  const added = simulated.filter(({ name }) => !accounts.some((one) => one.name === name));
  expect(added.map(({ name, writes }) => [name, writes])).toEqual([
    [`${plant.id}-clock`, [own('time'), own('time/nudge')]],
    [`${plant.id}-narrator`, []],
  ]);
  for (const { name, reads, writes } of accounts) {
    const now = simulated.find((one) => one.name === name);
    const more = [
      now?.reads.filter((one) => !reads.includes(one)),
      now?.writes.filter((one) => !writes.includes(one)),
    ];
    expect([name, ...more]).toEqual(
      name === SERVICE ? [name, [own('time')], [own('time/nudge'), own('time/done')]] : [name, [], []],
    );
  }
});

it('No account may write anything by a wildcard but the service its own alarms and tasks and the Homie side its own tree', () => {
  const wild = accounts.flatMap(({ name, writes }) =>
    writes.filter((filter) => /[+#]/u.test(filter)).map((filter) => `${name} ${filter}`),
  );
  expect(wild).toEqual([
    `${SERVICE} ${own('alarm/+')}`,
    `${SERVICE} ${own('task/+')}`,
    `${SERVICE}-homie ${homie.root}/$alert/+`,
    `${SERVICE}-homie ${homie.root}/$log/+`,
  ]);
});

function matches(filter: string, topic: string): boolean {
  const wanted = filter.split('/');
  const levels = topic.split('/');
  return (
    wanted.every((part, at) => part === '#' || part === '+' || part === levels[at]) &&
    (filter.endsWith('#') || wanted.length === levels.length)
  );
}

describe.runIf(hasMosquitto)('on a real broker', () => {
  let site: Site;
  beforeAll(async () => {
    site = await startSite({ plant, station });
  });
  afterAll(() => site?.close());

  const cleanups: (() => Promise<unknown>)[] = [];
  afterEach(async () => {
    for (const clean of cleanups.splice(0).reverse()) await clean();
  });

  /** Whether the broker takes it; MQTT 5 says so in the acknowledgement. */
  const may = async (name: string, topic: string, payload = 'x'): Promise<boolean> => {
    const client = await site.as(name);
    const took = await client.publishAsync(topic, payload, { qos: 1 }).then(
      () => true,
      (error: { code?: number }) => {
        expect(error.code).toBe(135);
        return false;
      },
    );
    await client.endAsync(true);
    return took;
  };

  it('R20: what each account may write is what the list says, command by command', async () => {
    const found: string[] = [];
    for (const { name } of accounts.filter(({ name: one }) => one !== SERVICE)) {
      const client = await site.as(name);
      for (const topic of commands) {
        await client.publishAsync(topic, 'on', { qos: 1 }).then(
          () => found.push(`${name} writes ${topic}`),
          (error: { code?: number }) => expect(error.code).toBe(135),
        );
      }
      await client.endAsync(true);
    }
    expect(found).toEqual([]);
    expect(await may(SERVICE, commands[0] ?? '')).toBe(true);
  });

  it('R20: a denied command does not reach the device, also by the old protocol that calls it a success', async () => {
    const eye = await site.as(OBSERVER);
    const seen: string[] = [];
    eye.on('message', (topic) => seen.push(topic));
    await eye.subscribeAsync('#', { qos: 1 });
    const hub = await site.as(`${plant.id}-hub`, { protocolVersion: 4 });
    await hub.publishAsync(commands[0] ?? '', 'on', { qos: 1 });
    await hub.publishAsync(`${homie.root}/batch/ask/set`, 'nonsense', { qos: 1 });
    await until(() => seen.includes(`${homie.root}/batch/ask/set`), 'what the hub may set');
    expect(seen.filter((topic) => commands.includes(topic))).toEqual([]);
  });

  it('R20: a hub sets what is settable, and asks nothing past the Homie tree', async () => {
    const hub = `${plant.id}-hub`;
    for (const { setTopic } of homie.properties)
      if (setTopic !== null) expect([setTopic, await may(hub, setTopic)]).toEqual([setTopic, true]);
    for (const topic of [
      own('request'),
      own('online'),
      own('status'),
      own('heartbeat'),
      `${homie.root}/$state`,
      `${homie.root}/batch/procedure`,
    ]) {
      expect([topic, await may(hub, topic)]).toEqual([topic, false]);
    }
  });

  it("R20: a device says its own readings and nobody else's", async () => {
    const boards = accounts.filter(({ words }) => words.startsWith('a device'));
    expect(boards.length).toBeGreaterThan(5);
    for (const { name, writes } of boards) {
      const other = boards.find(
        (one) => one.name !== name && one.writes.some((topic) => !writes.includes(topic)),
      );
      const foreign = other?.writes.find((topic) => !writes.includes(topic)) ?? '';
      if (writes[0] !== undefined) expect([name, await may(name, writes[0])]).toEqual([name, true]);
      expect([name, foreign, await may(name, foreign)]).toEqual([name, foreign, false]);
      expect([name, await may(name, own('heartbeat'))]).toEqual([name, false]);
    }
  });

  it('nobody may set the clock of the station: lock step is for a simulated water', async () => {
    for (const { name } of accounts) expect([name, await may(name, own('time'))]).toEqual([name, false]);
  });

  it("R20: a sensor's account reads no commands of others, and a watcher reads and writes nothing else", async () => {
    const watcher = await site.as(`${plant.id}-watcher`);
    const heard: string[] = [];
    watcher.on('message', (topic) => heard.push(topic));
    await watcher.subscribeAsync('#', { qos: 1 });
    await may(SERVICE, commands[0] ?? '');
    await may(SERVICE, own('record'), '{"about":"x","message":{"text":"y"}}');
    await until(() => heard.includes(own('record')), 'the record');
    expect(heard.filter((topic) => commands.includes(topic))).toEqual([]);
    for (const topic of [...commands, own('request'), own('record')])
      expect(await may(`${plant.id}-watcher`, topic)).toBe(false);
  });

  it('the service and its Homie side need nothing beyond their accounts: the link is up, the device ready, a command answered', async () => {
    const bridge = startStation(plant, site.port, 5, site.account(SERVICE));
    cleanups.push(() => bridge.stop(0));
    const side = startHubSide(plant, site.port, 5, {
      announce: station.announce,
      account: site.account(`${SERVICE}-homie`),
    });
    cleanups.push(() => side.close());
    await until(side.isReady, 'ready');
    const hub = await site.as(`${plant.id}-hub`);
    const heard = new Map<string, string>();
    hub.on('message', (topic, payload) => heard.set(topic, payload.toString()));
    await hub.subscribeAsync([`${homie.root}/#`, 'elsewhere/marram-point'], { qos: 1 });
    await hub.publishAsync(`${homie.root}/task/salt-as-asked/set`, 'true', { qos: 1 });
    await until(() => heard.get(`${homie.root}/station/last-command`) === 'refused', 'an answer');
    expect(heard.get('elsewhere/marram-point')).toBe('{"name":"Marram Point field station"}');
    expect(side.lines.filter(({ level }) => level === 'error')).toEqual([]);
  });

  it("a person's account asks and is answered", async () => {
    const bridge = startStation(plant, site.port, 5, site.account(SERVICE));
    cleanups.push(() => bridge.stop(0));
    const person = await site.as(`${plant.id}-person`);
    const answers: string[] = [];
    person.on('message', (topic, payload) => topic === own('answer') && answers.push(payload.toString()));
    await person.subscribeAsync([own('answer'), own('online')], { qos: 1 });
    await pause(1500);
    await person.publishAsync(
      own('request'),
      JSON.stringify({ id: 'p1', request: 'acknowledge', alarm: 'all' }),
      { qos: 1 },
    );
    await until(() => answers.length > 0, 'the answer');
    expect(JSON.parse(answers[0] ?? '')).toMatchObject({ id: 'p1' });
  });

  describe('R14: pushing another off by its client id', () => {
    const push = async (at: Site): Promise<boolean> => {
      const victim = await at.as(SERVICE, { clientId: SERVICE });
      let pushed = false;
      victim.on('close', () => {
        pushed = true;
      });
      const rival = await at.as(`${plant.id}-hub`, { clientId: SERVICE });
      await pause(300);
      expect(rival.connected).toBe(true);
      return pushed;
    };

    it("does not work: the id is the account's name", async () => {
      expect(await push(site)).toBe(false);
    });

    it('works without use_username_as_clientid, so that line of the configuration is needed', async () => {
      const careless = await startSite({ plant, station, without: /^use_username_as_clientid/u });
      cleanups.push(() => careless.close());
      expect(await push(careless)).toBe(true);
    });
  });

  it('a wrong password, and none, are refused', async () => {
    const refused = (options: object) =>
      site.as({ username: SERVICE, password: 'wrong', ...options }).then(
        () => 'let in',
        (error: { code?: number }) => error.code,
      );
    expect(await refused({})).toBe(135);
    await expect(
      mqtt.connectAsync({
        host: '127.0.0.1',
        port: site.port,
        protocol: 'mqtt',
        protocolVersion: 5,
        reconnectPeriod: 0,
      }),
    ).rejects.toThrow();
  });

  describe('R20: TLS', () => {
    const secure = (options: object) =>
      site
        .as(SERVICE, {
          protocol: 'mqtts',
          host: 'localhost',
          port: site.tlsPort,
          rejectUnauthorized: true,
          ...options,
        })
        .then(
          () => 'let in',
          (error: { code?: string }) => error.code,
        );

    it('lets in who knows the authority', async () => {
      expect(await secure({ ca: site.ca })).toBe('let in');
    });

    it('is refused by a client that does not', async () => {
      expect(await secure({})).toMatch(/SELF_SIGNED|UNABLE_TO/u);
    });

    it('is refused by a client that knows the broker under another name', async () => {
      expect(await secure({ ca: site.ca, host: '127.0.0.1' })).toBe('ERR_TLS_CERT_ALTNAME_INVALID');
    });
  });

  it('the broker answers without waiting for the network: a message back takes no 40 ms more than from a broker that does not', async () => {
    const plain = await mosquitto();
    cleanups.push(plain.close);
    const beside = await ear(plain.port, 5, [own('heartbeat')]);
    cleanups.push(beside.close);
    const client = await site.as(SERVICE);
    (client as unknown as { stream: { setNoDelay: (on: boolean) => void } }).stream.setNoDelay(true);
    await client.subscribeAsync(own('heartbeat'), { qos: 1 });
    const round = async (through: MqttClient): Promise<number> => {
      const sentMs = performance.now();
      const echo = new Promise<void>((resolve) => through.once('message', () => resolve()));
      await through.publishAsync(own('heartbeat'), '{"boot":"t","n":1}', { qos: 1 });
      await echo;
      return performance.now() - sentMs;
    };
    // In turn, so that whatever else the computer does falls on both; the quickest of fifty is the least disturbed.
    const [here, there]: [number[], number[]] = [[], []];
    for (let nth = 0; nth < 50; nth++) {
      here.push(await round(client));
      there.push(await round(beside.client));
    }
    expect(Math.min(...here) / Math.min(...there)).toBeLessThan(10);
  });
});

it('The embedded broker listens on this computer only', async () => {
  const { startBroker } = await import('../../src/bridge/broker.ts');
  const { networkInterfaces } = await import('node:os');
  const { connect } = await import('node:net');
  const broker = await startBroker(0, new Set());
  const outside = Object.values(networkInterfaces())
    .flat()
    .filter((one) => one !== undefined && !one.internal && one.family === 'IPv4');
  for (const one of outside) {
    const opened = await new Promise<boolean>((resolve) => {
      const socket = connect({ host: one?.address ?? '', port: broker.port, timeout: 500 }, () =>
        resolve(true),
      );
      socket.on('error', () => resolve(false));
      socket.on('timeout', () => resolve(false));
      socket.on('connect', () => socket.destroy());
    });
    expect(opened).toBe(false);
  }
  const inside = await ear(broker.port, 4);
  await inside.close();
  expect(broker.url).toBe(`mqtt://127.0.0.1:${broker.port}`);
  await broker.close();
});
