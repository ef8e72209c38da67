// A second connection to the broker that only listens: what an output says of itself while our own link is cut.
import type { MqttClient } from 'mqtt';
import { codecOf } from '../bridge/codec.ts';
import { askedOf, type Settings } from '../bridge/packets.ts';
import { greeted } from '../mqtt/client.ts';
import type { Plant } from '../station/plant.ts';
import type { Witness } from './trial.ts';

export interface ListeningWitness extends Witness {
  readonly close: () => Promise<void>;
}

/** @param stayAway cuts our own link for so long */
export async function witnessOf(
  plant: Plant,
  settings: Settings,
  stayAway: (forMs: number) => void,
  nowMs: () => number,
): Promise<ListeningWitness> {
  const client = await listening({ ...settings, clientId: `${settings.clientId}-witness` });
  const codec = codecOf(plant);
  const topics = Object.values(plant.actuators).flatMap(({ feedback }) =>
    feedback === null ? [] : [feedback.topic],
  );
  if (topics.length > 0) await client.subscribeAsync([...new Set(topics)], { qos: 1 });
  return {
    cutLink: (output, forMs) =>
      new Promise((resolve) => {
        const done = (offMs: number | null) => {
          clearTimeout(timer);
          client.off('message', hear);
          resolve(offMs);
        };
        const hear = (topic: string, payload: Buffer, { retain }: { readonly retain: boolean }) => {
          const isOff = codec
            .read(topic, payload, retain)
            .some(
              (input) => input.type === 'feedback' && input.live && input.actuator === output && !input.on,
            );
          if (isOff) done(nowMs());
        };
        const timer = setTimeout(() => done(null), forMs);
        client.on('message', hear);
        // Longer than anybody watches: our first word on coming back is `off`.
        stayAway(forMs + BACK_AFTER_MS);
      }),
    close: () => client.endAsync(),
  };
}
const BACK_AFTER_MS = 1_000;

/** Without a will: nobody must take it for the service. */
function listening(settings: Settings): Promise<MqttClient> {
  const { will: _, ...asked } = askedOf(settings, '');
  return greeted(null, { ...asked, reconnectPeriod: 1_000, resubscribe: true });
}
