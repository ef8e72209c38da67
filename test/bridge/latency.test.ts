// How long from a float's message to the `off` that follows from it, through the whole bridge and a broker on loopback.
// The bound is loose for a busy machine; what it must catch is a small packet that waits for an acknowledgement (44 ms,
// measured, where one of the sockets forgets TCP_NODELAY).
import { spawn } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import type { Core } from '../../src/bridge/core.ts';
import { embedded, hasMosquitto, mosquitto } from '../tools/brokers.ts';
import { type FakeState, FLOAT, fakeCore, VALVE } from './fake-core.ts';
import { device, isUp, plant, start, until } from './rig.ts';

const HIGH = plant.sensors[FLOAT]?.topic ?? '';
const FILL = plant.actuators[VALVE]?.command.topic ?? '';
const ROUNDS = 1000;

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

/** Another process, so that it hears while this one stands still: says once when (since 1970, ms) `off` came. */
const LISTENER = `
  import mqtt from 'mqtt';
  const [port, topic] = process.argv.slice(1);
  const client = await mqtt.connectAsync('mqtt://127.0.0.1:' + port, { protocolVersion: 5 });
  await client.subscribeAsync(topic, { qos: 1 });
  client.on('message', () => process.stdout.write(Date.now() + ' '));
  process.stdout.write('ready ');`;

const ways = [
  { name: 'embedded, MQTT 3.1.1', version: 4 as const, broker: () => embedded(), there: true },
  { name: 'mosquitto, MQTT 5', version: 5 as const, broker: () => mosquitto(), there: hasMosquitto },
];

describe.each(ways)('through $name', ({ name, version, broker: begin, there }) => {
  it.runIf(there)(
    `half of ${ROUNDS} wet floats are answered with \`off\` within 10 ms`,
    async () => {
      const broker = await begin();
      const side = await device(broker.port, version, [FILL]);
      const running = start(broker.port, version, { core: off });
      await until(isUp(running), 'up');
      await until(() => side.texts(FILL).length > 0, 'the first off');
      const took: number[] = [];
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
      }
      await running.bridge.stop(0);
      await side.close();
      await broker.close();
      const sorted = took.toSorted((a, b) => a - b);
      const at = (share: number) => sorted[Math.floor(share * (ROUNDS - 1))] ?? Number.NaN;
      console.info(
        `${name}: wet float to off, p50 ${at(0.5).toFixed(2)} ms, p99 ${at(0.99).toFixed(2)} ms, most ${at(1).toFixed(2)} ms`,
      );
      expect(at(0.5)).toBeLessThan(10);
    },
    60_000,
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
    const listener = spawn(
      process.execPath,
      ['--input-type=module', '-e', LISTENER, '--', String(broker.port), FILL],
      { stdio: ['ignore', 'pipe', 'inherit'] },
    );
    let heard = '';
    listener.stdout.on('data', (chunk) => {
      heard += chunk;
    });
    await until(() => heard.includes('ready'), 'the listener');
    let doneMs = 0;
    running.bridge.turns.subscribe(({ effects }) => {
      if (effects.length === 0 || doneMs > 0) return;
      // What the journal does when it flushes the disk: nothing else runs meanwhile.
      Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 1_000);
      doneMs = Date.now();
    });
    await side.say(HIGH, 'WET');
    await until(() => / \d/.test(heard), 'off at the listener');
    expect(Number(heard.split(' ')[1])).toBeLessThan(doneMs - 500);
    listener.kill('SIGKILL');
    await running.bridge.stop(0);
    await side.close();
    await broker.close();
  },
  30_000,
);
