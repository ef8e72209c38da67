import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { deriveRows } from '../../src/control/guard/interlocks.ts';
import type { State } from '../../src/control/process/state.ts';
import { deviceOf } from '../../src/hub/model.ts';
import { alertId, type Part, type Shown } from '../../src/hub/row.ts';
import { pin, pinned } from '../../src/hub/targets.ts';
import {
  changes,
  logMessage,
  type Picture,
  type Publish,
  pictureOf,
  wholePicture,
} from '../../src/hub/view.ts';
import { calm, device, EXAMPLES, having, plantOf, shownOf } from './stations.ts';

/** What a broker holds after these. */
function stored(before: ReadonlyMap<string, string>, messages: readonly Publish[]): Map<string, string> {
  const broker = new Map(before);
  for (const { topic, payload, retain } of messages) {
    if (!retain) continue;
    if (payload === '') broker.delete(topic);
    else broker.set(topic, payload);
  }
  return broker;
}
const standing = (picture: Picture) => new Map([...picture].filter(([, payload]) => payload !== ''));

const plant = plantOf('marram-point');
const marram = deviceOf(plant);
const valueTopic = (path: string) => `${marram.root}/${path}`;

describe('pictures', () => {
  it.each(EXAMPLES)('Q1: every retained property of %s is in the picture, and no momentary one', (name) => {
    const picture = pictureOf(device(name), shownOf(plantOf(name)));
    for (const { topic, retained } of device(name).properties)
      expect([topic, picture.has(topic)]).toEqual([topic, retained]);
  });

  it.each(EXAMPLES)(
    'every value of %s fits its datatype and format, at first sight and with evidence',
    (name) => {
      const here = plantOf(name);
      for (const shown of [shownOf(here), shownOf(here, having(here, calm(here), calm(here)))]) {
        const picture = pictureOf(device(name), shown);
        for (const { topic, datatype, format, retained } of device(name).properties) {
          const payload = picture.get(topic) ?? '';
          if (!retained || payload === '') continue;
          if (datatype === 'enum')
            expect([topic, format?.split(',')]).toEqual([topic, expect.arrayContaining([payload])]);
          if (datatype === 'boolean') expect(['true', 'false']).toContain(payload);
          if (datatype === 'integer') expect(payload).toMatch(/^-?\d+$/u);
          if (datatype === 'float') expect(payload).toMatch(/^-?[\d.]+(e-?\d+)?$/u);
          if (datatype === 'duration') expect(payload).toMatch(/^PT(\d+H)?(\d+M)?(\d+S)?$/u);
        }
      }
    },
  );

  it('what nobody knows has no value on its topic, and never the last one', () => {
    const known = pictureOf(marram, shownOf(plant, having(plant, calm(plant), calm(plant))));
    const lost = pictureOf(marram, shownOf(plant));
    const temperature = valueTopic('vessel-mixing/temperature');
    expect(known.get(temperature)).toBe('20');
    expect(lost.get(temperature)).toBe('');
    expect(changes(marram, known, lost)).toContainEqual({
      topic: temperature,
      payload: '',
      retain: true,
      qos: 2,
    });
  });

  it('Q8: no payload begins with a byte order mark', () => {
    for (const payload of pictureOf(marram, shownOf(plant)).values())
      expect(payload.startsWith('\uFEFF')).toBe(false);
  });

  it('Q9: an empty text stands there as one zero byte, so that its topic is not deleted', () => {
    expect(pictureOf(marram, shownOf(plant)).get(valueTopic('station/last-command-words'))).toBe('\u0000');
  });

  it('Q10: no picture and no change touches $state', () => {
    const one = pictureOf(marram, shownOf(plant));
    const messages = [...wholePicture(marram, one), ...changes(marram, one, new Map())];
    expect(messages.filter(({ topic }) => topic.endsWith('/$state'))).toEqual([]);
  });
});

describe('alerts', () => {
  const raised = (state: string): Shown => {
    const shown = shownOf(plant);
    const alarm = {
      alarm: 'I-02/fresh',
      state,
      priority: 'urgent',
      message: { text: 'too full' },
      response: { text: '', steps: [{ step: 'do', text: 'Close the tap.' }] },
      silenced: '',
      shelvedMinutes: 0,
    };
    return { ...shown, status: { ...shown.status, alarms: [alarm] } } as unknown as Shown;
  };
  const alert = `${marram.root}/$alert/i-02-fresh`;

  it.each([
    'unacknowledged',
    'acknowledged',
    'returned-unacknowledged',
    'latched-unacknowledged',
    'latched-acknowledged',
  ])('Q6: an alarm that is %s stands as an alert, in words and with what to do', (state) => {
    expect(pictureOf(marram, raised(state)).get(alert)).toBe('Too full. Close the tap.');
  });

  it.each(['normal', 'shelved', 'suppressed-by-design', 'out-of-service'])(
    'Q6: one that is %s is no alert',
    (state) => {
      expect(pictureOf(marram, raised(state)).has(alert)).toBe(false);
    },
  );

  it('Q6: raised and cleared it leaves no retained topic behind', () => {
    const quiet = pictureOf(marram, { ...shownOf(plant), status: { ...shownOf(plant).status, alarms: [] } });
    const up = changes(marram, quiet, pictureOf(marram, raised('unacknowledged')));
    const down = changes(marram, pictureOf(marram, raised('unacknowledged')), quiet);
    expect(up).toContainEqual({ topic: alert, payload: 'Too full. Close the tap.', retain: true, qos: 2 });
    expect(down).toContainEqual({ topic: alert, payload: '', retain: true, qos: 2 });
    expect([...stored(stored(standing(quiet), up), down)]).toEqual([...standing(quiet)]);
  });

  it.each(EXAMPLES)('T2, T4: every alarm that %s can raise has a legal alert id of its own', (name) => {
    const here = plantOf(name);
    const units = ['refill', 'batch', ...Object.keys(here.process.exchange)];
    const alarms = [
      ...deriveRows(here).map(({ key }) => key),
      ...units.map((unit) => `A-01/${unit}`),
      'A-02/task',
    ];
    const ids = alarms.map(alertId);
    expect(ids.length).toBeGreaterThan(20);
    expect(ids.filter((id) => !/^[a-z0-9-]+$/u.test(id))).toEqual([]);
    expect(new Set(ids).size).toBe(new Set(alarms).size);
  });
});

describe('from one state to the next', () => {
  const states: State[] = [];
  let state = having(plant, calm(plant));
  states.push(having(plant), state);
  for (const request of [
    { ask: 'start', unit: 'all' } as const,
    { ask: 'hold', unit: 'all' } as const,
    { ask: 'restart', unit: 'all' } as const,
    { ask: 'exchange-now', system: 'system', volumeL: 40 } as const,
    { ask: 'out-of-service', device: 'fresh-high', reason: 'cable' } as const,
  ]) {
    state = having(plant, calm(plant), [{ type: 'request', id: 'x', request }], calm(plant));
    states.push(state);
  }
  const index = fc.integer({ min: 0, max: states.length - 1 });
  const shownAt = (at: number) => shownOf(plant, states[at]);

  it('the broker holds the new picture, whatever was before and whatever comes', () => {
    fc.assert(
      fc.property(index, index, (from, to) => {
        const [before, next] = [pictureOf(marram, shownAt(from)), pictureOf(marram, shownAt(to))];
        expect(stored(standing(before), changes(marram, before, next))).toEqual(standing(next));
      }),
    );
  });

  it('nothing is said where nothing changed', () => {
    for (const one of states) {
      const picture = pictureOf(marram, shownOf(plant, one));
      expect(changes(marram, picture, pictureOf(marram, shownOf(plant, one)))).toEqual([]);
    }
  });

  it('C3: whenever a value with a target is published its target goes out before it, also when the target stays', () => {
    fc.assert(
      fc.property(index, index, (from, to) => {
        const said = changes(marram, pictureOf(marram, shownAt(from)), pictureOf(marram, shownAt(to))).map(
          ({ topic }) => topic,
        );
        for (const { topic, targetTopic } of marram.properties) {
          if (targetTopic === null || !said.includes(topic)) continue;
          expect(said.indexOf(targetTopic)).toBeGreaterThanOrEqual(0);
          expect(said.indexOf(targetTopic)).toBeLessThan(said.indexOf(topic));
        }
      }),
    );
    const holding = shownOf(plant);
    const procedure = (words: string) => ({
      ...holding,
      status: {
        ...holding.status,
        units: {
          ...holding.status.units,
          refill: { ...holding.status.units.refill, procedure: words, message: { text: words } },
        },
      },
    });
    const [was, is] = [pictureOf(marram, procedure('holding')), pictureOf(marram, procedure('held'))];
    expect(was.get(valueTopic('refill/held/$target'))).toBe('true');
    expect(changes(marram, was, is).map(({ topic }) => topic)).toEqual([
      valueTopic('refill/procedure'),
      valueTopic('refill/words'),
      valueTopic('refill/held/$target'),
      valueTopic('refill/held'),
    ]);
  });

  it('Q2: everything retained goes out with the one QoS of the station file', () => {
    for (const qos of [1, 2] as const) {
      const here = device('marram-point', { homie: { qos } });
      const messages = wholePicture(here, pictureOf(here, shownAt(1)));
      expect(new Set(messages.map((message) => `${message.retain} ${message.qos}`))).toEqual(
        new Set([`true ${qos}`]),
      );
    }
  });
});

describe('$target', () => {
  let litres = 0;
  const table: readonly Part[] = [
    {
      kind: 'station',
      words: '',
      over: () => [{ id: 'x', name: 'X' }],
      node: () => 'x',
      rows: [
        {
          id: 'level',
          name: 'Level',
          datatype: 'float',
          words: '',
          value: () => litres,
          target: () => litres,
          ask: () => 'no',
        },
      ],
    },
  ];
  const made = deviceOf(plant, {}, table);
  const [level] = made.properties;
  if (level === undefined) throw new Error('no property');

  it('C4: it is byte for byte what was accepted, and stays so while the station means the same', () => {
    litres = 0.5;
    let pins = pin(new Map(), level, shownOf(plant), { payload: '1.50', value: '1.5' });
    const at = () => {
      const result = pinned(pictureOf(made, shownOf(plant)), pins);
      pins = result.pins;
      return [result.picture.get(`${level.topic}/$target`), result.picture.get(level.topic)];
    };
    // The station has accepted it and its status does not say so yet.
    expect(at()).toEqual(['1.50', '0.5']);
    litres = 1.5;
    expect(at()).toEqual(['1.50', '1.5']);
    litres = 0.5;
    expect(at()).toEqual(['0.5', '0.5']);
    litres = 1.5;
    expect(at()).toEqual(['1.5', '1.5']);
  });

  it('C5: it follows what the station means to do, and no reading of a device can move it', () => {
    const shown = shownOf(plant);
    const busy = shownOf(plant, having(plant, calm(plant), calm(plant))).status;
    const flowing = Object.fromEntries(
      Object.entries(busy.routes).map(([id, route]) => [
        id,
        { ...route, running: 'yes' as const, flowLpm: 7 },
      ]),
    );
    const on = Object.fromEntries(
      Object.keys(busy.actuators).map((id) => [id, { on: true, provenOff: false, feedback: true }]),
    );
    const { sensors, vessels } = busy;
    const moved = { ...shown, status: { ...shown.status, sensors, vessels, routes: flowing, actuators: on } };
    const [before, after] = [pictureOf(marram, shown), pictureOf(marram, moved)];
    const said = changes(marram, before, after).map(({ topic }) => topic);
    expect(said).toContain(valueTopic('route-drain/running'));
    expect(said.filter((topic) => topic.endsWith('/$target'))).toEqual([]);
  });
});

describe('$log', () => {
  it.each(['off', 'error', 'warn', 'info'] as const)(
    'Q5: with log %s it is never retained, and no quieter level is said',
    (log) => {
      const here = device('one-vat', { homie: { log } });
      const levels = ['error', 'warn', 'info'] as const;
      const said = levels.flatMap((level) => logMessage(here, level, 'words') ?? []);
      expect(said).toHaveLength(['off', 'error', 'warn', 'info'].indexOf(log));
      expect(said.every(({ retain, qos }) => !retain && qos === 0)).toBe(true);
      expect(said.map(({ topic }) => topic.split('/').at(-1))).toEqual(levels.slice(0, said.length));
    },
  );
});
