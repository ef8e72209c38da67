// Brokers that say one wrong thing, each on a free port of this computer: a greeting that refuses, a subscription that is not
// granted, a hang-up, a certificate.
import { type AddressInfo, createServer, type Server, type Socket } from 'node:net';
import { createServer as createTlsServer } from 'node:tls';
import type { Pair } from './certificates.ts';

export interface Wrong {
  readonly port: number;
  readonly close: () => Promise<void>;
}

/** CONNACK with this reason code (MQTT 5, section 3.2). */
export function refusing(reason: number): Promise<Wrong> {
  return serving((socket) => {
    socket.once('data', () => socket.end(Buffer.from([0x20, 3, 0, reason, 0])));
  });
}

/** Greets, then answers the subscription with this reason code, or hangs up where there is none. */
export function greeting(reason: number | null): Promise<Wrong> {
  return serving((socket) => {
    socket.on('data', (packet) => {
      const kind = (packet[0] ?? 0) >> 4;
      if (kind === 1) socket.write(Buffer.from([0x20, 3, 0, 0, 0]));
      if (kind !== 8) return;
      if (reason === null) socket.end();
      else socket.write(Buffer.from([0x90, 4, packet[2] ?? 0, packet[3] ?? 0, 0, reason]));
    });
  });
}

export function withCertificate(pair: Pair, wantsOurs = false): Promise<Wrong> {
  const server = createTlsServer(
    { ...pair, requestCert: wantsOurs, rejectUnauthorized: wantsOurs },
    (socket) => {
      socket.on('error', () => {});
    },
  );
  return listening(server, new Set());
}

function serving(each: (socket: Socket) => void): Promise<Wrong> {
  const sockets = new Set<Socket>();
  const server = createServer((socket) => {
    sockets.add(socket);
    socket.on('error', () => {});
    each(socket);
  });
  return listening(server, sockets);
}

async function listening(server: Server, sockets: ReadonlySet<Socket>): Promise<Wrong> {
  await new Promise<void>((resolve) => {
    server.listen(0, '127.0.0.1', resolve);
  });
  return {
    port: (server.address() as AddressInfo).port,
    close: () =>
      new Promise((resolve) => {
        for (const socket of sockets) socket.destroy();
        server.close(() => resolve());
      }),
  };
}
