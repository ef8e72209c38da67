// A wire that can be cut in the ways real ones are: a TCP proxy in front of a broker.
//
// `swallow` is a switched-off access point: both ends still call it a connection, nothing arrives, and what was sent
// comes late if the connection lives that long (as TCP sends again). `cut` is a pulled plug that the kernel notices.
import { type AddressInfo, connect, createServer, type Socket } from 'node:net';

export interface BlackHole {
  readonly port: number;
  readonly swallow: () => void;
  readonly restore: () => void;
  readonly cut: () => void;
  /** Refuse new connections, too, until `restore`. */
  readonly connections: () => number;
  readonly close: () => Promise<void>;
}

export async function blackHole(targetPort: number): Promise<BlackHole> {
  let swallowing = false;
  let connections = 0;
  const pairs = new Set<{ near: Socket; far: Socket; held: [Socket, Buffer][] }>();
  const server = createServer({ noDelay: true }, (near) => {
    connections++;
    const far = connect({ port: targetPort, host: '127.0.0.1', noDelay: true });
    const pair = { near, far, held: [] as [Socket, Buffer][] };
    pairs.add(pair);
    for (const [from, to] of [
      [near, far],
      [far, near],
    ] as const) {
      from.on('data', (chunk) => {
        if (swallowing) pair.held.push([to, chunk]);
        else to.write(chunk);
      });
      from.on('error', () => {});
      from.on('close', () => {
        // What was still under way when an end went away is lost for good.
        pairs.delete(pair);
        to.destroy();
      });
    }
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  return {
    port: (server.address() as AddressInfo).port,
    swallow: () => {
      swallowing = true;
    },
    restore: () => {
      swallowing = false;
      for (const pair of pairs) {
        for (const [to, chunk] of pair.held) to.write(chunk);
        pair.held = [];
      }
    },
    cut: () => {
      for (const { near, far } of pairs) {
        near.resetAndDestroy();
        far.resetAndDestroy();
      }
    },
    connections: () => connections,
    close: async () => {
      for (const { near, far } of pairs) {
        near.destroy();
        far.destroy();
      }
      await new Promise<void>((resolve) => {
        server.close(() => resolve());
      });
    },
  };
}
