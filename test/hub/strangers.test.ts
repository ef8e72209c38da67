// Somebody else at the switch, over a real broker and in every way there is: a second program that commands, a command that
// was stored, a hand at the device, a device that says it is on and was never asked. Each is seen, named, alarmed, and what
// hangs on it is held; and no water comes to harm.
import mqtt from 'mqtt';
import { afterEach, describe, expect, it } from 'vitest';
import { Bridge } from '../../src/bridge/bridge.ts';
import { initial } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import type { Response, Sentence } from '../../src/language/told.ts';
import { startWater } from '../../src/simulate/station-water.ts';
import { listLog, machine } from '../bridge/rig.ts';
import { hasMosquitto, mosquitto, type TestBroker } from '../tools/brokers.ts';
import { CORE } from './rig.ts';
import { plantOf } from './stations.ts';

const plant = plantOf('marram-point');
const OWN = `vatwarden/${plant.id}`;
const PUMP = plant.actuators['transfer-pump'] as NonNullable<(typeof plant.actuators)[string]>;
/** In the middle of dissolving: the transfer pump has rested for a while. */
const AT_MS = 40 * 60_000;
const UNTIL_MS = 50 * 60_000;

let broker: TestBroker | null = null;
const ends: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
  await broker?.close();
  broker = null;
});

interface Told {
  /** By id, the words and priority of every alarm that was ever active. */
  readonly alarms: Readonly<
    Record<string, { readonly priority: string; readonly message: Sentence; readonly response: Response }>
  >;
  readonly unitsBefore: string;
  readonly unitsAfter: string;
  readonly log: readonly string[];
  readonly spilledL: number;
  readonly dryS: number;
}

async function day(options: {
  readonly faults?: readonly string[];
  readonly before?: (
    say: (topic: string, payload: string, retain: boolean) => Promise<unknown>,
  ) => Promise<unknown>;
  readonly stranger?: (
    say: (topic: string, payload: string, retain: boolean) => Promise<unknown>,
  ) => Promise<unknown>;
}): Promise<Told> {
  broker = await mosquitto();
  const url = `mqtt://127.0.0.1:${broker.port}`;
  const other = await mqtt.connectAsync(url, { protocolVersion: 5, clientId: 'another-program' });
  ends.push(() => other.endAsync(true));
  const say = (topic: string, payload: string, retain: boolean) =>
    other.publishAsync(topic, payload, { qos: 1, retain });
  await options.before?.(say);
  const alarms: Record<string, { priority: string; message: Sentence; response: Response }> = {};
  let units = '';
  other.on('message', (topic, payload) => {
    if (payload.length === 0) return;
    const said = JSON.parse(payload.toString());
    if (topic === `${OWN}/status`) {
      const { refill, batch, exchange } = said.units;
      units = [
        refill.procedure,
        batch.procedure,
        ...Object.values<{ procedure: string }>(exchange).map((one) => one.procedure),
      ].join(' ');
    } else alarms[topic.slice(`${OWN}/alarm/`.length)] = said;
  });
  await other.subscribeAsync([`${OWN}/alarm/+`, `${OWN}/status`], { qos: 1 });
  const log = listLog();
  const bridge = new Bridge<State>({
    plant,
    core: CORE,
    state: initial(plant),
    settings: {
      address: { protocol: 'mqtt', host: '127.0.0.1', port: broker.port, path: '' },
      version: 5,
      clientId: `vatwarden-${plant.id}`,
    },
    time: 'topic',
    boot: 'b0071234',
    machine,
    chance: () => 0.5,
    save: null,
    clearRetained: false,
    log,
  });
  bridge.news.subscribe({ error: () => {} });
  bridge.run().catch(() => {});
  ends.push(() => bridge.stop(0));
  let unitsBefore = '';
  const water = startWater({
    plant,
    broker: url,
    forMs: UNTIL_MS,
    faults: options.faults ?? [],
    onStep: async (_, { world }) => {
      if (world.nowMs < AT_MS || unitsBefore !== '') return;
      unitsBefore = units;
      await options.stranger?.(say);
    },
  });
  const { spilledL, dryS } = await water.done;
  await new Promise((resolve) => setTimeout(resolve, 200));
  return { alarms, unitsBefore, unitsAfter: units, log: log.lines.map(({ event }) => event), spilledL, dryS };
}

const COMMANDED = {
  'I-24-transfer-pump': {
    priority: 'soon',
    message: { text: expect.stringContaining('Transfer pump') },
    response: { text: expect.stringContaining('Transfer pump') },
  },
  // It fills the mixing vat: a person must look before it goes on.
  'I-24-transfer-pump-fills': {
    priority: 'urgent',
    message: { text: expect.stringContaining('it fills a vessel') },
  },
};

describe.runIf(hasMosquitto)('somebody else at the switch', () => {
  it('nobody: no alarm, and the phases run', async () => {
    const { alarms, unitsBefore, unitsAfter } = await day({});
    expect([alarms, unitsBefore, unitsAfter]).toEqual([
      {},
      'running running running',
      'running running running',
    ]);
  });

  it('a second program that commands, in the words of the device: named, alarmed, and what hangs on it held', async () => {
    const told = await day({
      stranger: (say) => say(PUMP.command.topic, '{"output":true,"seconds":60,"number":1}', false),
    });
    expect(told.alarms).toMatchObject(COMMANDED);
    expect([told.unitsBefore, told.unitsAfter]).toEqual(['running running running', 'running held held']);
    expect(told.log).toContain('foreign-command');
    expect([told.spilledL, told.dryS]).toEqual([0, 0]);
  });

  it('R1: a command that was stored before the service came: the same, and the log says how to clear it', async () => {
    const told = await day({
      before: (say) => say(PUMP.command.topic, '{"output":true,"seconds":60,"number":1}', true),
    });
    expect(told.alarms).toMatchObject(COMMANDED);
    expect(told.unitsAfter).toMatch(/held/u);
    expect(told.log).toContain('command-stored');
    expect([told.spilledL, told.dryS]).toEqual([0, 0]);
  });

  it('words that no device understands on its command topic: named and held, and nothing is switched by them', async () => {
    const told = await day({ stranger: (say) => say(PUMP.command.topic, 'toggle', false) });
    expect(told.alarms).toMatchObject({ 'I-24-transfer-pump': COMMANDED['I-24-transfer-pump'] });
    expect(told.unitsAfter).toMatch(/held/u);
    expect([told.spilledL, told.dryS]).toEqual([0, 0]);
  });

  it('a hand at the device that obeys the next off: gone after a moment, and known all the same', async () => {
    const told = await day({ faults: ['restarts-on:transfer-pump@40min'] });
    expect(told.alarms).toMatchObject(COMMANDED);
    expect(Object.keys(told.alarms).filter((id) => id.startsWith('I-23'))).toEqual([]);
    expect([told.unitsBefore, told.unitsAfter]).toEqual(['running running running', 'running held held']);
    expect(told.log).toContain('switched-by-hand');
    expect([told.spilledL, told.dryS]).toEqual([0, 0]);
  });

  it('a device that says that it is on, was never asked, and goes on saying it: what to switch off is named as well', async () => {
    const told = await day({ faults: ['feedback-says:transfer-pump=on@40min'] });
    expect(told.alarms).toMatchObject({
      ...COMMANDED,
      'I-23-transfer-pump-stays-on': {
        priority: 'urgent',
        response: { text: expect.stringContaining('switch off') },
      },
    });
    expect(told.unitsAfter).toBe('held held held');
    expect([told.spilledL, told.dryS]).toEqual([0, 0]);
  });
});
