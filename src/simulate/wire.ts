// The wire of the simulated water: one MQTT client that says what it is given, hands over what arrives, and can wait for
// the service with an end to its patience.
import mqtt from 'mqtt';
import type { Actuator, Plant } from '../station/plant.ts';
import { type Message, messagesOf } from './payloads.ts';

export interface WireOptions {
  readonly plant: Plant;
  readonly broker: string;
  /** Default 5; never falls back by itself. */
  readonly mqtt?: '5' | '3.1.1';
}

export interface Ears {
  /** Something was said on the command topic of these actuators: several may share one and differ in their words. */
  readonly command: (actuators: readonly Actuator[], text: string, isRetained: boolean) => void;
  readonly task: (vessel: string, text: string) => void;
}

export interface Wire {
  readonly sent: () => number;
  readonly say: (message: Message, retain: boolean) => void;
  /** Resolves when this step is done; `again` is called when the service comes back before that. */
  readonly answer: (step: number, withinMs: number, stop: AbortSignal, again: () => void) => Promise<void>;
  readonly online: (withinMs: number, stop: AbortSignal) => Promise<void>;
  readonly close: () => Promise<void>;
}

const CONNECTS_WITHIN_MS = 10_000;

/** @throws Error naming the broker and the mend when nobody answers there. */
export async function wireTo(options: WireOptions, ears: Ears): Promise<Wire> {
  const { plant, broker } = options;
  const own = `vatwarden/${plant.id}`;
  const version5 = (options.mqtt ?? '5') === '5';
  const client = mqtt.connect(broker, {
    protocolVersion: version5 ? 5 : 4,
    clean: true,
    keepalive: 10,
    reconnectPeriod: 500,
    connectTimeout: CONNECTS_WITHIN_MS,
    ...willOf(plant),
  });
  client.on('connect', () => {
    // Two small packets a step would otherwise wait 40 ms for each other.
    const { stream } = client as unknown as { stream?: { setNoDelay?: (on: boolean) => void } };
    stream?.setNoDelay?.(true);
  });
  let isNudgeDue = false;
  client.on('packetreceive', ({ cmd }) => {
    // A broker without `set_tcp_nodelay` holds its next packet until this one is acknowledged: say something, and it is.
    if (isNudgeDue || (cmd !== 'puback' && cmd !== 'publish')) return;
    isNudgeDue = true;
    setImmediate(() => {
      isNudgeDue = false;
      if (client.connected) client.publish(`${own}/time/nudge`, '', { qos: 0 });
    });
  });
  const heard = listenTo(client, plant, ears);
  await connected(client, broker, version5);
  const wanted = [...heard.commandTopics, `${own}/task/+`, `${own}/time/done`, `${own}/online`];
  // Retain as published: a command that asks to be stored shows itself even when it arrives live.
  await client.subscribeAsync(wanted, version5 ? { qos: 1, rap: true } : { qos: 1 });
  let sent = 0;
  return {
    sent: () => sent,
    say: ({ topic, payload }, retain) => {
      sent++;
      client.publish(topic, payload, { qos: 1, retain }, () => {});
    },
    online: (withinMs, stop) =>
      heard.until(
        () => heard.service.isOnline,
        withinMs,
        stop,
        `the service is missing: nobody says 'online' on ${own}/online. Start \`vatwarden run FILE --time topic\` with the same station and broker, or give --realtime`,
      ),
    answer: (step, withinMs, stop, again) => {
      heard.service.again = again;
      return heard.until(
        () => heard.service.stepDone === step,
        withinMs,
        stop,
        `the service is missing: no answer to step ${step} on ${own}/time/done within ${withinMs / 1000} s. See whether \`vatwarden run FILE --time topic\` still runs, and start both again`,
      );
    },
    close: async () => {
      if (client.connected) {
        for (const { topic, payload } of farewell(plant))
          client.publish(topic, payload, { qos: 1, retain: true });
      }
      await client.endAsync(!client.connected);
    },
  };
}

interface Service {
  isOnline: boolean;
  stepDone: number;
  again: () => void;
}

/** Sorts what arrives, and wakes whoever waits for it. */
function listenTo(client: mqtt.MqttClient, plant: Plant, ears: Ears) {
  const own = `vatwarden/${plant.id}`;
  const actuators = new Map<string, readonly Actuator[]>();
  for (const actuator of Object.values(plant.actuators)) {
    const { topic } = actuator.command;
    actuators.set(topic, [...(actuators.get(topic) ?? []), actuator]);
  }
  const service: Service = { isOnline: false, stepDone: 0, again: () => {} };
  let wake: () => void = () => {};
  client.on('message', (topic, payload, packet) => {
    const text = payload.toString();
    const commanded = actuators.get(topic);
    if (commanded !== undefined) ears.command(commanded, text, packet.retain);
    else if (topic === `${own}/time/done`) service.stepDone = stepIn(text) ?? service.stepDone;
    else if (topic === `${own}/online`) {
      const cameBack = text === 'online' && !service.isOnline;
      service.isOnline = text === 'online';
      if (cameBack) service.again();
    } else ears.task(topic.slice(`${own}/task/`.length), text);
    wake();
  });
  const until = (isTrue: () => boolean, withinMs: number, stop: AbortSignal, words: string) =>
    new Promise<void>((resolve, reject) => {
      const end = (finish: () => void) => {
        clearTimeout(timer);
        stop.removeEventListener('abort', look);
        wake = () => {};
        service.again = () => {};
        finish();
      };
      const look = () => {
        if (isTrue() || stop.aborted) end(resolve);
      };
      const timer = setTimeout(() => end(() => reject(new Error(words))), withinMs);
      stop.addEventListener('abort', look);
      wake = look;
      look();
    });
  return { commandTopics: [...actuators.keys()], service, until };
}

async function connected(client: mqtt.MqttClient, broker: string, version5: boolean): Promise<void> {
  await new Promise<void>((resolve, reject) => {
    let last = '';
    const fail = (why: string) => {
      clearTimeout(timer);
      client.end(true);
      reject(new Error(why));
    };
    const timer = setTimeout(
      () => fail(`no broker answers at ${broker}${last}: start one there, or give --broker URL`),
      CONNECTS_WITHIN_MS,
    );
    client.once('connect', () => {
      clearTimeout(timer);
      resolve();
    });
    client.on('error', (error) => {
      // A closed port is tried again until the time is up; a refused greeting is an answer, and its code a number.
      last = ` (${error.message})`;
      if (!('code' in error) || typeof error.code !== 'number') return;
      const mend = version5 && error.code === 1 ? '; it does not speak MQTT 5: give --mqtt 3.1.1' : '';
      fail(`the broker at ${broker} refused: ${error.message}${mend}`);
    });
  });
}

function stepIn(text: string): number | null {
  try {
    const { step } = JSON.parse(text);
    return typeof step === 'number' ? step : null;
  } catch {
    return null;
  }
}

/** One connection has one will; the other devices' farewells are said when it ends in order. */
function willOf(plant: Plant) {
  const [first] = farewell(plant);
  return first === undefined
    ? {}
    : { will: { topic: first.topic, payload: Buffer.from(first.payload), qos: 1 as const, retain: true } };
}

function farewell(plant: Plant): readonly Message[] {
  const sensors = Object.keys(plant.sensors).map((device) => ({ device, kind: 'sensor' as const }));
  const actuators = Object.keys(plant.actuators).map((device) => ({ device, kind: 'actuator' as const }));
  return messagesOf(
    plant,
    [...sensors, ...actuators].map((device) => ({ of: 'availability' as const, online: false, ...device })),
  );
}
