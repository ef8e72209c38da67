// The connections of the simulated water: one for everything, or, at a broker that knows the parties of a station apart, one
// for each of them. Every device then speaks and listens as itself, and may no more than the real one would.
import type { IPublishPacket, MqttClient } from 'mqtt';
import { Coded } from '../errors/coded.ts';
import { verdictOf } from '../errors/refusals.ts';
import { type Asked, nudgeOn, opened } from '../mqtt/client.ts';
import type { Message } from './payloads.ts';

/** One account at the broker, and the topics (or filters with `+`) for which it stands. */
export interface Party {
  readonly username: string;
  readonly password: string;
  readonly writes: readonly string[];
  readonly reads: readonly string[];
}

export interface Access {
  /** The authority that signed the broker's certificate, PEM. */
  readonly ca?: Buffer;
  readonly username?: string;
  readonly password?: string;
  /** Who says and hears what; none: one connection for everything. */
  readonly parties?: readonly Party[];
}

export interface ConnectionsOptions {
  readonly broker: string;
  readonly version: 4 | 5;
  readonly access: Access;
  /** What is listened to. */
  readonly filters: readonly string[];
  /** Said for us when a connection is lost: the first of these that its party may say. */
  readonly farewells: readonly Message[];
  /** A word that says nothing goes here, where the party of the connection may say it. */
  readonly nudgeTopic: string;
  readonly heard: (topic: string, text: string, packet: IPublishPacket) => void;
}

export interface Connections {
  /** @throws Error where nobody may say it, also when that shows only by the broker's answer to an earlier word */
  readonly say: (message: Message, retain: boolean) => void;
  /**
   * All that was said has been taken by the broker, so that what another connection says next comes after it. Resolves
   * after a while all the same: a broker that is away shows itself when nobody answers.
   */
  readonly taken: (stop: AbortSignal) => Promise<void>;
  /** All that the broker had for us has been heard, on whatever connection. */
  readonly caughtUp: () => Promise<void>;
  readonly close: () => Promise<void>;
}

const CONNECTS_WITHIN_MS = 10_000;
const TAKEN_WITHIN_MS = 5000;
/** MQTT 5, section 3.4.2.1. */
const NOT_AUTHORIZED = 135;

interface Line {
  readonly client: MqttClient;
  readonly party: Party | null;
  readonly filters: readonly string[];
  /** Said and not yet taken. */
  readonly open: Set<Promise<void>>;
  readonly pings: { asked: number; answered: number };
}

/** @throws Error naming the broker and the mend where nobody answers, or the topic that nobody may say or hear. */
export async function connectionsTo(options: ConnectionsOptions): Promise<Connections> {
  const { version, farewells, access } = options;
  const lines = linesOf(options);
  const isOne = lines.length === 1;
  try {
    await Promise.all(lines.map(({ client }) => connected(client, options)));
    // Retain as published: a command that asks to be stored shows itself even when it arrives live.
    await Promise.all(
      lines.map(({ client, filters }) =>
        filters.length === 0
          ? undefined
          : client.subscribeAsync([...filters], version === 5 ? { qos: 1, rap: true } : { qos: 1 }),
      ),
    );
  } catch (error) {
    for (const { client } of lines) client.end(true);
    throw error;
  }
  let denied: Error | null = null;
  const say = ({ topic, payload }: Message, retain: boolean): void => {
    if (denied !== null) throw denied;
    const { client, open, party } = lineFor(lines, topic);
    const taking = new Promise<void>((resolve) => {
      client.publish(topic, payload, { qos: 1, retain }, (failure) => {
        if ((failure as { code?: unknown } | undefined)?.code === NOT_AUTHORIZED) {
          const who = party?.username ?? access.username ?? 'somebody without a name';
          denied ??= new Coded(
            'E-316',
            `the broker does not let ${who} write ${topic}: is its access list the present one?`,
          );
        }
        resolve();
      });
    });
    // On one connection everything is in order anyway.
    if (isOne) return;
    open.add(taking);
    void taking.then(() => open.delete(taking));
  };
  return {
    say,
    taken: async (stop) => {
      const open = lines.flatMap((line) => [...line.open]);
      if (open.length > 0) await withPatience(Promise.all(open), stop);
    },
    caughtUp: async () => {
      if (!isOne) await Promise.all(lines.filter(({ filters }) => filters.length > 0).map(pinged));
    },
    close: async () => {
      for (const { topic, payload } of farewells) {
        const { client } = lineFor(lines, topic);
        // Whoever is denied here was told before, or has nothing to say any more.
        if (client.connected) client.publish(topic, payload, { qos: 1, retain: true }, () => {});
      }
      await Promise.all(lines.map(({ client }) => client.endAsync(!client.connected)));
    },
  };
}

function linesOf(options: ConnectionsOptions): readonly Line[] {
  const { access, filters, farewells } = options;
  const { parties = [] } = access;
  if (parties.length === 0) return [lineOf(options, null, filters)];
  const wanted = new Map<Party, string[]>(parties.map((party) => [party, []]));
  for (const filter of filters) {
    const party = parties.find(({ reads }) => covers(reads, filter));
    if (party === undefined) throw nobodyMay('listen to', filter);
    wanted.get(party)?.push(filter);
  }
  for (const { topic } of farewells)
    if (!parties.some(({ writes }) => covers(writes, topic))) throw nobodyMay('write', topic);
  return [...wanted].map(([party, own]) => lineOf(options, party, own));
}

function lineOf(options: ConnectionsOptions, party: Party | null, filters: readonly string[]): Line {
  const { broker, heard, nudgeTopic } = options;
  const client = opened(broker, askedOf(options, party));
  if (party === null || covers(party.writes, nudgeTopic)) nudgeOn(client, nudgeTopic);
  client.on('message', (topic, payload, packet) => heard(topic, payload.toString(), packet));
  return { client, party, filters, open: new Set(), pings: countPings(client) };
}

function askedOf({ version, access, farewells }: ConnectionsOptions, party: Party | null): Asked {
  const { ca, username = party?.username, password = party?.password } = access;
  const will = farewells.find(({ topic }) => party === null || covers(party.writes, topic));
  return {
    version,
    reconnectPeriod: 500,
    connectTimeout: CONNECTS_WITHIN_MS,
    ...(ca === undefined ? {} : { ca }),
    ...(username === undefined ? {} : { username }),
    ...(password === undefined ? {} : { password }),
    // One connection has one will; the other devices' farewells are said when it ends in order.
    ...(will === undefined
      ? {}
      : { will: { topic: will.topic, payload: will.payload, qos: 1 as const, retain: true } }),
  };
}

function lineFor(lines: readonly Line[], topic: string): Line {
  const line = lines.find(({ party }) => party === null || covers(party.writes, topic));
  if (line === undefined) throw nobodyMay('write', topic);
  return line;
}

function nobodyMay(what: string, topic: string): Coded {
  return new Coded(
    'E-316',
    `no account may ${what} ${topic}: write the accounts anew with \`vatwarden wire FILE --accounts DIRECTORY --simulated\`, and give the broker the new list`,
  );
}

/** A filter that stands there word for word, or a topic that one of them matches. */
function covers(filters: readonly string[], wanted: string): boolean {
  return filters.some((filter) => {
    if (filter === wanted) return true;
    if (!filter.includes('+')) return false;
    const [parts, levels] = [filter.split('/'), wanted.split('/')];
    return parts.length === levels.length && parts.every((part, at) => part === '+' || part === levels[at]);
  });
}

function withPatience(what: Promise<unknown>, stop: AbortSignal): Promise<void> {
  return new Promise((resolve) => {
    const end = () => {
      clearTimeout(timer);
      stop.removeEventListener('abort', end);
      resolve();
    };
    const timer = setTimeout(end, TAKEN_WITHIN_MS);
    stop.addEventListener('abort', end);
    void what.then(end);
  });
}

/**
 * A broker answers a ping after everything that it had for this connection before. Answers are counted against pings: the
 * client sends some of its own, and the answer to one that was already under way would come too early.
 */
function pinged({ client, pings }: Line): Promise<void> {
  if (!client.connected) return Promise.resolve();
  return new Promise((resolve) => {
    const end = () => {
      client.off('packetreceive', look);
      client.off('close', end);
      resolve();
    };
    client.sendPing();
    const wanted = pings.asked;
    const look = () => {
      if (pings.answered >= wanted) end();
    };
    client.on('packetreceive', look);
    client.on('close', end);
  });
}

function countPings(client: MqttClient): Line['pings'] {
  const pings = { asked: 0, answered: 0 };
  client.on('packetsend', ({ cmd }) => {
    if (cmd === 'pingreq') pings.asked++;
  });
  client.on('packetreceive', ({ cmd }) => {
    if (cmd === 'pingresp') pings.answered++;
  });
  // What was under way when a connection ended is answered by nobody.
  client.on('close', () => Object.assign(pings, { asked: 0, answered: 0 }));
  return pings;
}

async function connected(client: MqttClient, { broker, version }: ConnectionsOptions): Promise<void> {
  await new Promise<void>((resolve, reject) => {
    let last: Error = Object.assign(new Error('no answer'), { code: 'ETIMEDOUT' });
    const fail = (why: Coded) => {
      clearTimeout(timer);
      client.end(true);
      reject(why);
    };
    const timer = setTimeout(() => fail(unreached(last, broker, version)), CONNECTS_WITHIN_MS);
    client.once('connect', () => {
      clearTimeout(timer);
      resolve();
    });
    client.on('error', (error) => {
      // A closed port is tried again until the time is up; a refusal is an answer.
      last = error;
      const refusal = refusalOf(error, broker, version);
      if (refusal !== null) fail(refusal);
    });
  });
}

/** What a broker's final refusal means, with the mend; null for what may go away when it is tried again. */
export function refusalOf(error: Error, broker: string, version: 4 | 5): Coded | null {
  const { code, final, words } = verdictOf(error, version);
  if (!final) return null;
  const mend = code === 'E-313' ? '. Give --username and --password-file, or --accounts' : '';
  return new Coded(code, `the broker at ${broker} can't be used: ${words}${mend}`, error);
}

/** For somebody who does not want to wait for a broker that may come. */
export function unreached(error: Error, broker: string, version: 4 | 5): Coded {
  const { code, words } = verdictOf(error, version);
  return new Coded(code, `no broker answers at ${broker}: ${words}`, error);
}
