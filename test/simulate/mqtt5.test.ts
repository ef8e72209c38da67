// MQTT 5 against a real broker: mosquitto on loopback, with a private configuration. Skipped, and said so, where it is not
// installed (the broker inside these tests speaks 3.1.1 only).
import mqtt, { type MqttClient } from 'mqtt';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { startWater } from '../../src/simulate/station-water.ts';
import { hasMosquitto, mosquitto, type TestBroker } from '../tools/brokers.ts';
import { bench } from './stations.ts';

describe.runIf(hasMosquitto)('the water on a broker with MQTT 5', () => {
  let broker: TestBroker;
  let url: string;
  let service: MqttClient;

  beforeAll(async () => {
    broker = await mosquitto();
    url = `mqtt://127.0.0.1:${broker.port}`;
    service = await mqtt.connectAsync(url, { protocolVersion: 5, reconnectPeriod: 100 });
  });

  afterAll(async () => {
    await service?.endAsync(true);
    await broker?.close();
  });

  it('goes step by step, and refuses a command that asks to be stored even when it arrives live', async () => {
    const { topic } = bench.actuators.fill?.command ?? { topic: '' };
    const payload = '{"on":true,"for_ms":9000}';
    (service.stream as unknown as { setNoDelay: (on: boolean) => void }).setNoDelay(true);
    service.on('message', (_, text) => {
      const { step } = JSON.parse(text.toString());
      if (step === 2) service.publish(topic, payload, { qos: 1, retain: true });
      if (step === 3) service.publish(topic, payload, { qos: 1, properties: { messageExpiryInterval: 9 } });
      service.publish(`vatwarden/${bench.id}/time/done`, JSON.stringify({ step }), { qos: 1 });
    });
    await service.subscribeAsync(`vatwarden/${bench.id}/time`, { qos: 1 });
    service.publish(`vatwarden/${bench.id}/online`, 'online', { qos: 1, retain: true });
    const steps = 1000;
    const result = await startWater({ plant: bench, broker: url, forMs: steps * 5000 }).done;
    expect(result.refused).toEqual({ retained: 1, unreadable: 0, late: 0 });
    expect(result.commands.fill).toBe(1);
    expect(result.elapsedMs).toBe(steps * 5000);
  });
});
