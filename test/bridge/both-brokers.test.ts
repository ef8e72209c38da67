// The bridge over real brokers: the embedded one (3.1.1) in this process, and mosquitto with both versions.
import { afterEach, describe, expect, it } from 'vitest';
import { exampleOf } from '../../src/station/words.ts';
import { embedded, hasMosquitto, mosquitto, type TestBroker } from '../tools/brokers.ts';
import { FLOAT, VALVE } from './fake-core.ts';
import { type Device, device, isUp, plant, type Running, start, until } from './rig.ts';

const HIGH = plant.sensors[FLOAT]?.topic ?? '';
const FILL = plant.actuators[VALVE]?.command.topic ?? '';
const OWN = `vatwarden/${plant.id}`;

const ways = [
  { name: 'embedded, MQTT 3.1.1', version: 4 as const, broker: () => embedded(), there: true },
  { name: 'mosquitto, MQTT 3.1.1', version: 4 as const, broker: () => mosquitto(), there: hasMosquitto },
  { name: 'mosquitto, MQTT 5', version: 5 as const, broker: () => mosquitto(), there: hasMosquitto },
];

describe.each(ways)('over $name', ({ version, broker: open, there }) => {
  let broker: TestBroker;
  let running: Running | undefined;
  let side: Device;

  const begin = async (options = {}) => {
    broker = await open();
    side = await device(broker.port, version);
    running = start(broker.port, version, options);
    await until(isUp(running), 'the link is up');
  };

  afterEach(async () => {
    await running?.bridge.stop(0);
    await side?.close();
    await broker?.close();
    running = undefined;
  });

  it.runIf(there)('R5: the first thing on the wire is `off` to every actuator', async () => {
    await begin();
    await until(() => side.texts(`${OWN}/online`).includes('online'), 'online');
    const order = side.heard.map(({ topic }) => topic);
    const commands = Object.values(plant.actuators).map(({ command }) => command.topic);
    expect(new Set(order.slice(0, commands.length))).toEqual(new Set(commands));
    expect(side.texts(FILL)[0]).toBe('{"on":false}');
  });

  it.runIf(there)('R18: `online` is said only after the own heartbeat came back', async () => {
    await begin();
    await until(() => side.texts(`${OWN}/online`).includes('online'), 'online');
    const topics = side.heard.map(({ topic }) => topic);
    expect(topics.indexOf(`${OWN}/heartbeat`)).toBeGreaterThanOrEqual(0);
    expect(topics.indexOf(`${OWN}/heartbeat`)).toBeLessThan(topics.indexOf(`${OWN}/online`));
  });

  it.runIf(there)(
    'R4: a dry float opens the valve with a lease that is renewed, a wet one closes it',
    async () => {
      await begin();
      await side.say(HIGH, 'DRY');
      await until(
        () => side.texts(FILL).filter((text) => text.includes('true')).length >= 2,
        'a renewed lease',
      );
      const on = side.texts(FILL).find((text) => text.includes('true'));
      expect(on).toBe(`{"on":true,"for_ms":${plant.actuators[VALVE]?.leaseMs}}`);
      await side.say(HIGH, 'WET');
      await until(() => side.texts(FILL).at(-1) === '{"on":false}', 'off');
    },
  );

  it.runIf(there)('R1: no command is ever published with the retain flag', async () => {
    await begin();
    await side.say(HIGH, 'DRY');
    await until(() => side.texts(FILL).some((text) => text.includes('true')), 'on');
    const late = await device(broker.port, version, [FILL]);
    await until(() => side.texts(FILL).filter((text) => text.includes('true')).length >= 2, 'renewed');
    expect(late.heard.every(({ retain }) => !retain)).toBe(true);
    await late.close();
  });

  it.runIf(there)('R9: a stored float is history and opens nothing; the same word live does', async () => {
    broker = await open();
    side = await device(broker.port, version);
    await side.say(HIGH, 'DRY', true);
    running = start(broker.port, version);
    const { state } = running;
    await until(
      () => state().heard.some((input) => input.type === 'reading' && input.sensor === FLOAT),
      'the stored float',
    );
    expect(state().heard.find((input) => input.type === 'reading')).toMatchObject({
      sensor: FLOAT,
      value: false,
      live: false,
    });
    await until(isUp(running), 'the link is up');
    await until(() => state().echoes >= 2, 'two heartbeats');
    expect(side.texts(FILL).every((text) => text === '{"on":false}')).toBe(true);
    await side.say(HIGH, 'DRY', true);
    await until(() => side.texts(FILL).some((text) => text.includes('true')), 'on');
  });

  it.runIf(there)(
    'R1: a stored command is told to the core as a foreign one, and the log says how to clear it',
    async () => {
      broker = await open();
      side = await device(broker.port, version);
      await side.say(FILL, '{"on":true,"for_ms":9000}', true);
      running = start(broker.port, version);
      const { state, lines } = running;
      await until(
        () => state().heard.some((input) => input.type === 'foreign-command'),
        'the stored command',
      );
      expect(state().heard.find((input) => input.type === 'foreign-command')).toEqual({
        type: 'foreign-command',
        actuator: VALVE,
        on: true,
        retained: true,
      });
      expect(lines.find(({ event }) => event === 'command-stored')?.fields.mend).toContain(
        '--clear-retained',
      );
    },
  );

  it.runIf(there)(
    'R1: with --clear-retained a stored command is gone from the broker and no foreign one is told',
    async () => {
      broker = await open();
      side = await device(broker.port, version);
      await side.say(FILL, '{"on":true,"for_ms":9000}', true);
      running = start(broker.port, version, { clearRetained: true });
      const { state, lines } = running;
      await until(isUp(running), 'the link is up');
      await until(() => state().echoes >= 2, 'two heartbeats');
      expect(lines.some(({ event }) => event === 'command-stored-cleared')).toBe(true);
      const late = await device(broker.port, version, [FILL, HIGH]);
      await late.say(HIGH, 'DRY');
      await until(() => late.texts(HIGH).length > 0, 'a message');
      expect(late.heard.filter(({ topic, retain }) => topic === FILL && retain)).toEqual([]);
      await late.close();
      expect(state().heard.filter((input) => input.type === 'foreign-command')).toEqual([]);
    },
  );

  it.runIf(there)('a command by another hand is told as foreign, own ones never are', async () => {
    await begin();
    const { state } = running as Running;
    await side.say(HIGH, 'DRY');
    await until(() => side.texts(FILL).filter((text) => text.includes('true')).length >= 3, 'renewed leases');
    expect(state().heard.filter((input) => input.type === 'foreign-command')).toEqual([]);
    await side.say(FILL, '{"on":true,"for_ms":500}');
    await until(() => state().heard.some((input) => input.type === 'foreign-command'), 'the foreign command');
    expect(state().heard.filter((input) => input.type === 'foreign-command')).toEqual([
      { type: 'foreign-command', actuator: VALVE, on: true, retained: false },
    ]);
  });

  it.runIf(there)(
    'R12: a request is carried out once however often its id comes, and answered each time',
    async () => {
      await begin();
      const { state } = running as Running;
      const request = JSON.stringify({ id: 'r1', request: 'salt-added', mass: '8.6 kg' });
      await side.say(`${OWN}/request`, request);
      await until(() => side.texts(`${OWN}/answer`).length === 1, 'the answer');
      await side.say(`${OWN}/request`, request);
      await until(() => side.texts(`${OWN}/answer`).length === 2, 'the same answer again');
      expect(new Set(side.texts(`${OWN}/answer`))).toEqual(
        new Set([
          '{"id":"r1","accepted":true,"message":{"text":"salt-added","id":"told-before","values":{"what":"salt-added"}}}',
        ]),
      );
      expect(state().heard.filter((input) => input.type === 'request')).toHaveLength(1);
    },
  );

  it.runIf(there)('a stored request is refused', async () => {
    broker = await open();
    side = await device(broker.port, version);
    await side.say(`${OWN}/request`, JSON.stringify({ id: 'old', request: 'start', unit: 'all' }), true);
    running = start(broker.port, version);
    const { state } = running;
    await until(() => side.texts(`${OWN}/answer`).length === 1, 'the answer');
    expect(JSON.parse(side.texts(`${OWN}/answer`)[0] ?? '')).toMatchObject({ id: 'old', accepted: false });
    expect(state().heard.filter((input) => input.type === 'request')).toEqual([]);
  });

  it.runIf(there)('alarms and tasks that an earlier run left on the broker are cleared', async () => {
    broker = await open();
    side = await device(broker.port, version);
    await side.say(`${OWN}/alarm/I-02-fresh`, '{"state":"unacknowledged"}', true);
    running = start(broker.port, version);
    await until(() => side.texts(`${OWN}/alarm/I-02-fresh`).at(-1) === '', 'cleared');
  });

  it.runIf(there)(
    'leaving: off to everything, offline by our own hand, and what is not confirmed is named',
    async () => {
      await begin();
      const { bridge } = running as Running;
      side.client.on('message', (topic) => {
        for (const { command, feedback } of Object.values(plant.actuators)) {
          if (command.topic === topic && feedback !== null && topic !== FILL)
            void side.say(feedback.topic, exampleOf(feedback.off));
        }
      });
      const before = side.heard.length;
      const farewell = await bridge.stop(1500);
      running = undefined;
      expect(farewell.confirmed).toContain('transfer');
      expect(Object.keys(farewell.unconfirmed)).toEqual([VALVE]);
      expect(farewell.unconfirmed[VALVE]).toContain('does not confirm');
      // Said again to the one that did not confirm, and to nobody else.
      const told = (topic: string) => side.heard.slice(before).filter((one) => one.topic === topic).length;
      expect(told(FILL)).toBe(2);
      expect(told('rig/transfer/cmd')).toBe(1);
      await until(() => side.texts(`${OWN}/online`).at(-1) === 'offline', 'offline');
      const last = side.heard.findLastIndex(({ topic }) => topic === FILL);
      expect(last).toBeLessThan(side.heard.findLastIndex(({ topic }) => topic === `${OWN}/online`));
    },
    300_000,
  );

  it.runIf(there)(
    'an exception in the core switches everything off on the wire and ends the service',
    async () => {
      await begin();
      const { ended } = running as Running;
      await side.say(HIGH, 'DRY');
      await until(() => side.texts(FILL).at(-1)?.includes('true') === true, 'on');
      const before = side.heard.length;
      await side.say(`${OWN}/request`, JSON.stringify({ id: 'x', request: 'abort', unit: 'all' }));
      await expect(ended).rejects.toThrow('the core contradicts itself');
      await until(() => side.texts(`${OWN}/online`).at(-1) === 'offline', 'offline');
      const after = side.heard.slice(before).map(({ topic }) => topic);
      for (const { command } of Object.values(plant.actuators)) expect(after).toContain(command.topic);
      expect(side.texts(FILL).at(-1)).toBe('{"on":false}');
      running = undefined;
    },
  );
});
