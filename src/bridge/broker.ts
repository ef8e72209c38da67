// A broker in the same process, for the demo and for trying things: on this computer only, MQTT 3.1.1 only, nothing is
// kept when it ends. A station needs a real one.
import { type AddressInfo, createServer } from 'node:net';
import { Aedes } from 'aedes';
import { portTrouble } from '../errors/coded.ts';

export interface Broker {
  readonly url: string;
  readonly port: number;
  readonly close: () => Promise<void>;
}

/**
 * Starts it on 127.0.0.1.
 * @param port 0: any free one.
 * @param commandTopics R1: on these the retain flag is taken off, so that no command is ever stored. Nothing is refused
 * with an error: this broker answers an error by cutting the connection, and the client would send the same again for ever.
 * @throws Coded when the port is taken.
 */
export async function startBroker(port: number, commandTopics: ReadonlySet<string>): Promise<Broker> {
  const aedes = await Aedes.createBroker({
    authorizePublish: (_client, packet, done) => {
      if (commandTopics.has(packet.topic) && packet.payload.length > 0) packet.retain = false;
      done(null);
    },
  });
  // Without noDelay on this side, too, every answer waits 40 ms for the other side's acknowledgement.
  const server = createServer({ noDelay: true }, aedes.handle);
  await new Promise<void>((resolve, reject) => {
    server.once('error', (error) => reject(portTrouble('the broker of the demo', port, '--port', error)));
    server.listen(port, '127.0.0.1', resolve);
  });
  const chosen = (server.address() as AddressInfo).port;
  return {
    url: `mqtt://127.0.0.1:${chosen}`,
    port: chosen,
    close: async () => {
      await new Promise<void>((resolve) => aedes.close(resolve));
      await new Promise<void>((resolve) => {
        server.close(() => resolve());
      });
    },
  };
}
