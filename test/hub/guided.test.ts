// From an empty file to a station that `check` accepts: the built command, a real broker where there is one, devices of several
// kinds, and a person who does what is said. What they type is counted, and the clock runs.
import { existsSync, mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt, { type MqttClient } from 'mqtt';
import { afterEach, describe, expect, it } from 'vitest';
import { learner } from '../../src/hub/learning.ts';
import { recognised } from '../../src/hub/recognised.ts';
import { embedded, hasMosquitto, mosquitto } from '../tools/brokers.ts';
import { cli } from '../tools/cli.ts';

const cleanups: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const clean of cleanups.splice(0).reverse()) await clean();
});

const pause = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));

/** A cellar: a Tasmota board with floats and valves, a Shelly with pumps, a probe of nobody's kind, a pump of nobody's kind. */
class Cellar {
  readonly floats: Record<string, 'ON' | 'OFF'> = {};
  readonly power: Record<string, 'ON' | 'OFF'> = {};
  readonly outputs: Record<string, boolean> = {};
  readonly numbers = { count: 10, mm: 120, vatC: 21.5, systemC: 25, ec: 51.2 };
  readonly #client: MqttClient;
  readonly #timer: NodeJS.Timeout;
  constructor(client: MqttClient) {
    this.#client = client;
    for (let n = 1; n <= 9; n++) this.floats[`Switch${n}`] = n % 3 === 0 ? 'ON' : 'OFF';
    for (const n of ['1', '2']) this.power[`POWER${n}`] = 'OFF';
    for (const n of ['0', '1', '2']) this.outputs[n] = false;
    this.#say('tele/board/LWT', 'Online', true);
    this.#say('cellar-pumps/online', 'true', true);
    this.speak();
    this.#timer = setInterval(() => this.speak(), 300);
  }
  close(): void {
    clearInterval(this.#timer);
  }
  #say(topic: string, said: unknown, retain = false): void {
    this.#client.publish(topic, typeof said === 'string' ? said : JSON.stringify(said), { retain });
  }
  speak(): void {
    const { count, mm, vatC, systemC, ec } = this.numbers;
    this.#say('tele/board/SENSOR', { ...this.floats, COUNTER: { C1: count } });
    this.#say('tele/board/STATE', { Time: 'x', ...this.power });
    this.#say('probe/vat', { ec, t: vatC });
    this.#say('system/degrees', String(systemC));
    this.#say('vat/level', String(mm));
    for (const [n, output] of Object.entries(this.outputs))
      this.#say(`cellar-pumps/status/switch:${n}`, { id: Number(n), output, apower: Math.random() * 60 });
  }
  async #blink<K extends string, V>(where: Record<K, V>, key: K, to: V): Promise<void> {
    const before = where[key];
    for (const value of [to, before]) {
      where[key] = value;
      this.speak();
      await pause(60);
    }
  }
  float = (n: number) => {
    const key = `Switch${n}`;
    return this.#blink(this.floats, key, this.floats[key] === 'ON' ? 'OFF' : 'ON');
  };
  relay = (n: string) => this.#blink(this.power, `POWER${n}`, 'ON' as const);
  output = (n: string) => this.#blink(this.outputs, n, true);
  move = async (name: keyof Cellar['numbers'], by: number) => {
    this.numbers[name] += by;
    this.speak();
    await pause(60);
  };
  /** A pump that somebody commands over MQTT, and that answers in words of its own. */
  plain = async () => {
    for (const [command, state] of [
      [{ run: true, ms: 9000 }, 'RUNS'],
      [{ run: false, ms: 0 }, 'RESTS'],
    ] as const) {
      this.#say('pump9/do', command);
      await pause(60);
      this.#say('pump9/is', state);
      await pause(60);
    }
  };
  rest = () => this.#say('pump9/is', 'RESTS');
  cat = async () => {
    for (const said of ['on', 'off']) this.#say('house/cat-flap', said);
    await pause(60);
  };
}

/** What the person types, and what they move; a question that is not here gets Enter. */
const TYPED: readonly (readonly [RegExp, string])[] = [
  [/station called/, 'Cellar'],
  [/fresh vat: litres to the brim/, '200'],
  [/mixing vat: litres to the brim/, '200'],
  [/system: litres to the brim/, '500'],
  [/usually holds/, '400'],
  [/^refill:/, '0.5 2'],
  [/^(?:transfer|circulate):/, '10 20'],
  [/^(?:supply|drain):/, '4 6'],
  [/in which unit\?.*degC/, 'degC'],
  [/in which unit\?.*mS/, 'mS/cm'],
  [/in which unit\?.*mm/, '%'],
  [/in which unit\?.*pulses/, 'pulses'],
  [/pulses for each litre/, '450'],
  [/how far off it may be, litres/, '5'],
  [/which tray/, 'the cellar floor'],
  [/switch off by itself/, '30 s'],
];
const MARKS: Record<string, string> = {
  'fresh-low': '20',
  'fresh-high': '180',
  'fresh-overflow': '190',
  'mixing-low': '40',
  'mixing-high': '180',
  'mixing-overflow': '190',
  'system-low': '380',
  'system-high': '430',
};

describe.skipIf(!hasMosquitto)('listen --guided', () => {
  it('makes a station of an empty file by what is moved, in minutes and a few words, and says nothing on the wire', async () => {
    const broker = await mosquitto();
    cleanups.push(broker.close);
    const url = `mqtt://127.0.0.1:${broker.port}`;
    const client = await mqtt.connectAsync(url, { clientId: 'cellar' });
    cleanups.push(() => client.endAsync(true));
    const cellar = new Cellar(client);
    cleanups.push(async () => cellar.close());
    cellar.rest();
    const station = join(mkdtempSync(join(tmpdir(), 'vatwarden-guided-')), 'station.json');
    const said: string[] = [];
    const spy = await mqtt.connectAsync(url, { clientId: 'spy' });
    cleanups.push(() => spy.endAsync(true));
    spy.on('message', (topic) => void said.push(topic));
    await spy.subscribeAsync('#');

    const DO: Record<string, () => Promise<unknown>> = {
      ...Object.fromEntries(Object.keys(MARKS).map((id, place) => [id, () => cellar.float(place + 1)])),
      'tray-leak': () => cellar.float(9),
      'mixing-level': () => cellar.move('mm', -30),
      'mixing-temperature': () => cellar.move('vatC', 4),
      'system-temperature': () => cellar.move('systemC', 3),
      'mixing-conductivity': () => cellar.move('ec', -50),
      'inlet-valve': () => cellar.relay('1'),
      'transfer-pump': () => cellar.output('0'),
      'circulation-pump': () => cellar.output('1'),
      'supply-pump': () => cellar.output('2'),
      'drain-pump': () => cellar.plain(),
      'supply-meter': () => cellar.move('count', 450),
    };
    let flaps = 0;
    const startedMs = performance.now();
    const guide = cli(['listen', '--broker', url, '--guided', '--station', station], {}, 'pipe');
    cleanups.push(guide.close);
    let seen = 0;
    let id = '';
    let typed = 0;
    const answer = (text: string) => {
      typed += text.length;
      guide.child.stdin?.write(`${text}\n`);
    };
    const over = guide.code.then(() => 'over');
    for (;;) {
      const now = await Promise.race([over, pause(20)]);
      if (now === 'over') break;
      const lines = guide.out().split('\n').slice(0, -1);
      for (const line of lines.slice(seen)) {
        seen++;
        const step = /^\[([a-z-]+)\]/.exec(line)?.[1];
        if (step !== undefined) {
          id = step;
          const move = DO[id];
          if (move === undefined) answer('-');
          else {
            // A cat comes in while the first float is lifted for the first time.
            if (id === 'fresh-high' && flaps++ === 0) await cellar.cat();
            await move();
            answer('');
          }
        } else if (/litres in the vessel when it turns over/.test(line)) answer(MARKS[id] ?? '');
        else if (
          /^ {2}\d: /.test(line) ||
          /^ {2}(?:nothing|once more|left out|no command|\S+.*: \{)/.test(line)
        )
          continue;
        else if (/^\d+ answers/.test(line)) break;
        else answer(TYPED.find(([asked]) => asked.test(line))?.[1] ?? '');
      }
    }
    const tookS = (performance.now() - startedMs) / 1000;
    const file = JSON.parse(readFileSync(station, 'utf8'));
    console.log(
      `guided: ${tookS.toFixed(0)} s, ${typed} characters; ${guide.out().trim().split('\n').slice(-2).join(' / ')}`,
    );
    expect(await guide.code, guide.out()).toBe(0);
    expect(guide.out()).toContain(`${typed} characters typed`);
    const check = cli(['check', station]);
    expect([await check.code, check.err()]).toEqual([0, '']);
    expect(tookS).toBeLessThan(20 * 60);
    expect(file.devices).toEqual({
      board: { profile: 'tasmota', topic: 'board' },
      'cellar-pumps': { profile: 'shelly', topic: 'cellar-pumps' },
    });
    expect(file.sensors['fresh-high']).toEqual({
      measures: 'float',
      vessel: 'fresh',
      position: 'high',
      device: 'board',
      channel: 'Switch2',
      wet: 'ON',
      dry: 'OFF',
      mark: '180 L',
    });
    // At rest it says ON: the other word is the one for wet.
    expect(file.sensors['fresh-overflow']).toMatchObject({ wet: 'OFF', dry: 'ON' });
    expect(file.sensors['mixing-conductivity']).toMatchObject({
      topic: 'probe/vat',
      at: '/ec',
      unit: 'mS/cm',
      temperatureFrom: 'mixing-temperature',
      republishes: '1 s',
    });
    expect(file.sensors['mixing-conductivity']).not.toHaveProperty('compensatedTo');
    expect(file.actuators['supply-pump']).toEqual({
      kind: 'pump',
      device: 'cellar-pumps',
      channel: '2',
      lease: { lasts: '30 s', countedBy: 'device' },
    });
    expect(file.actuators['drain-pump']).toMatchObject({
      command: { topic: 'pump9/do', on: { run: true, ms: 9000 }, off: { run: false, ms: 0 } },
      feedback: { topic: 'pump9/is', on: 'RUNS', off: 'RESTS' },
    });
    // Nobody but the devices said anything.
    const theirs = /^(?:tele\/board|cellar-pumps|probe|system|vat|pump9|house)\//;
    expect([...new Set(said)].filter((topic) => !theirs.test(topic))).toEqual([]);
  }, 300_000);

  it('goes on where it ended, and leaves out what did not move', async () => {
    const broker = await embedded();
    cleanups.push(broker.close);
    const station = join(mkdtempSync(join(tmpdir(), 'vatwarden-guided-')), 'station.json');
    const url = `mqtt://127.0.0.1:${broker.port}`;
    for (const [typed, asked] of [
      ['Shed\n100\n', 'mixing vat: litres'],
      ['150\n', 'system: litres to the brim'],
    ] as const) {
      const guide = cli(
        ['listen', '--broker', url, '--mqtt', '3.1.1', '--guided', '--station', station],
        {},
        'pipe',
      );
      guide.child.stdin?.end(typed);
      expect(await guide.code).toBe(1);
      expect(guide.out()).toContain(asked);
    }
    expect(existsSync(station)).toBe(true);
    expect(JSON.parse(readFileSync(station, 'utf8')).vessels).toMatchObject({
      fresh: { capacity: '100 L' },
      mixing: { capacity: '150 L' },
    });
  });
});

describe('what is learned', () => {
  const heard = (...said: readonly (readonly [topic: string, text: string])[]) => {
    const ear = learner();
    ear.hear('a/float', 'DRY', true, 0);
    ear.hear('a/number', '24', true, 0);
    ear.begin();
    said.forEach(([topic, text], place) => void ear.hear(topic, text, false, 100 * (place + 1)));
    return ear;
  };

  it('a contact goes there and comes back; what stays, or says three words, or is a number is none', () => {
    const whole = heard(['a/float', 'WET'], ['a/float', 'DRY']);
    expect(whole.contacts()).toEqual([{ topic: 'a/float', at: null, rest: 'DRY', moved: 'WET' }]);
    expect(heard(['a/float', 'WET']).contacts()).toEqual([]);
    expect(heard(['a/float', 'WET'], ['a/float', 'X'], ['a/float', 'DRY']).contacts()).toEqual([]);
    expect(heard(['a/number', '25'], ['a/number', '24']).contacts()).toEqual([]);
    // What speaks only on change rests as it was left.
    expect(heard(['b/float', 'WET'], ['b/float', 'DRY']).contacts()).toMatchObject([
      { rest: 'DRY', moved: 'WET' },
    ]);
    expect(heard(['b/float', 'WET'], ['b/float', 'DRY'], ['b/float', 'WET']).contacts()).toEqual([]);
  });

  it('a reading moves clearly more than it does by itself', () => {
    const ear = heard(['a/number', '31']);
    expect(ear.readings()).toMatchObject([{ rest: 24, moved: 31 }]);
    ear.begin(true);
    ear.hear('a/number', '38', false, 1);
    expect(ear.readings()).toHaveLength(1);
    ear.begin();
    ear.hear('a/number', '31', false, 2);
    expect(ear.readings()).toEqual([]);
  });

  it('a period is one only where the same was said again and again', () => {
    const changes = heard(['a/float', 'WET'], ['a/float', 'DRY'], ['a/float', 'WET'], ['a/float', 'DRY']);
    expect(changes.repeatsS('a/float')).toBeNull();
    expect(heard(...Array.from({ length: 6 }, () => ['a/float', 'DRY'] as const)).repeatsS('a/float')).toBe(
      1,
    );
  });

  it('a command that two topics may be is none', () => {
    const ear = heard(
      ['c/set', '1'],
      ['d/set', '1'],
      ['a/float', 'WET'],
      ['c/set', '0'],
      ['d/set', '0'],
      ['a/float', 'DRY'],
    );
    const [contact] = ear.contacts();
    expect(contact && ear.commandFor(contact)).toBeNull();
  });

  it('huge and endless talk is counted and left', () => {
    const ear = learner();
    for (let n = 0; n < 2100; n++) ear.hear(`t/${n}`, '1', false, n);
    ear.hear('t/1', 'x'.repeat(5000), false, 1);
    expect(ear.leftOut()).toBe(101);
    expect(ear.last('t/1')).toBe('1');
  });

  it.each([
    ['sensor', 'tele/board/SENSOR', '/DS18B20/Temperature', 'tasmota', 'board', 'DS18B20/Temperature'],
    ['relay', 'tele/board/STATE', '/POWER2', 'tasmota', 'board', '2'],
    ['relay', 'pumps/status/switch:3', '/output', 'shelly', 'pumps', '3'],
    ['sensor', 'pumps/status/input:1', '/counts/total', 'shelly', 'pumps', 'input:1/counts/total'],
    ['sensor', 'vat-board/binary_sensor/high/state', null, 'esphome', 'vat-board', 'binary_sensor/high'],
    ['relay', 'z/plug', '/state', 'zigbee2mqtt', 'z/plug', null],
    ['relay', 'z/plug', '/state_l2', 'zigbee2mqtt', 'z/plug', 'l2'],
  ] as const)(
    'a %s at %s %s is of its family once the device said that it is there',
    (of, topic, at, profile, device, channel) => {
      const there: Readonly<Record<string, string>> = {
        'tele/board/LWT': 'Online',
        'pumps/online': 'true',
        'vat-board/status': 'online',
        'z/plug/availability': '{"state":"online"}',
      };
      expect(recognised(of, topic, at, (from) => there[from])).toEqual({ profile, topic: device, channel });
      expect(recognised(of, topic, at, () => undefined)).toBeNull();
    },
  );
});
