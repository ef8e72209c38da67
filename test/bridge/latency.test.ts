// How long from a float's message to the `off` that follows from it, through the whole bridge and a broker on loopback, by
// how long a message takes through the same broker to itself and back at the same moment. What it must catch is a small
// packet that waits for an acknowledgement (44 ms, measured, where one of the sockets forgets TCP_NODELAY).
import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { Core } from '../../src/bridge/core.ts';
import { embedded, hasMosquitto, mosquitto } from '../tools/brokers.ts';
import { middle } from '../tools/given-time.ts';
import { type FakeState, FLOAT, fakeCore, VALVE } from './fake-core.ts';
import { device, isUp, plant, start, until } from './rig.ts';

const HIGH = plant.sensors[FLOAT]?.topic ?? '';
const FILL = plant.actuators[VALVE]?.command.topic ?? '';
const ROUNDS = 301;
/** The float's message and the `off` are two of them, and the bridge works between. */
const BY_ECHO = 8;

/** Says `off` whenever the float is wet, whether anything was on or not. */
const off: Core<FakeState> = {
  ...fakeCore,
  step: (_, state, { inputs }) => {
    const wet = inputs.some(
      (input) => input.type === 'reading' && input.sensor === FLOAT && input.value === true,
    );
    return { state, effects: wet ? [{ do: 'command', actuator: VALVE, on: false, leaseMs: 0 }] : [] };
  },
};

/** Another process, so that it hears while this one stands still: makes a file when `off` came. */
const LISTENER = `
  import { writeFileSync } from 'node:fs';
  import mqtt from 'mqtt';
  const [port, topic, file] = process.argv.slice(1);
  const client = await mqtt.connectAsync('mqtt://127.0.0.1:' + port, { protocolVersion: 5 });
  await client.subscribeAsync(topic, { qos: 1 });
  client.on('message', () => writeFileSync(file, ''));
  process.stdout.write('ready ');`;

const ways = [
  { name: 'embedded, MQTT 3.1.1', version: 4 as const, broker: () => embedded(), there: true },
  { name: 'mosquitto, MQTT 5', version: 5 as const, broker: () => mosquitto(), there: hasMosquitto },
];

describe.each(ways)('through $name', ({ name, version, broker: begin, there }) => {
  it.runIf(there)(
    `a wet float is answered with \`off\` as soon as ${BY_ECHO} messages there and back would take`,
    async () => {
      const broker = await begin();
      const side = await device(broker.port, version, [FILL]);
      const running = start(broker.port, version, { core: off });
      await until(isUp(running), 'up');
      await until(() => side.texts(FILL).length > 0, 'the first off');
      const echo = await device(broker.port, version, ['echo']);
      const took: number[] = [];
      const echoed: number[] = [];
      for (let round = 0; round < ROUNDS; round++) {
        const before = side.heard.length;
        const arrived = new Promise<void>((resolve) => {
          side.client.once('message', () => resolve());
        });
        const atMs = performance.now();
        side.client.publish(HIGH, 'WET', { qos: 1 });
        await arrived;
        took.push(performance.now() - atMs);
        expect(side.heard.length).toBe(before + 1);
        await side.say(HIGH, 'DRY');
        const back = new Promise<void>((resolve) => echo.client.once('message', () => resolve()));
        const sentMs = performance.now();
        echo.client.publish('echo', 'WET', { qos: 1 });
        await back;
        echoed.push(performance.now() - sentMs);
      }
      await echo.close();
      await running.bridge.stop(0);
      await side.close();
      await broker.close();
      console.info(
        `${name}: wet float to off ${middle(took).toFixed(2)} ms, a message there and back ${middle(echoed).toFixed(2)} ms`,
      );
      expect(middle(took) / middle(echoed)).toBeLessThan(BY_ECHO);
    },
    300_000,
  );
});

it.runIf(hasMosquitto)(
  '`off` is on the wire at once, however long the turn that it belongs to goes on, with a disk that is slow for instance',
  async () => {
    const broker = await mosquitto();
    const side = await device(broker.port, 5, [FILL]);
    const running = start(broker.port, 5, { core: off });
    await until(isUp(running), 'up');
    await until(() => side.texts(FILL).length > 0, 'the first off');
    const folder = mkdtempSync(join(tmpdir(), 'vatwarden-latency-'));
    const file = join(folder, 'heard');
    const listener = spawn(
      process.execPath,
      ['--input-type=module', '-e', LISTENER, '--', String(broker.port), FILL, file],
      { stdio: ['ignore', 'pipe', 'inherit'] },
    );
    let heard = '';
    listener.stdout.on('data', (chunk) => {
      heard += chunk;
    });
    await until(() => heard.includes('ready'), 'the listener');
    let heardMeanwhile: boolean | null = null;
    running.bridge.turns.subscribe(({ effects }) => {
      if (effects.length === 0 || heardMeanwhile !== null) return;
      // What the journal does when it flushes the disk: nothing else runs here until the other process has heard it.
      for (let wait = 0; wait < 1_000 && !existsSync(file); wait++)
        Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 20);
      heardMeanwhile = existsSync(file);
    });
    await side.say(HIGH, 'WET');
    await until(() => heardMeanwhile !== null, 'the turn is over');
    expect(heardMeanwhile).toBe(true);
    listener.kill('SIGKILL');
    rmSync(folder, { recursive: true });
    await running.bridge.stop(0);
    await side.close();
    await broker.close();
  },
  300_000,
);
