// One connection, against a broker of forty lines that acknowledges slowly and counts.
import { type AddressInfo, createServer, type Socket } from 'node:net';
import { afterEach, describe, expect, it } from 'vitest';
import { Connection } from '../../src/bridge/connection.ts';
import { until } from './rig.ts';

interface Slow {
  readonly port: number;
  readonly topics: string[];
  readonly mostUnacknowledged: () => number;
  readonly close: () => void;
}

/** MQTT 5, as little of it as is needed: receive maximum 2, and each PUBACK takes 15 ms. */
async function slowBroker(): Promise<Slow> {
  const topics: string[] = [];
  const sockets: Socket[] = [];
  let [open, most] = [0, 0];
  const server = createServer((socket) => {
    sockets.push(socket);
    let bytes = Buffer.alloc(0);
    socket.on('error', () => {});
    socket.on('data', (chunk) => {
      bytes = Buffer.concat([bytes, chunk]);
      // Every packet of this test is shorter than 128 bytes, so its length is one byte.
      while (bytes.length >= 2 && bytes.length >= 2 + (bytes[1] ?? 0)) {
        const packet = bytes.subarray(0, 2 + (bytes[1] ?? 0));
        bytes = bytes.subarray(packet.length);
        const kind = (packet[0] ?? 0) >> 4;
        if (kind === 1) socket.write(Buffer.from([0x20, 6, 0, 0, 3, 0x21, 0, 2]));
        if (kind !== 3) continue;
        const length = packet.readUInt16BE(2);
        topics.push(packet.subarray(4, 4 + length).toString());
        open++;
        most = Math.max(most, open);
        setTimeout(() => {
          open--;
          socket.write(Buffer.from([0x40, 2, packet[4 + length] ?? 0, packet[5 + length] ?? 0]));
        }, 15);
      }
    });
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  return {
    port: (server.address() as AddressInfo).port,
    topics,
    mostUnacknowledged: () => most,
    close: () => {
      for (const socket of sockets) socket.destroy();
      server.close();
    },
  };
}

describe('a broker that takes two messages at once', () => {
  let broker: Slow;
  let connection: Connection;
  afterEach(() => {
    connection.drop();
    broker.close();
  });

  it('gets no third before it acknowledged one, gets all in order, and never an `on` that had to wait', async () => {
    broker = await slowBroker();
    let opened = false;
    const address = { protocol: 'mqtt' as const, host: '127.0.0.1', port: broker.port, path: '' };
    connection = new Connection({ address, version: 5, clientId: 'c' }, 'online', {
      opened: () => {
        opened = true;
      },
      message: () => {},
      denied: () => {},
      closed: () => {},
    });
    expect(connection.publish({ topic: 'early', payload: 'x', retain: false, qos: 1 })).toBe(false);
    await until(() => opened, 'connected');
    const offs = Array.from({ length: 20 }, (_, n) => `off-${n}`);
    for (const topic of offs)
      expect(connection.publish({ topic, payload: 'off', retain: false, qos: 1 })).toBe(true);
    expect(connection.publish({ topic: 'on', payload: 'on', retain: false, qos: 1, nowOrNever: true })).toBe(
      false,
    );
    await until(() => broker.topics.length === offs.length, 'all of them');
    expect(broker.topics).toEqual(offs);
    expect(broker.mostUnacknowledged()).toBe(2);
  });
});
