// Devices that speak only on change are asked for their state: as soon as the connection is up, because they may have spoken
// last before this service began to listen, and then again and again, so that a steady state stays evidence.
import type { Plant } from '../station/plant.ts';
import type { Outgoing } from './message.ts';

export interface Asking {
  /** What is to be published now. */
  readonly due: (nowMs: number) => readonly Outgoing[];
  /** The connection is new: everybody is asked again. */
  readonly anew: () => void;
}

export function askingOf({ sensors, actuators }: Plant): Asking {
  const asks = [
    ...Object.values(sensors),
    ...Object.values(actuators).map(({ feedback }) => feedback),
  ].flatMap((heard) => heard?.ask ?? []);
  // One message may be the question to a whole board.
  const questions = new Map<string, { message: Outgoing; everyMs: number; nextMs: number }>();
  for (const { topic, payload, everyMs } of asks) {
    const key = JSON.stringify([topic, payload]);
    const often = Math.min(everyMs, questions.get(key)?.everyMs ?? everyMs);
    questions.set(key, { message: { topic, payload, retain: false }, everyMs: often, nextMs: 0 });
  }
  return {
    due: (nowMs) =>
      [...questions.values()].flatMap((question) => {
        if (nowMs < question.nextMs) return [];
        question.nextMs = nowMs + question.everyMs;
        return [question.message];
      }),
    anew: () => {
      for (const question of questions.values()) question.nextMs = 0;
    },
  };
}
