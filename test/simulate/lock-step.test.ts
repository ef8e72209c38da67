import type { AddressInfo } from 'node:net';
import { createServer, type Server } from 'node:net';
import { Aedes } from 'aedes';
import mqtt, { type MqttClient } from 'mqtt';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { startWater } from '../../src/simulate/station-water.ts';
import { bench, marram } from './stations.ts';

let broker: Aedes;
let server: Server;
let url: string;
const clients: MqttClient[] = [];

beforeEach(async () => {
  broker = await Aedes.createBroker();
  server = createServer({ noDelay: true }, broker.handle);
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  url = `mqtt://127.0.0.1:${(server.address() as AddressInfo).port}`;
});

afterEach(async () => {
  for (const client of clients.splice(0)) await client.endAsync(true);
  await new Promise<void>((resolve) => broker.close(() => resolve()));
  await new Promise<void>((resolve) => server.close(() => resolve()));
});

/** A service that knows nothing but how to answer: the least that keeps the water going. */
async function peer(station: string, onTime: (step: number, client: MqttClient) => void = () => {}) {
  const own = `vatwarden/${station}`;
  const heard: string[] = [];
  const client = await mqtt.connectAsync(url, { protocolVersion: 4, reconnectPeriod: 0 });
  clients.push(client);
  (client.stream as unknown as { setNoDelay: (on: boolean) => void }).setNoDelay(true);
  client.on('message', (topic, payload) => {
    heard.push(`${topic} ${payload}`);
    if (topic !== `${own}/time`) return;
    const { step } = JSON.parse(payload.toString());
    onTime(step, client);
    client.publish(`${own}/time/done`, JSON.stringify({ step }), { qos: 1 });
  });
  await client.subscribeAsync('#', { qos: 1 });
  client.publish(`${own}/online`, 'online', { qos: 1, retain: true });
  return { heard, client };
}

describe('the water on MQTT', () => {
  it('keeps lock step and reports speed', async () => {
    await peer(marram.id);
    const start = performance.now();
    const verdict = await startWater({ plant: marram, broker: url, mqtt: '3.1.1', forMs: 2000 * 5000 }).done;
    const seconds = (performance.now() - start) / 1000;
    console.log(`${(2000 / seconds).toFixed(0)} steps/s, ${verdict.messages / 2000} messages a step`);
    expect(verdict.elapsedMs).toBe(10_000_000);
  });
});
