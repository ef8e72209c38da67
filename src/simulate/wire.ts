// The wire of the simulated water: it says what it is given, hands over what arrives, and can wait for the service with an
// end to its patience.
import type { Actuator, Plant } from '../station/plant.ts';
import { type Access, type ConnectionsOptions, connectionsTo } from './connections.ts';
import { type Message, messagesOf } from './payloads.ts';

export interface WireOptions {
  readonly plant: Plant;
  readonly broker: string;
  /** Default 5; never falls back by itself. */
  readonly mqtt?: '5' | '3.1.1';
  /** How to get in. Default: one connection, nobody by name. */
  readonly access?: Access;
}

export interface Ears {
  /** Something was said on the command topic of these actuators: several may share one and differ in their words. */
  readonly command: (actuators: readonly Actuator[], text: string, isRetained: boolean) => void;
  readonly task: (vessel: string, text: string) => void;
}

export interface Wire {
  readonly sent: () => number;
  readonly say: (message: Message, retain: boolean) => void;
  /** All that was said has been taken by the broker. */
  readonly taken: (stop: AbortSignal) => Promise<void>;
  /** Resolves when this step is done; `again` is called when the service comes back before that. */
  readonly answer: (step: number, withinMs: number, stop: AbortSignal, again: () => void) => Promise<void>;
  readonly online: (withinMs: number, stop: AbortSignal) => Promise<void>;
  readonly close: () => Promise<void>;
}

/** @throws Error naming the broker and the mend when nobody answers there. */
export async function wireTo(
  options: WireOptions & { readonly needsClock: boolean },
  ears: Ears,
): Promise<Wire> {
  const { plant, broker, access = {} } = options;
  const own = `vatwarden/${plant.id}`;
  const heard = sorter(plant, ears);
  const connections = await connectionsTo({
    broker,
    version: (options.mqtt ?? '5') === '5' ? 5 : 4,
    access,
    filters: [
      ...heard.commandTopics,
      `${own}/task/+`,
      ...(options.needsClock ? [`${own}/time/done`, `${own}/online`] : []),
    ],
    farewells: farewell(plant),
    nudgeTopic: `${own}/time/nudge`,
    heard: heard.hear,
  });
  let sent = 0;
  return {
    sent: () => sent,
    say: (message, retain) => {
      sent++;
      connections.say(message, retain);
    },
    taken: connections.taken,
    online: (withinMs, stop) =>
      heard.until(
        () => heard.service.isOnline,
        withinMs,
        stop,
        `the service is missing: nobody says 'online' on ${own}/online. Start \`vatwarden run FILE --time topic\` with the same station and broker, or give --realtime`,
      ),
    answer: async (step, withinMs, stop, again) => {
      heard.service.again = again;
      await heard.until(
        () => heard.service.stepDone === step,
        withinMs,
        stop,
        `the service is missing: no answer to step ${step} on ${own}/time/done within ${withinMs / 1000} s. See whether \`vatwarden run FILE --time topic\` still runs, and start both again`,
      );
      await connections.caughtUp();
    },
    close: connections.close,
  };
}

interface Service {
  isOnline: boolean;
  stepDone: number;
  again: () => void;
}

/** Sorts what arrives, and wakes whoever waits for it. */
function sorter(plant: Plant, ears: Ears) {
  const own = `vatwarden/${plant.id}`;
  const actuators = new Map<string, readonly Actuator[]>();
  for (const actuator of Object.values(plant.actuators)) {
    const { topic } = actuator.command;
    actuators.set(topic, [...(actuators.get(topic) ?? []), actuator]);
  }
  const service: Service = { isOnline: false, stepDone: 0, again: () => {} };
  let wake: () => void = () => {};
  const hear: ConnectionsOptions['heard'] = (topic, text, packet) => {
    const commanded = actuators.get(topic);
    if (commanded !== undefined) ears.command(commanded, text, packet.retain);
    else if (topic === `${own}/time/done`) service.stepDone = stepIn(text) ?? service.stepDone;
    else if (topic === `${own}/online`) {
      const cameBack = text === 'online' && !service.isOnline;
      service.isOnline = text === 'online';
      if (cameBack) service.again();
    } else ears.task(topic.slice(`${own}/task/`.length), text);
    wake();
  };
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
  return { commandTopics: [...actuators.keys()], hear, service, until };
}

function stepIn(text: string): number | null {
  try {
    const { step } = JSON.parse(text);
    return typeof step === 'number' ? step : null;
  } catch {
    return null;
  }
}

function farewell(plant: Plant): readonly Message[] {
  const sensors = Object.keys(plant.sensors).map((device) => ({ device, kind: 'sensor' as const }));
  const actuators = Object.keys(plant.actuators).map((device) => ({ device, kind: 'actuator' as const }));
  return messagesOf(
    plant,
    [...sensors, ...actuators].map((device) => ({ of: 'availability' as const, online: false, ...device })),
  );
}
