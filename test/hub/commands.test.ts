import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Command, commandOf } from '../../src/hub/commands.ts';
import { deviceOf } from '../../src/hub/model.ts';
import { device, EXAMPLES, having, NOTHING, plantOf, shownOf } from './stations.ts';

const plant = plantOf('marram-point');
const marram = deviceOf(plant, { homie: { stopOnBroadcast: true } });
const shown = shownOf(plant);

const set = (path: string, text: string, retain = false): Command =>
  commandOf(marram, shown, { topic: `${marram.root}/${path}/set`, payload: Buffer.from(text), retain });
const body = (path: string, text: string) => {
  const command = set(path, text);
  return command.is === 'asked' ? command.body : command;
};

describe('what is set becomes a request', () => {
  it.each([
    ['refill/ask', 'start', { request: 'start', unit: 'refill' }],
    ['batch/ask', 'hold', { request: 'hold', unit: 'batch' }],
    ['exchange/ask', 'restart', { request: 'restart', unit: 'exchange' }],
    ['exchange/held', 'true', { request: 'hold', unit: 'exchange' }],
    ['batch/held', 'false', { request: 'restart', unit: 'batch' }],
    ['system-system/exchange-now', '40', { request: 'exchange-now', system: 'system', volume: '40 L' }],
    ['system-system/exchange-now', '40.04', { request: 'exchange-now', system: 'system', volume: '40 L' }],
    ['task/salt-added', '8.6', { request: 'salt-added', mass: '8.6 kg' }],
    ['task/salt-as-asked', 'true', { request: 'salt-added' }],
    [
      'task/upkeep-done',
      'siphon-break/I-09/supply; Ada',
      { request: 'upkeep-done', task: 'siphon-break/I-09/supply', who: 'Ada' },
    ],
    [
      'vessel-mixing/salinity-measured',
      '70 PSU; refractometer',
      { request: 'salinity-measured', vessel: 'mixing', value: '70 PSU', instrument: 'refractometer' },
    ],
    ['alarms/acknowledge', 'all', { request: 'acknowledge', alarm: 'all' }],
    ['alarms/on-my-way', 'Ada', { request: 'on-my-way', who: 'Ada', lasts: '1 h' }],
  ])('%s %s', (path, text, expected) => {
    expect(body(path, text)).toEqual(expected);
  });

  it('an alarm is meant by its own id or by the id of its alert', () => {
    const state = having(plant, ...Array.from({ length: 120 }, () => []));
    const alarms = shownOf(plant, state);
    const alarm = alarms.status.alarms.find(({ alarm: id }) => id.includes('/'))?.alarm ?? '';
    const ask = (text: string) =>
      commandOf(marram, alarms, {
        topic: `${marram.root}/alarms/acknowledge/set`,
        payload: Buffer.from(text),
        retain: false,
      });
    expect(alarm).not.toBe('');
    for (const text of [alarm, alarm.toLowerCase().replace('/', '-')]) {
      expect(ask(text)).toMatchObject({ body: { request: 'acknowledge', alarm } });
    }
  });

  it('the broadcast to stop holds everything, whatever it says, and only where the station file asks for it', () => {
    const broadcast = { topic: 'homie/5/$broadcast/stop', payload: Buffer.from('fire'), retain: false };
    expect(commandOf(marram, shown, broadcast)).toMatchObject({
      is: 'asked',
      body: { request: 'hold', unit: 'all' },
    });
    expect(commandOf(deviceOf(plant), shown, broadcast)).toEqual({ is: 'dropped', why: 'unknown-topic' });
  });

  it('Q7: a stored broadcast is not read', () => {
    const broadcast = { topic: 'homie/5/$broadcast/stop', payload: Buffer.from('fire'), retain: true };
    expect(commandOf(marram, shown, broadcast)).toEqual({ is: 'dropped', why: 'retained' });
  });
});

describe('what is refused', () => {
  it.each([
    ['refill/ask', 'stop', 'start, hold, restart'],
    ['refill/ask', '', 'is empty'],
    ['refill/held', 'TRUE', 'true or false'],
    ['system-system/exchange-now', '0', 'at least 0.1'],
    ['system-system/exchange-now', '99999', 'at most 480'],
    ['system-system/exchange-now', '40 L', 'decimal number'],
    ['task/salt-added', '-1', 'at least 0.001'],
    ['task/upkeep-done', 'siphon-break/I-09/supply', 'who did it'],
    ['vessel-mixing/salinity-measured', '70 PSU', 'a semicolon and the instrument'],
    ['vessel-mixing/salinity-measured', '70 PSU; ', 'a semicolon and the instrument'],
    ['task/salt-as-asked', 'false', "can't be taken out"],
    ['station/last-command', 'accepted', ''],
  ])('%s %j', (path, text, words) => {
    const command = set(path, text);
    if (words === '') expect(command).toEqual({ is: 'dropped', why: 'unknown-topic' });
    else expect(command).toMatchObject({ is: 'refused', words: expect.stringContaining(words) });
  });

  it('Q4: a stored command is dropped on every set topic, whatever it says', () => {
    for (const { setTopic } of marram.properties) {
      if (setTopic === null) continue;
      for (const text of ['true', 'start', '5', '', 'all']) {
        const command = commandOf(marram, shown, {
          topic: setTopic,
          payload: Buffer.from(text),
          retain: true,
        });
        expect(command).toEqual({ is: 'dropped', why: 'retained' });
      }
    }
  });

  it('nothing that a stranger sends to any topic makes it throw, and nothing but the requests of the table comes out', () => {
    const topics = marram.properties.flatMap(({ topic, setTopic, targetTopic }) => [
      topic,
      setTopic ?? topic,
      targetTopic ?? topic,
    ]);
    const allowed = [
      'start',
      'hold',
      'restart',
      'acknowledge',
      'on-my-way',
      'salt-added',
      'salinity-measured',
      'exchange-now',
    ];
    fc.assert(
      fc.property(
        fc.constantFrom(...topics),
        fc.uint8Array({ maxLength: 40 }),
        fc.boolean(),
        (topic, payload, retain) => {
          const command = commandOf(marram, shown, { topic, payload, retain });
          if (command.is === 'asked') expect(allowed).toContain(command.body.request);
        },
      ),
      { numRuns: 1000 },
    );
  });
});

it.each(EXAMPLES)('Every request that a hub can make of %s is one that the station may be asked', (name) => {
  const file = new URL('../../schemas/request.schema.json', import.meta.url);
  const kinds = JSON.parse(readFileSync(file, 'utf8')).properties.request.enum as string[];
  const here = device(name);
  const none = { status: shownOf(plantOf(name)).status, last: NOTHING };
  for (const { row, subject, datatype, format } of here.properties) {
    const values = datatype === 'enum' ? (format ?? '').split(',') : ['true', 'false', '5'];
    for (const value of values) {
      const asked = row.ask?.(value, subject, none);
      if (asked !== undefined && typeof asked !== 'string') expect(kinds).toContain(asked.request);
    }
  }
});
