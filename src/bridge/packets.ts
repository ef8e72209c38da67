// What goes into the packets of a connection and what is read out of them; MQTT 5 and 3.1.1 differ here and nowhere else.
import type { IPublishPacket } from 'mqtt';
import { type Asked, type Login, ONCE } from '../mqtt/client.ts';
import type { Address } from './broker-address.ts';
import { LIMITS } from './limits.ts';
import type { Message, Outgoing } from './message.ts';

export interface Settings extends Login {
  readonly address: Address;
  /** 5 unless a person said otherwise; never changed by itself. */
  readonly version: 4 | 5;
  readonly clientId: string;
}

export interface Envelope extends Outgoing {
  readonly qos: 0 | 1;
  /** MQTT 5: the broker drops it after so long. Whole seconds. */
  readonly expiryS?: number;
  readonly sender?: string;
  /** It must go now or not at all: an `on`. Everything else may wait for the broker's receive maximum. */
  readonly nowOrNever?: boolean;
}

/** R14: nothing of an old session comes back. R15: the keepalive is the second line behind our own heartbeat. */
export function askedOf({ address, version, ...access }: Settings, onlineTopic: string): Asked {
  const { path, ...where } = address;
  return {
    ...where,
    ...access,
    ...(address.protocol.startsWith('ws') ? { path } : {}),
    ...ONCE,
    version,
    keepalive: LIMITS.keepaliveS,
    connectTimeout: LIMITS.connectMs,
    will: { topic: onlineTopic, payload: 'offline', qos: 1, retain: true },
    // R21: no topic aliases (none is offered, none is used).
    ...(version === 5
      ? { properties: { sessionExpiryInterval: 0, maximumPacketSize: LIMITS.packetBytes } }
      : {}),
  };
}

export function propertiesOf({ expiryS, sender }: Envelope, version: 4 | 5) {
  if (version !== 5 || (expiryS === undefined && sender === undefined)) return {};
  return {
    properties: {
      ...(expiryS === undefined ? {} : { messageExpiryInterval: expiryS }),
      ...(sender === undefined ? {} : { userProperties: { sender } }),
    },
  };
}

export function messageOf(payload: Buffer, { topic, retain, dup, properties }: IPublishPacket): Message {
  const sender = properties?.userProperties?.sender;
  return { topic, payload, retain, dup, sender: typeof sender === 'string' ? sender : null };
}
