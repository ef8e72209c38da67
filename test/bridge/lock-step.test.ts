// Lock step with a water that this test plays itself.
import { Subject } from 'rxjs';
import { afterEach, describe, expect, it } from 'vitest';
import { LIMITS } from '../../src/bridge/limits.ts';
import type { Link } from '../../src/bridge/link.ts';
import { LockStep } from '../../src/bridge/lock-step.ts';
import type { News } from '../../src/bridge/news.ts';
import { topicsOf } from '../../src/bridge/wire-out.ts';
import { embedded, hasMosquitto, mosquitto, type TestBroker } from '../tools/brokers.ts';
import { FLOAT, VALVE } from './fake-core.ts';
import { type Device, device, isUp, pause, plant, type Running, start, until } from './rig.ts';

const OWN = `vatwarden/${plant.id}`;
const HIGH = plant.sensors[FLOAT]?.topic ?? '';
const FILL = plant.actuators[VALVE]?.command.topic ?? '';
const time = (step: number, elapsedMs = 5000) =>
  JSON.stringify({ step, elapsedMs, minuteOfDay: 360, day: 0, trusted: true });
const done = (step: number) => JSON.stringify({ step });

const ways = [
  { name: 'embedded, MQTT 3.1.1', version: 4 as const, broker: () => embedded(), there: true },
  { name: 'mosquitto, MQTT 5', version: 5 as const, broker: () => mosquitto(), there: hasMosquitto },
];

describe('a step begins when its time is here and the last heartbeat is back', () => {
  const play = () => {
    const news = new Subject<News>();
    const link = {
      news,
      quiet: true,
      beats: 0,
      isQuiet: () => link.quiet,
      isUp: () => true,
      beat: () => link.beats++,
    };
    const said: string[] = [];
    const steps: number[] = [];
    const lockStep = new LockStep(link as unknown as Link, topicsOf(plant.id), ({ payload }) =>
      said.push(payload),
    );
    const listening = lockStep.times.subscribe(({ step }) => steps.push(step));
    const say = (n: number) =>
      news.next({
        news: 'message',
        message: {
          topic: `${OWN}/time`,
          payload: new TextEncoder().encode(time(n)),
          retain: false,
          dup: false,
          sender: null,
        },
      });
    return { link, news, steps, say, end: () => listening.unsubscribe() };
  };

  it('in either order', () => {
    const { link, news, steps, say, end } = play();
    say(1);
    expect(steps).toEqual([1]);
    link.quiet = false;
    say(2);
    expect(steps).toEqual([1]);
    link.quiet = true;
    news.next({ news: 'echo' });
    expect(steps).toEqual([1, 2]);
    end();
  });

  it('a heartbeat that got lost is said again, and a lost link forgets the step', async () => {
    const { link, news, steps, say, end } = play();
    link.quiet = false;
    say(1);
    await pause(LIMITS.heartbeatMs + 200);
    expect(link.beats).toBe(1);
    news.next({ news: 'down', code: 'E-399', words: 'cut' });
    link.quiet = true;
    news.next({ news: 'echo' });
    expect(steps).toEqual([]);
    end();
  });
});

describe.each(ways)('lock step over $name', ({ version, broker: open, there }) => {
  let broker: TestBroker;
  let side: Device;
  let running: Running;

  const begin = async (more: Parameters<typeof start>[2] = {}) => {
    broker = await open();
    side = await device(broker.port, version, [`${OWN}/#`, FILL]);
    running = start(broker.port, version, { time: 'topic', ...more });
    await until(isUp(running), 'up');
  };
  const step = async (n: number) => {
    await side.say(`${OWN}/time`, time(n));
    await until(() => side.texts(`${OWN}/time/done`).at(-1) === done(n), `step ${n} is done`);
  };
  afterEach(async () => {
    await running.bridge.stop(0);
    await side.close();
    await broker.close();
  });

  it.runIf(there)('nothing moves without the water: no step, no time, however long it waits', async () => {
    await begin();
    await side.say(HIGH, 'DRY');
    await pause(700);
    expect(running.state().elapsedMs).toBe(0);
    expect(running.state().heard).toEqual([]);
  });

  it.runIf(there)(
    'one step is one event: everything said before it, its time, one echo, one tick',
    async () => {
      await begin();
      await step(1);
      await side.say(HIGH, 'DRY');
      await step(2);
      await step(3);
      const { elapsedMs, echoes, clocks, heard } = running.state();
      expect({ elapsedMs, echoes, clocks }).toEqual({ elapsedMs: 15_000, echoes: 3, clocks: 3 });
      expect(heard).toEqual([
        { type: 'link', up: true },
        { type: 'reading', sensor: FLOAT, value: false, live: true },
      ]);
    },
  );

  it.runIf(there)('commands are on the wire before `time/done`', async () => {
    await begin();
    await step(1);
    await side.say(HIGH, 'DRY');
    await step(2);
    const topics = side.heard.map(({ topic, text }) => `${topic} ${text}`);
    const on = topics.findIndex((line) => line.startsWith(FILL) && line.includes('true'));
    expect(on).toBeGreaterThan(0);
    expect(on).toBeLessThan(topics.indexOf(`${OWN}/time/done ${done(2)}`));
  });

  it.runIf(there)('a command that waits for the disk is on the wire before `time/done`, too', async () => {
    await begin({ save: () => new Promise((resolve) => setTimeout(resolve, 120, true)) });
    await step(1);
    await side.say(HIGH, 'DRY');
    await step(2);
    const topics = side.heard.map(({ topic, text }) => `${topic} ${text}`);
    const on = topics.findIndex((line) => line.startsWith(FILL) && line.includes('true'));
    expect(on).toBeGreaterThan(0);
    expect(on).toBeLessThan(topics.indexOf(`${OWN}/time/done ${done(2)}`));
  });

  it.runIf(there)('the same step said again is answered again and not made again', async () => {
    await begin();
    await step(1);
    await side.say(`${OWN}/time`, time(1));
    await until(() => side.texts(`${OWN}/time/done`).length === 2, 'answered again');
    expect(running.state().elapsedMs).toBe(5000);
  });

  it.runIf(there)('a time that is none moves nothing', async () => {
    await begin();
    for (const text of ['', 'soon', '{"step":1}', time(1, -5)]) await side.say(`${OWN}/time`, text);
    await step(1);
    expect(running.state().elapsedMs).toBe(5000);
    expect(side.texts(`${OWN}/time/done`)).toHaveLength(1);
  });
});
