import { connect } from 'node:net';
import { networkInterfaces } from 'node:os';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type Broker, startBroker } from '../../src/bridge/broker.ts';
import { type Device, device, until } from './rig.ts';

describe('the broker in the same process', () => {
  let broker: Broker;
  let side: Device;
  beforeEach(async () => {
    broker = await startBroker(0, new Set(['rig/fill/cmd']));
    side = await device(broker.port, 4);
  });
  afterEach(async () => {
    await side.close();
    await broker.close();
  });
  const stored = async (topic: string) => {
    const late = await device(broker.port, 4, [topic, 'end']);
    await late.say('end', 'x');
    await until(() => late.texts('end').length > 0, 'the end');
    const found = late.texts(topic);
    await late.close();
    return found;
  };

  it('R1: stores no command, however it is published, and still delivers it and keeps the client', async () => {
    await side.say('rig/fill/cmd', '{"on":true}', true);
    await until(() => side.texts('rig/fill/cmd').length === 1, 'the command');
    expect(await stored('rig/fill/cmd')).toEqual([]);
    expect(side.client.connected).toBe(true);
  });

  it('stores everything else', async () => {
    await side.say('rig/fresh/level', '5', true);
    expect(await stored('rig/fresh/level')).toEqual(['5']);
  });

  it('says so when the port is taken', async () => {
    await expect(startBroker(broker.port, new Set())).rejects.toThrow('port');
  });

  it('is there for this computer only', async () => {
    const others = Object.values(networkInterfaces())
      .flatMap((list) => list ?? [])
      .filter(({ internal, family }) => !internal && family === 'IPv4');
    for (const { address } of others) {
      const answer = await new Promise<string>((resolve) => {
        const socket = connect({ host: address, port: broker.port, timeout: 1000 });
        socket.once('connect', () => resolve('there'));
        socket.once('error', ({ message }) => resolve(message));
        socket.once('timeout', () => resolve('silent'));
      });
      expect(answer).not.toBe('there');
    }
    expect(broker.url).toBe(`mqtt://127.0.0.1:${broker.port}`);
  });
});
