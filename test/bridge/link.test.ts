// What happens to the link, and what the bridge makes of it.
import { type AddressInfo, createServer } from 'node:net';
import { Aedes } from 'aedes';
import { afterEach, describe, expect, it } from 'vitest';
import { LIMITS } from '../../src/bridge/limits.ts';
import { type BlackHole, blackHole } from '../tools/black-hole.ts';
import { embedded, hasMosquitto, mosquitto, type TestBroker } from '../tools/brokers.ts';
import { givenUntil } from '../tools/given-time.ts';
import { FLOAT, VALVE } from './fake-core.ts';
import { type Device, device, isUp, pause, plant, type Running, start, until } from './rig.ts';

const HIGH = plant.sensors[FLOAT]?.topic ?? '';
const FILL = plant.actuators[VALVE]?.command.topic ?? '';
const OWN = `vatwarden/${plant.id}`;
/** The bound that the station states, one heartbeat for the last proof, one tick for looking, and some for the turns; in given time. */
const NOTICED_MS = plant.link.provenWithinMs + LIMITS.heartbeatMs + LIMITS.tickMs + 1500;

const open: { close: () => Promise<unknown> }[] = [];
const keep = <T extends { close: () => Promise<unknown> }>(one: T): T => {
  open.unshift(one);
  return one;
};
const run = (...given: Parameters<typeof start>): Running => {
  const running = start(...given);
  keep({ close: () => running.bridge.stop(0) });
  return running;
};

afterEach(async () => {
  for (const one of open.splice(0)) await one.close();
});

const isDown =
  ({ news }: Running) =>
  () =>
    news.some((one) => one.news === 'down');
const ups = ({ news }: Running) => news.filter((one) => one.news === 'up').length;

const ways = [
  { name: 'embedded, MQTT 3.1.1', version: 4 as const, broker: () => embedded(), there: true },
  { name: 'mosquitto, MQTT 5', version: 5 as const, broker: () => mosquitto(), there: hasMosquitto },
];

describe.each(ways)('a link through $name', ({ version, broker: begin, there }) => {
  async function throughHole(): Promise<{ hole: BlackHole; side: Device; running: Running }> {
    const broker = keep(await begin());
    const hole = keep(await blackHole(broker.port));
    const side = keep(await device(broker.port, version));
    const running = run(hole.port, version);
    await until(isUp(running), 'the link is up');
    await side.say(HIGH, 'DRY');
    await until(() => side.texts(FILL).at(-1)?.includes('true') === true, 'on');
    return { hole, side, running };
  }

  it.runIf(there)(
    'R2, R15: a half-open link is noticed within the stated bound, although it looks connected',
    async () => {
      const { hole, running } = await throughHole();
      hole.swallow();
      // The client library alone would have taken one and a half keepalives.
      expect(NOTICED_MS).toBeLessThan(1.5 * LIMITS.keepaliveS * 1000);
      await givenUntil(isDown(running), 'down', NOTICED_MS);
      expect(running.news.find((one) => one.news === 'down')).toMatchObject({
        words: expect.stringContaining('heartbeat'),
      });
    },
  );

  it.runIf(there)(
    'R2: no command of before or during an outage arrives after it, and `off` comes first (R5)',
    async () => {
      const { hole, side, running } = await throughHole();
      const before = side.texts(FILL).length;
      hole.swallow();
      await givenUntil(isDown(running), 'down', NOTICED_MS);
      await pause(300);
      hole.restore();
      await until(() => ups(running) === 2, 'up again');
      await pause(700);
      const after = side.texts(FILL).slice(before);
      expect(after.length).toBeGreaterThan(0);
      expect(after.every((text) => text === '{"on":false}')).toBe(true);
      await side.say(HIGH, 'DRY');
      await until(() => side.texts(FILL).at(-1)?.includes('true') === true, 'on, on fresh evidence');
    },
    300_000,
  );

  it.runIf(there)(
    'R5: after a cut the first thing said is `off` to everything',
    async () => {
      const { hole, side, running } = await throughHole();
      hole.cut();
      await until(isDown(running), 'down');
      const before = side.heard.length;
      await until(() => ups(running) === 2, 'up again');
      const commands = Object.values(plant.actuators).map(({ command }) => command.topic);
      await until(() => side.heard.length >= before + commands.length, 'off to everything');
      // The will of the cut connection may still be under way.
      const after = side.heard
        .slice(before)
        .map(({ topic }) => topic)
        .filter((topic) => topic !== `${OWN}/online`);
      expect(new Set(after.slice(0, commands.length))).toEqual(new Set(commands));
    },
    300_000,
  );

  it.runIf(there)(
    'the will says `offline` when the service is cut off, and `online` follows when it is back',
    async () => {
      const { hole, side, running } = await throughHole();
      hole.cut();
      await until(() => side.texts(`${OWN}/online`).includes('offline'), 'offline');
      await until(() => ups(running) === 2, 'up again');
      await until(() => side.texts(`${OWN}/online`).at(-1) === 'online', 'online');
    },
    300_000,
  );
});

describe('a link that can never be', () => {
  it('R17: MQTT 5 to a broker that only speaks 3.1.1 ends at once, with the mend and without trying again', async () => {
    const broker = keep(await embedded());
    const hole = keep(await blackHole(broker.port));
    const running = run(hole.port, 5);
    await expect(running.ended).rejects.toThrow('--mqtt 3.1.1');
    await pause(1500);
    expect(hole.connections()).toBe(1);
  });

  it.runIf(hasMosquitto).each([4, 5] as const)(
    'R17: a wrong password ends it at once (protocol level %i)',
    async (version) => {
      const broker = keep(await mosquitto({ passwords: { vatwarden: 'right' } }));
      const hole = keep(await blackHole(broker.port));
      const settings = {
        address: { protocol: 'mqtt' as const, host: '127.0.0.1', port: hole.port, path: '' },
        version,
        clientId: 'vatwarden-bench-rig',
        username: 'vatwarden',
        password: 'wrong',
      };
      const running = run(hole.port, version, { settings });
      await expect(running.ended).rejects.toThrow('--username');
      await pause(1000);
      expect(hole.connections()).toBe(1);
    },
  );

  it('R17, R18: a refused subscription ends it, and the message names the topic', async () => {
    const aedes = await Aedes.createBroker({
      authorizeSubscribe: (_, subscription, done) =>
        done(null, subscription.topic === HIGH ? null : subscription),
    });
    const server = createServer(aedes.handle);
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    keep({
      close: async () => new Promise<void>((resolve) => aedes.close(() => server.close(() => resolve()))),
    });
    const running = run((server.address() as AddressInfo).port, 4);
    await expect(running.ended).rejects.toThrow(HIGH);
  });

  it.runIf(hasMosquitto)(
    'R18: granted and unreadable is not up: the own heartbeat never comes back, and the log says so',
    async () => {
      const acl = `topic readwrite rig/#\ntopic write ${OWN}/heartbeat\ntopic readwrite ${OWN}/online\n`;
      const broker = keep(await mosquitto({ acl }));
      const running = run(broker.port, 5);
      await until(isDown(running), 'down');
      expect(running.news.some(({ news }) => news === 'up')).toBe(false);
      expect(running.news.find(({ news }) => news === 'down')).toMatchObject({
        words: expect.stringContaining('write AND read'),
      });
    },
  );
});

describe.runIf(hasMosquitto)('a link to a broker in trouble', () => {
  it('R6: MQTT 5: a denied command is an alarm and a device that can not be relied on, at once', async () => {
    const acl = `topic readwrite vatwarden/#\ntopic read rig/#\n${Object.values(plant.actuators)
      .filter(({ id }) => id !== VALVE)
      .map(({ command }) => `topic readwrite ${command.topic}`)
      .join('\n')}\n`;
    const broker = keep(await mosquitto({ acl }));
    const side = keep(await device(broker.port, 5, [`${OWN}/#`]));
    const running = run(broker.port, 5);
    const alarm = `${OWN}/alarm/command-swallowed-${VALVE}`;
    await until(() => side.texts(alarm).some((text) => text.includes('access list')), 'the alarm');
    await until(() => running.state().heard.some(({ type }) => type === 'bad-feedback'), 'told to the core');
    expect(running.lines.find(({ event }) => event === 'publish-denied')?.fields.topic).toBe(FILL);
  });

  it('R6: MQTT 3.1.1: a command that is acknowledged and dropped in silence is an alarm a few heartbeats later (F13)', async () => {
    const acl = `topic readwrite vatwarden/#\ntopic read rig/#\n${Object.values(plant.actuators)
      .filter(({ id }) => id !== VALVE)
      .map(({ command }) => `topic readwrite ${command.topic}`)
      .join('\n')}\n`;
    const broker = keep(await mosquitto({ acl }));
    const side = keep(await device(broker.port, 4, [`${OWN}/#`]));
    const running = run(broker.port, 4);
    const alarm = `${OWN}/alarm/command-swallowed-${VALVE}`;
    const withinMs = (LIMITS.echoesUntilMissing + 2) * LIMITS.heartbeatMs;
    const isTold = () => side.texts(alarm).some((text) => text.includes('access list'));
    await givenUntil(isTold, 'the alarm', withinMs);
    expect(
      running.lines.filter(({ event }) => event === 'command-swallowed').map(({ fields }) => fields.actuator),
    ).toEqual([VALVE]);
  });

  it('a broker that stands still is noticed within the bound, and waking it starts nothing (F10)', async () => {
    const broker = keep(await mosquitto());
    const side = keep(await device(broker.port, 5));
    const running = run(broker.port, 5);
    await until(isUp(running), 'up');
    await side.say(HIGH, 'DRY');
    await until(() => side.texts(FILL).at(-1)?.includes('true') === true, 'on');
    const { pid } = broker as TestBroker & { pid: number };
    process.kill(pid, 'SIGSTOP');
    try {
      await givenUntil(isDown(running), 'down', NOTICED_MS);
    } finally {
      process.kill(pid, 'SIGCONT');
    }
    const before = side.heard.length;
    await until(() => ups(running) === 2, 'up again');
    await pause(500);
    // What was in the broker's hands when it stopped it may still deliver; after our `off` there is nothing but `off`.
    const after = side.heard
      .slice(before)
      .filter(({ topic }) => topic === FILL)
      .map(({ text }) => text);
    expect(after.slice(after.indexOf('{"on":false}')).every((text) => text === '{"on":false}')).toBe(true);
  });

  it('R16: two services with one client id: both see it, say so and wait for minutes instead of fighting (F08)', async () => {
    const broker = keep(await mosquitto());
    const hole = keep(await blackHole(broker.port));
    const first = run(hole.port, 5, { boot: 'b0000001' });
    await until(isUp(first), 'the first is up');
    const second = run(hole.port, 5, { boot: 'b0000002' });
    const tells =
      ({ lines }: Running) =>
      () =>
        lines.some(({ event }) => event === 'link-duplicate-client');
    await until(() => tells(first)() || tells(second)(), 'a duplicate client id is suspected');
    const told = [first, second].find((running) => tells(running)());
    const waited = told?.lines.find(({ event }) => event === 'link-duplicate-client')?.fields.waitMs;
    expect(waited).toBeGreaterThanOrEqual(LIMITS.duplicateBackoffMs[0]);
    const connections = hole.connections();
    await pause(2000);
    // The one that waits leaves the field to the other, which then stays.
    expect(hole.connections() - connections).toBeLessThanOrEqual(1);
    expect([first, second].some((running) => running.news.at(-1)?.news === 'echo')).toBe(true);
  });

  it('MQTT 5: with more actuators than the broker takes at once, `off` still reaches every one', async () => {
    const broker = keep(await mosquitto({ more: 'max_inflight_messages 2' }));
    const side = keep(await device(broker.port, 5));
    const running = run(broker.port, 5);
    await until(isUp(running), 'up');
    const commands = Object.values(plant.actuators).map(({ command }) => command.topic);
    expect(commands.length).toBeGreaterThan(2);
    await until(() => commands.every((topic) => side.texts(topic).length > 0), 'off to everything');
    await side.say(HIGH, 'DRY');
    await until(() => side.texts(FILL).at(-1)?.includes('true') === true, 'on');
  });

  it('a flood of nonsense on every topic neither ends the service nor comes back as a flood of answers (R19)', async () => {
    const broker = keep(await mosquitto());
    const side = keep(await device(broker.port, 5, [`${OWN}/#`, FILL]));
    const running = run(broker.port, 5);
    await until(isUp(running), 'up');
    await side.say(HIGH, 'DRY');
    await until(() => side.texts(FILL).at(-1)?.includes('true') === true, 'on');
    const topics = [HIGH, FILL, `${OWN}/request`, ...Object.values(plant.sensors).map(({ topic }) => topic)];
    const before = side.heard.length;
    for (let n = 0; n < 20_000; n++)
      side.client.publish(topics[n % topics.length] ?? '', n % 3 === 0 ? '{' : String(n), { qos: 0 });
    await side.say(HIGH, 'WET');
    const since = () => side.heard.slice(before).filter(({ topic }) => topic === FILL);
    await until(() => since().some(({ text }) => text === '{"on":false}'), 'off');
    await until(
      () => running.state().heard.some((input) => 'reason' in input && input.reason === 'unparsable'),
      'bad readings',
    );
    const answers = side.texts(`${OWN}/answer`).length;
    expect(answers).toBeGreaterThan(0);
    expect(answers).toBeLessThan(400);
    expect(running.lines.filter(({ event }) => event === 'foreign-command').length).toBeLessThan(10);
    expect(running.lines.filter(({ event }) => event === 'service-failed')).toEqual([]);
  });

  it('R14: a second service on the same station under another client id is an alarm', async () => {
    const broker = keep(await mosquitto());
    const side = keep(await device(broker.port, 5, [`${OWN}/#`]));
    const first = run(broker.port, 5, { boot: 'b0000001' });
    await until(isUp(first), 'the first is up');
    await side.say(`${OWN}/heartbeat`, '{"boot":"b0000002","n":7}');
    await until(() => side.texts(`${OWN}/alarm/other-instance`).length > 0, 'the alarm');
  });
});
