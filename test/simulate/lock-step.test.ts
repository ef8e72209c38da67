import { type AddressInfo, createServer, type Server } from 'node:net';
import { Aedes } from 'aedes';
import mqtt, { type MqttClient } from 'mqtt';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { startWater, type WaterOptions } from '../../src/simulate/station-water.ts';
import { exampleOf } from '../../src/station/words.ts';
import { givenTime, middle } from '../tools/given-time.ts';
import { bench, marram } from './stations.ts';

let broker: Aedes;
let server: Server;
let url: string;
const clients: MqttClient[] = [];

beforeEach(async () => {
  broker = await Aedes.createBroker();
  server = createServer({ noDelay: true }, broker.handle);
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  url = `mqtt://127.0.0.1:${(server.address() as AddressInfo).port}`;
});

afterEach(async () => {
  for (const client of clients.splice(0)) await client.endAsync(true);
  await new Promise<void>((resolve) => broker.close(() => resolve()));
  await new Promise<void>((resolve) => server.close(() => resolve()));
});

type Say = (topic: string, payload: string, retain?: boolean) => void;

/** A service that knows nothing but how to answer, and what the test tells it to say at a step. */
async function peer(station: string, atStep: (step: number, say: Say) => boolean | undefined = () => true) {
  const own = `vatwarden/${station}`;
  const heard: { topic: string; text: string; stored: boolean }[] = [];
  const client = await mqtt.connectAsync(url, { protocolVersion: 4, reconnectPeriod: 0 });
  clients.push(client);
  (client.stream as unknown as { setNoDelay: (on: boolean) => void }).setNoDelay(true);
  const say: Say = (topic, payload, retain = false) => client.publish(topic, payload, { qos: 1, retain });
  client.on('message', (topic, payload, packet) => {
    heard.push({ topic, text: payload.toString(), stored: packet.retain });
    if (topic !== `${own}/time`) return;
    const { step } = JSON.parse(payload.toString());
    if (atStep(step, say) !== false) say(`${own}/time/done`, JSON.stringify({ step }));
  });
  await client.subscribeAsync('#', { qos: 1 });
  say(`${own}/online`, 'online', true);
  return { heard, say, client };
}

const water = (options: Partial<WaterOptions>) =>
  startWater({
    plant: bench,
    broker: url,
    mqtt: '3.1.1',
    forMs: 300_000,
    waitsForMs: 100_000,
    answersWithinMs: 100_000,
    ...options,
  });

const { command: fill } = bench.actuators.fill ?? { command: { topic: '' } };
const FILL = '{"on":true,"for_ms":9000}';
const STEP_BY_MESSAGE = 20;

/** Sends messages to itself through the broker of the test, one behind the other: how long one takes, ms. */
async function thereAndBack(): Promise<(rounds: number) => Promise<number>> {
  const client = await mqtt.connectAsync(url, { protocolVersion: 4, reconnectPeriod: 0 });
  clients.push(client);
  (client.stream as unknown as { setNoDelay: (on: boolean) => void }).setNoDelay(true);
  await client.subscribeAsync('echo', { qos: 1 });
  return async (rounds) => {
    const start = performance.now();
    for (let round = 0; round < rounds; round++) {
      const back = new Promise<void>((resolve) => client.once('message', () => resolve()));
      client.publish('echo', '{}', { qos: 1 });
      await back;
    }
    return (performance.now() - start) / rounds;
  };
}

describe('the water on MQTT, in lock step', () => {
  it('waits for nothing: a step takes as long as a few messages there and back, which is what it is', async () => {
    await peer(marram.id);
    const [steps, turns] = [500, 5];
    const there = await thereAndBack();
    const ratios: number[] = [];
    for (let turn = 0; turn < turns; turn++) {
      const messageMs = await there(steps);
      const start = performance.now();
      const result = await water({ plant: marram, forMs: steps * 5000 }).done;
      const stepMs = (performance.now() - start) / steps;
      expect(result.elapsedMs).toBe(steps * 5000);
      expect(result.messages / steps).toBeLessThan(10);
      ratios.push(stepMs / messageMs);
      console.info(`a step ${stepMs.toFixed(2)} ms, a message there and back ${messageMs.toFixed(2)} ms`);
    }
    // A small packet that waits for an acknowledgement (44 ms), or a timer of 5 ms in each step, is far beyond that.
    expect(middle(ratios)).toBeLessThan(STEP_BY_MESSAGE);
  });

  it('says every step once, in order, with the time that passed and the time of day', async () => {
    const { heard } = await peer(bench.id);
    await water({ forMs: 62_000, stepMs: 20_000, startMinute: 1439 }).done;
    const times = heard.filter(({ topic }) => topic.endsWith('/time')).map(({ text }) => JSON.parse(text));
    expect(times).toEqual([
      { step: 1, elapsedMs: 20_000, minuteOfDay: 1439, day: 0, trusted: true },
      { step: 2, elapsedMs: 20_000, minuteOfDay: 1439, day: 0, trusted: true },
      { step: 3, elapsedMs: 20_000, minuteOfDay: 0, day: 1, trusted: true },
      { step: 4, elapsedMs: 2000, minuteOfDay: 0, day: 1, trusted: true },
    ]);
  });

  it('says the readings of a step before its time', async () => {
    const { heard } = await peer(bench.id);
    await water({ forMs: 5000 }).done;
    const topics = heard.map(({ topic }) => topic);
    const time = topics.indexOf(`vatwarden/${bench.id}/time`);
    for (const { topic } of Object.values(bench.sensors)) {
      expect(topics.indexOf(topic), topic).toBeGreaterThanOrEqual(0);
      expect(topics.indexOf(topic), topic).toBeLessThan(time);
    }
  });

  it('moves water by the commands that arrive, as long as the lease in the payload says', async () => {
    await peer(bench.id, (step, say) => {
      if (step === 2) say(fill.topic, FILL);
      if (step === 2) say('rig/master/cmd', '1');
      return true;
    });
    const { commands, dropOuts, litresMoved } = await water({}).done;
    expect(commands).toMatchObject({ fill: 1, master: 1 });
    expect(dropOuts).toMatchObject({ fill: 1, master: 0 });
    expect(litresMoved.refill).toBeGreaterThan(1.2);
    expect(litresMoved.refill).toBeLessThan(2);
  });

  it('refuses commands that are stored or unreadable, and counts them', async () => {
    const { say } = await peer(bench.id, (step, tell) => {
      if (step === 2)
        for (const text of ['', 'ON', '{"on":true}', '{"on":"yes","for_ms":1}']) tell(fill.topic, text);
      return true;
    });
    say(fill.topic, FILL, true);
    await new Promise<void>((resolve) => setTimeout(resolve, 50));
    const { refused, commands } = await water({}).done;
    // The empty message clears what the broker stored: it is no command, and nothing to refuse.
    expect(refused).toEqual({ retained: 1, unreadable: 3, late: 0 });
    expect(commands.fill).toBe(0);
  });

  it('tells relays apart that share a command topic, by their words', async () => {
    const { fill: first, transfer: second } = bench.actuators;
    if (first === undefined || second === undefined) throw new Error('two relays');
    const words = (relay: number) => ({
      topic: 'rig/board',
      on: `${relay} on`,
      off: `${relay} off`,
      harmless: [],
    });
    const actuators = {
      ...bench.actuators,
      fill: { ...first, command: words(1) },
      transfer: { ...second, command: words(2) },
    };
    await peer(bench.id, (step, say) => {
      if (step === 2) for (const text of ['1 on', '2 on', '2 off', '3 on']) say('rig/board', text);
      return true;
    });
    const { commands, refused } = await water({ plant: { ...bench, actuators }, forMs: 30_000 }).done;
    expect(commands).toMatchObject({ fill: 1, transfer: 2 });
    expect(refused.unreadable).toBe(1);
  });

  it('refuses a command that is not newer than one it has seen, and takes the first of a new start', async () => {
    const pump = marram.actuators['transfer-pump'];
    if (pump === undefined) throw new Error('a pump');
    const on = { on: true, ms: '$leaseMs', n: '$sequence', boot: '$boot' };
    const counting = { ...pump, command: { ...pump.command, on, off: { on: false } } };
    const plant = { ...marram, actuators: { ...marram.actuators, 'transfer-pump': counting } };
    const order = (n: number, boot: string) => JSON.stringify({ on: true, ms: 5000, n, boot });
    await peer(marram.id, (step, say) => {
      if (step === 2) for (const n of [7, 7, 6, 8]) say(pump.command.topic, order(n, 'a'));
      if (step === 3) say(pump.command.topic, order(1, 'b'));
      return true;
    });
    const { refused, commands } = await water({ plant, forMs: 60_000 }).done;
    expect(refused.late).toBe(2);
    expect(commands['transfer-pump']).toBe(3);
  });

  it('is the same day, message for message, for the same seed', async () => {
    const day = async (seed: number) => {
      const { heard, client } = await peer(bench.id, (step, say) => {
        if (step > 3 && step < 20) say(fill.topic, FILL);
        if (step > 3 && step < 20) say('rig/master/cmd', '1');
        return true;
      });
      const result = await water({ seed, forMs: 200_000 }).done;
      await client.endAsync(true);
      // What an earlier day left in the broker's store is no part of this one.
      const said = heard.filter(
        ({ topic, stored }) => !stored && (topic.startsWith('rig/') || topic.endsWith('/time')),
      );
      return { result, said };
    };
    const first = await day(3);
    expect(await day(3)).toEqual(first);
    expect((await day(4)).said).not.toEqual(first.said);
    expect(first.said.length).toBeGreaterThan(100);
  });

  it('lets the person see a task and answer as a request', async () => {
    const task = { task: 'add-salt', vessel: 'mixing', massKg: 0.25, words: 'add salt' };
    const { heard } = await peer(bench.id, (step, say) => {
      if (step === 2) say(`vatwarden/${bench.id}/task/mixing`, JSON.stringify(task), true);
      return true;
    });
    const { saltAddedKg } = await water({ forMs: 900_000 }).done;
    expect(saltAddedKg).toBeCloseTo(0.25, 2);
    const requests = heard.filter(({ topic }) => topic === `vatwarden/${bench.id}/request`);
    expect(JSON.parse(requests[0]?.text ?? '')).toEqual({
      id: expect.any(String),
      request: 'salt-added',
      mass: '0.25 kg',
    });
  });

  it('says a step again when the service comes back without having answered it', async () => {
    const { heard, say } = await peer(bench.id, (step) => step !== 3 || heard.filter(isStep3).length > 1);
    const isStep3 = ({ topic, text }: { topic: string; text: string }) =>
      topic.endsWith('/time') && JSON.parse(text).step === 3;
    const running = water({ forMs: 25_000 });
    await until(() => heard.some(isStep3));
    say(`vatwarden/${bench.id}/online`, 'offline', true);
    say(`vatwarden/${bench.id}/online`, 'online', true);
    expect((await running.done).elapsedMs).toBe(25_000);
    expect(heard.filter(isStep3)).toHaveLength(2);
  });

  it('gives up on a service that does not answer, and says who is missing and what to do', async () => {
    await peer(bench.id, (step) => step < 3);
    await expect(water({ answersWithinMs: 200 }).done).rejects.toThrow(
      /the service is missing: no answer to step 3 on vatwarden\/bench-rig\/time\/done within 0\.2 s.*start both again/u,
    );
  });

  it('gives up on a service that never comes online', async () => {
    await expect(water({ waitsForMs: 200 }).done).rejects.toThrow(/nobody says 'online'.*--realtime/u);
  });

  it('ends early when it is stopped, with the verdict on what was', async () => {
    await peer(bench.id);
    const running = water({
      forMs: 86_400_000,
      onStep: (step) => (step === 10 ? running.stop() : undefined),
    });
    const { elapsedMs, ok } = await running.done;
    expect(elapsedMs).toBe(50_000);
    expect(ok).toBe(false);
  });

  it('says a broker that speaks no MQTT 5 what to do instead of falling back', async () => {
    await expect(startWater({ plant: bench, broker: url, forMs: 5000 }).done).rejects.toThrow(
      /--mqtt 3\.1\.1/u,
    );
  });

  it('tells every availability topic goodbye', async () => {
    const { heard } = await peer(marram.id);
    await water({ plant: marram, forMs: 5000 }).done;
    const known = Object.values(marram.sensors).flatMap(({ availability }) => availability ?? []);
    expect(known.length).toBeGreaterThan(0);
    for (const { topic, online, offline } of known) {
      const words = () => heard.filter((message) => message.topic === topic).map(({ text }) => text);
      await until(() => words().at(-1)?.includes(exampleOf(offline)) ?? false);
      expect(words()[0]).toContain(exampleOf(online));
    }
  });
});

describe('the water on MQTT, in real time', () => {
  it('follows the wall and keeps leases by it', async () => {
    const { heard, say } = await peer(bench.id);
    const start = performance.now();
    const given = givenTime();
    const running = water({ pace: 'real-time', forMs: 2500 });
    await until(() => heard.some(({ topic }) => topic === 'rig/fill/state'));
    say('rig/master/cmd', '1');
    say(fill.topic, '{"on":true,"for_ms":600}');
    const { elapsedMs, dropOuts } = await running.done;
    const wallMs = performance.now() - start;
    expect(elapsedMs).toBe(2500);
    expect(wallMs).toBeGreaterThan(2400);
    expect(given.stop()).toBeLessThan(6000);
    expect(dropOuts.fill).toBe(1);
    const states = heard.filter(({ topic }) => topic === 'rig/fill/state').map(({ text }) => text);
    expect(states.filter((state, at) => state !== states[at - 1])).toEqual(['off', 'on', 'off']);
    expect(heard.some(({ topic }) => topic.endsWith('/time'))).toBe(false);
  });
});

async function until(isTrue: () => boolean): Promise<void> {
  for (let tries = 0; tries < 10_000; tries++) {
    if (isTrue()) return;
    await new Promise<void>((resolve) => setTimeout(resolve, 10));
  }
  throw new Error('it did not happen within 100 s');
}
