// What is confirmed off when the service leaves: what was proven before, what confirms now, and never what says it is on.
import { NEVER, of } from 'rxjs';
import { describe, expect, it } from 'vitest';
import { codecOf } from '../../src/bridge/codec.ts';
import { switchOff } from '../../src/bridge/farewell.ts';
import { exampleOf } from '../../src/station/words.ts';
import { plantAt } from '../tools/coupled.ts';

const plant = plantAt('schemas/examples/marram-point.json');
const ALL = Object.keys(plant.actuators);
const signals = ALL.filter((id) => plant.actuators[id]?.kind === 'signal');
const moving = ALL.filter((id) => !signals.includes(id));
const [first = '', ...others] = moving;

type Rooms = Parameters<typeof switchOff>[2];
const leave = (provenOff: readonly string[], isProven = true, news: unknown = NEVER) => {
  const rooms = {
    link: { isProven: () => isProven, news },
    codec: codecOf(plant),
    outbox: { offToEverything: () => {} },
  };
  return switchOff(plant, provenOff, rooms as unknown as Rooms, 0);
};
const says = (id: string, word: 'on' | 'off') => {
  const {
    topic,
    at,
    [word]: words,
  } = plant.actuators[id]?.feedback ?? { topic: '', at: null, on: [], off: [] };
  const text = exampleOf(words);
  const payload = at === null ? text : JSON.stringify({ [at.slice(1)]: text });
  return of({ news: 'message', message: { topic, payload: Buffer.from(payload), retain: false } });
};

describe('on the way out', () => {
  it('an off that was proven before is confirmed, though nobody says it again', async () => {
    const { confirmed, unconfirmed } = await leave(moving);
    expect([confirmed, unconfirmed]).toEqual([moving, {}]);
  });

  it('what was not proven before and does not answer is not confirmed', async () => {
    const { unconfirmed } = await leave(others);
    expect(Object.keys(unconfirmed)).toEqual([first]);
    expect(unconfirmed[first]).toContain('it does not confirm');
  });

  it('what was proven off before and says now that it is on is not confirmed', async () => {
    const { unconfirmed } = await leave(moving, true, says(first, 'on'));
    expect(Object.keys(unconfirmed)).toEqual([first]);
  });

  it('what says now that it is off is confirmed', async () => {
    expect((await leave(others, true, says(first, 'off'))).unconfirmed).toEqual({});
  });

  it('nothing that was proven before counts over a link that is down', async () => {
    expect(Object.keys((await leave(ALL, false)).unconfirmed)).toEqual(moving);
  });

  it('a lamp and a signal, which nobody hears, are named and move no water', async () => {
    expect(signals.length).toBeGreaterThan(0);
    expect((await leave(moving)).signals).toEqual(signals);
    expect((await leave(ALL)).signals).toEqual([]);
  });
});
