// As many readings as a broker will take, written to the socket by hand: a client library would be the slowest of all that
// is measured. MQTT 3.1.1, QoS 0, or QoS 1 with a bounded number of messages unacknowledged.
import { connect, type Socket } from 'node:net';
import { answering, optionsGiven } from './children.ts';

export interface FloodOptions {
  readonly port: number;
  /** Said over and over, in this order. */
  readonly messages: readonly { readonly topic: string; readonly payload: string }[];
}

const { port, messages } = optionsGiven<FloodOptions>();
/** Messages that travel in one gulp. */
const GULP = 500;
/** QoS 1: gulps unacknowledged. */
const AHEAD = 2;

function lengthOf(bytes: number): Buffer {
  const digits: number[] = [];
  for (let left = bytes; digits.length === 0 || left > 0; left = Math.floor(left / 128))
    digits.push((left % 128) + (left >= 128 ? 128 : 0));
  return Buffer.from(digits);
}

function text(value: string): Buffer {
  const bytes = Buffer.from(value);
  return Buffer.concat([Buffer.from([bytes.length >> 8, bytes.length & 255]), bytes]);
}

const packet = (head: number, body: Buffer): Buffer =>
  Buffer.concat([Buffer.from([head]), lengthOf(body.length), body]);

function published(nth: number, qos: 0 | 1): Buffer {
  const message = messages[nth % messages.length] as FloodOptions['messages'][number];
  const topic = text(message.topic);
  const id = qos === 0 ? Buffer.alloc(0) : Buffer.from([((nth % GULP) + 1) >> 8, ((nth % GULP) + 1) & 255]);
  return packet(0x30 | (qos << 1), Buffer.concat([topic, id, Buffer.from(message.payload)]));
}

async function connected(): Promise<Socket> {
  const socket = connect({ port, host: '127.0.0.1', noDelay: true });
  const body = Buffer.concat([text('MQTT'), Buffer.from([4, 2, 0, 0]), text(`flood-${process.pid}`)]);
  const greeted = new Promise<void>((resolve) => socket.once('data', () => resolve()));
  socket.write(packet(0x10, body));
  await greeted;
  return socket;
}

const socket = await connected();
let acknowledgedBytes = 0;
let told: () => void = () => {};
socket.on('data', (chunk) => {
  acknowledgedBytes += chunk.length;
  told();
});

async function flood(count: number, qos: 0 | 1, forMs: number): Promise<number> {
  const gulp = Buffer.concat(Array.from({ length: GULP }, (_, nth) => published(nth, qos)));
  acknowledgedBytes = 0;
  const endMs = performance.now() + forMs;
  let sent = 0;
  while (sent < count && performance.now() < endMs) {
    if (!socket.write(gulp)) await new Promise((resolve) => socket.once('drain', resolve));
    else await new Promise(setImmediate);
    sent += GULP;
    // An acknowledgement has four bytes.
    while (qos === 1 && sent - acknowledgedBytes / 4 >= AHEAD * GULP)
      await new Promise<void>((resolve) => {
        told = resolve;
      });
  }
  return sent;
}

answering(async (message) => {
  const { count = 0, qos = 0, forMs = 0 } = message as { count?: number; qos?: 0 | 1; forMs?: number };
  return { sent: message.do === 'flood' ? await flood(count, qos, forMs) : 0 };
});
