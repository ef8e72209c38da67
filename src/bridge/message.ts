// A message as the rooms behind the connection see it: no packet, no client.

export interface Message {
  readonly topic: string;
  readonly payload: Uint8Array;
  /** It was stored: history, not news (R9). */
  readonly retain: boolean;
  readonly dup: boolean;
  /** Who signed it, MQTT 5 only; see own-commands.ts. */
  readonly sender: string | null;
}

export interface Outgoing {
  readonly topic: string;
  readonly payload: string;
  readonly retain: boolean;
}

/** One line of a log: a stable event name and what belongs to it. pino's loggers fit. */
export interface Log {
  readonly debug: (fields: object, event: string) => void;
  readonly info: (fields: object, event: string) => void;
  readonly warn: (fields: object, event: string) => void;
  readonly error: (fields: object, event: string) => void;
}
