// Devices that speak only on change, and that are asked: over a real broker, with a device that never speaks unasked.
import { expect, it } from 'vitest';
import { askingOf } from '../../src/bridge/asking.ts';
import { accountsOf } from '../../src/hub/accounts.ts';
import { wiringOf } from '../../src/hub/catalogue.ts';
import { deviceChannels } from '../../src/hub/device-channels.ts';
import type { Plant } from '../../src/station/plant.ts';
import { embedded, hasMosquitto, mosquitto } from '../tools/brokers.ts';
import { plantAt } from '../tools/coupled.ts';
import { openedThings } from '../tools/opened.ts';
import { FLOAT } from './fake-core.ts';
import { plant as bench, device, isUp, start, until } from './rig.ts';

const { afterwards } = openedThings();
const ASK = { topic: 'board/ask', payload: 'status_update', everyMs: 1000 };
const TOPIC = bench.sensors[FLOAT]?.topic ?? '';
const asked = (everyMs: number): Plant => ({
  ...bench,
  sensors: { ...bench.sensors, [FLOAT]: { ...bench.sensors[FLOAT], ask: { ...ASK, everyMs } } as never },
});

it('a board is asked once for all its entries, as often as the most impatient wants, and anew on each connection', () => {
  const ask = (everyMs: number) => ({ ask: { topic: 'board/ask', payload: '', everyMs } });
  const asking = askingOf({
    sensors: { a: ask(30_000), b: ask(10_000), c: { ask: null } },
    actuators: { d: { feedback: ask(60_000) }, e: { feedback: null } },
  } as unknown as Plant);
  const topics = (nowMs: number) => asking.due(nowMs).map(({ topic }) => topic);
  expect(topics(5)).toEqual(['board/ask']);
  expect(topics(10_004)).toEqual([]);
  expect(topics(10_005)).toEqual(['board/ask']);
  asking.anew();
  expect(topics(10_006)).toEqual(['board/ask']);
});

it.each([
  { name: 'the embedded broker', open: embedded, there: true },
  { name: 'mosquitto', open: mosquitto, there: hasMosquitto },
])(
  'over $name: a device that ran before the service and never speaks unasked is heard, and heard again',
  async ({ open, there }) => {
    if (!there) return;
    const broker = await open();
    const board = await device(broker.port, 4, [ASK.topic]);
    let questions = 0;
    board.client.on('message', () => {
      questions++;
      void board.say(TOPIC, 'DRY');
    });
    const running = start(broker.port, 4, { plant: asked(300) });
    afterwards(async () => {
      await running.bridge.stop(0);
      await board.close();
      await broker.close();
    });
    await until(isUp(running), 'the link is up');
    await until(() => running.state().isDry === true, 'the float is heard');
    await until(() => questions >= 3, 'it is asked again');
    expect(board.texts(ASK.topic).every((text) => text === ASK.payload)).toBe(true);
    expect(board.heard.some(({ retain }) => retain)).toBe(false);
  },
);

it('what is asked reports at least that often: it counts for three questions, and is missed like a report', () => {
  const plant = plantAt('schemas/examples/marram-point.json', {
    '/sensors/fresh-high/republishes': undefined,
    '/sensors/fresh-high/maxAge': undefined,
    '/sensors/fresh-high/ask': { topic: 'board/ask', every: '20 s' },
  });
  expect(plant.sensors['fresh-high']).toMatchObject({
    ask: { topic: 'board/ask', payload: '', everyMs: 20_000 },
    republishesMs: 20_000,
    maxAgeMs: 60_000,
  });
  const channel = deviceChannels(plant).find(({ address }) => address === 'board/ask');
  expect(channel).toMatchObject({ side: 'service', does: ['send'], device: { does: 'listens' } });
  const service = accountsOf(wiringOf(plant, {})).find(({ name }) => name === `vatwarden-${plant.id}`);
  expect(service?.writes).toContain('board/ask');
});
