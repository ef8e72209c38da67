// Rules of the wire that no single room keeps: what an actuator must do, how old a reading may be, what a flood may cost,
// and that nothing asks what o'clock it is.

import { afterEach, describe, expect, it } from 'vitest';
import { wallClockwork } from '../../src/bridge/clockwork.ts';
import { inboxOf } from '../../src/bridge/inbox.ts';
import type { Input } from '../../src/control/guard/types.ts';
import { describe as describeState } from '../../src/control/process/describe.ts';
import { initial } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import { step } from '../../src/control/step.ts';
import { startWater } from '../../src/simulate/station-water.ts';
import { makeTwin } from '../../src/simulate/twin.ts';
import { device as ear, pause, until } from '../bridge/rig.ts';
import { embedded } from '../tools/brokers.ts';
import { taskOf } from '../tools/english.ts';
import { calm, having, loaded, plantOf, stationFile } from './stations.ts';

const plant = plantOf('marram-point');

describe('an actuator of the kind that we ask for', () => {
  const cleanups: (() => Promise<unknown>)[] = [];
  afterEach(async () => {
    for (const clean of cleanups.splice(0).reverse()) await clean();
  });

  it('R8: ignores what was stored, what is not newer than what it had of the same sender, and ends a lease by itself', async () => {
    const station = structuredClone(stationFile('marram-point'));
    const pump = station.actuators['supply-pump'];
    if (pump?.command === undefined) throw new Error('no such pump');
    pump.command.on = { output: true, ms: '$leaseMs', number: '$sequence', boot: '$boot' };
    const here = loaded(station).plant;
    const topic = pump.command.topic ?? '';
    const broker = await embedded();
    cleanups.push(broker.close);
    const hand = await ear(broker.port, 4, ['none']);
    cleanups.push(hand.close);
    const on = (number: number, ms = 60_000) => JSON.stringify({ output: true, ms, number, boot: 'b1' });
    await hand.say(topic, on(1), true);
    const water = startWater({
      plant: here,
      broker: `mqtt://127.0.0.1:${broker.port}`,
      mqtt: '3.1.1',
      pace: 'real-time',
      forMs: 60_000,
    });
    const says = () => hand.texts(pump.feedback?.topic ?? '');
    await hand.client.subscribeAsync(pump.feedback?.topic ?? '', { qos: 1 });
    await until(() => says().length > 0, 'the feedback');
    await pause(500);
    expect(says().every((text) => text === '{"output":false}')).toBe(true);
    await hand.say(topic, on(5, 700));
    await until(() => says().at(-1) === '{"output":true}', 'on');
    await until(() => says().at(-1) === '{"output":false}', 'off by itself');
    await hand.say(topic, on(5));
    await hand.say(topic, on(4));
    await pause(700);
    expect(says().at(-1)).toBe('{"output":false}');
    water.stop();
    expect((await water.done).refused).toEqual({ retained: 1, unreadable: 0, late: 2 });
  });
});

describe('the age of a reading', () => {
  const reads = (state: State, elapsedMs: number, inputs: readonly Input[] = []) =>
    step(plant, state, { elapsedMs, inputs, tick: true }).state;
  const fresh = (state: State, sensor: string) => describeState(plant, state).sensors[sensor]?.fresh;

  it('R10: every sensor counts until its own maximum age from arrival, and not a moment longer', () => {
    const start = having(plant, ...Array.from({ length: 30 }, () => calm(plant)));
    for (const { id, maxAgeMs } of Object.values(plant.sensors)) {
      const other: Input = { type: 'echo' };
      const young = reads(start, maxAgeMs, [other]);
      expect([id, fresh(young, id)]).toEqual([id, true]);
      expect([id, fresh(reads(young, 1, [other]), id)]).toEqual([id, false]);
    }
  });
});

describe('a flood', () => {
  it('R19: of numbers costs one place a sensor, and the newest counts', () => {
    const inbox = inboxOf();
    for (let value = 0; value < 100_000; value++)
      inbox.put({ type: 'reading', sensor: 'level', value, live: true });
    expect(inbox.drain()).toEqual([{ type: 'reading', sensor: 'level', value: 99_999, live: true }]);
  });

  it('R19: of a contact is bad evidence and not old evidence, and a trip of another sensor gets through', () => {
    const inbox = inboxOf();
    inbox.put({ type: 'reading', sensor: 'leak', value: true, live: true });
    for (let n = 0; n < 1000; n++)
      inbox.put({ type: 'reading', sensor: 'float', value: n % 2 === 0, live: true });
    const inputs = inbox.drain();
    expect(inputs).toContainEqual({ type: 'bad-reading', sensor: 'float', reason: 'overflow' });
    expect(inputs).toContainEqual({ type: 'reading', sensor: 'leak', value: true, live: true });
    expect(inputs.some((input) => input.type === 'reading' && input.sensor === 'float')).toBe(false);
  });
});

describe('the wall clock', () => {
  it('R22: station time is the same however the wall clock is set meanwhile: back to 1970, an hour on, a day back', async () => {
    let nowMs = 5000;
    let date = new Date('2026-06-01T12:00:00');
    const { nowMs: stationMs } = wallClockwork({
      monotonicMs: () => nowMs,
      uptimeMs: () => nowMs,
      date: () => date,
    });
    expect(stationMs()).toBe(0);
    for (const wall of ['1970-01-01T00:00:00', '2026-06-01T13:00:00', '2026-05-31T12:00:00']) {
      date = new Date(wall);
      nowMs += 250;
    }
    expect(stationMs()).toBe(750);
  });

  it('R22: the core is told the time of day and nothing else of the clock, and it makes no reading older or younger', () => {
    const start = having(plant, ...Array.from({ length: 30 }, () => calm(plant)));
    const at = (day: number, minuteOfDay: number) =>
      step(plant, start, {
        elapsedMs: 1000,
        inputs: [{ type: 'clock', day, minuteOfDay, trusted: true }],
        tick: true,
      }).state;
    const [one, other] = [at(20_000, 600), at(19_000, 0)];
    expect(other.sensors).toEqual(one.sensors);
    expect(other.devices).toEqual(one.devices);
    expect(other.routes).toEqual(one.routes);
  });
});

it('R13: a step is the same in whatever order its readings came in', () => {
  const twin = makeTwin(plant, 1);
  let state = initial(plant);
  const shuffled = <T>(all: readonly T[], round: number): readonly T[] =>
    all
      .map((one, place) => ({ one, at: Math.imul(place * 40 + round + 1, 2_654_435_761) >>> 0 }))
      .toSorted((a, b) => a.at - b.at)
      .map(({ one }) => one);
  let moved = 0;
  for (let round = 0; round < 2500; round++) {
    twin.advance(5000);
    const asked = twin
      .told()
      .map((request, place): Input => ({ type: 'request', id: `${round}-${place}`, request }));
    const first: readonly Input[] = round === 0 ? [{ type: 'link', up: true }] : [];
    const readings = twin.inputs();
    const before: readonly Input[] = [...first, { type: 'echo' }, twin.clock()];
    const event = { elapsedMs: 5000, inputs: [...before, ...readings, ...asked], tick: true };
    const done = step(plant, state, event);
    const other = shuffled(readings, round);
    moved += other.filter((one, place) => one !== readings[place]).length;
    expect(step(plant, state, { ...event, inputs: [...before, ...asked, ...other] })).toEqual(done);
    state = done.state;
    for (const effect of done.effects) {
      if (effect.do === 'command') twin.command(effect.actuator, effect.on, effect.leaseMs);
      if (effect.do === 'ask') twin.ask(effect.vessel, taskOf(plant, effect.task));
    }
  }
  expect(moved).toBeGreaterThan(1000);
  expect(state.batch.procedure).toBe('running');
});
