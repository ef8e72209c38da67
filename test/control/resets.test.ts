// How trips are reset: by live evidence that the cause is gone, or by a named person who says what they saw; silence never.

import { describe, expect, test } from 'vitest';
import { deriveRows, judge, type Row, rowOf } from '../../src/control/guard/interlocks.ts';
import { lookNeeded, resetTrip } from '../../src/control/guard/resets.ts';
import type { Request } from '../../src/control/guard/types.ts';
import { initial } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import { step } from '../../src/control/step.ts';
import { type Message, message } from '../../src/language/message.ts';
import type { Plant } from '../../src/station/plant.ts';
import { plantAt } from '../tools/coupled.ts';
import { say } from '../tools/english.ts';
import { baseline, STATIONS } from './baseline.ts';

const LEAK = 'I-11/tray-leak';
const ANN = { who: 'Ann', seen: 'the tray is dry and the vat stands at half' };

const silence = (plant: Plant, state: State, id: string): void => {
  if (plant.sensors[id] === undefined) Object.assign(state.devices[id] as object, { feedbackLive: false });
  else Object.assign(state.sensors[id] as object, { live: false });
};

/** Every trip of every station, on that station at rest with nothing wrong. */
const TRIPS = Object.keys(STATIONS).flatMap((name) => {
  const { plant, draft } = baseline(name);
  const latched = (key: string): State => ({ ...draft(), trips: { [key]: 0 } });
  return deriveRows(plant)
    .filter(({ action }) => action === 'trip')
    .map((row) => ({ name, plant, row, latched: () => latched(row.key) }));
});
const byEvidence = TRIPS.flatMap((one) => {
  const { cleared } = one.row;
  return !('inputs' in cleared) ? [] : [{ ...one, key: one.row.key, inputs: cleared.inputs }];
});
const byPerson = TRIPS.filter(({ row }) => !('inputs' in row.cleared)).map((one) => ({
  ...one,
  key: one.row.key,
}));

describe('a reset without a name', () => {
  test.each(byEvidence)(
    '$name $key: goes while all that it looks at is heard and says so',
    ({ plant, key, latched }) => {
      const state = latched();
      expect(resetTrip(plant, state, key, null)).toBeNull();
      expect(state.trips).toEqual({});
    },
  );

  test.each(byEvidence.flatMap((one) => one.inputs.map((input) => ({ ...one, input }))))(
    '$name $key: the silence of $input refuses it and is named, a person who looked may, and it watches on',
    ({ plant, key, input, latched }) => {
      const state = latched();
      silence(plant, state, input);
      const name = plant.sensors[input]?.name ?? plant.actuators[input]?.name;
      expect(say(resetTrip(plant, state, key, null), plant)).toContain(
        `${name} is silent or faulty: put that right, or look for yourself`,
      );
      expect(state.trips[key]).toBe(0);
      expect(resetTrip(plant, state, key, ANN)).toBeNull();
      expect(state.trips).toEqual({});
    },
  );

  test.each(byEvidence)(
    '$name $key: nothing is heard over a link that is down, or silent',
    ({ plant, key, latched }) => {
      for (const link of [{ up: false }, { echoAgeMs: plant.link.provenWithinMs + 1 }]) {
        const state = latched();
        Object.assign(state.link, link);
        expect(say(resetTrip(plant, state, key, null), plant)).toContain(
          'the connection to the broker is not confirmed',
        );
        expect(state.trips[key]).toBe(0);
      }
    },
  );

  test.each(byPerson)(
    '$name $key: never, since nothing at rest can show it',
    ({ plant, row, key, latched }) => {
      const state = latched();
      expect(say(resetTrip(plant, state, key, null), plant)).toContain(
        `${say(row.cleared as Message, plant)}: look for yourself`,
      );
      expect(state.trips[key]).toBe(0);
      expect(resetTrip(plant, state, key, ANN)).toBeNull();
    },
  );

  test('of a welded valve is refused on the first word of its feedback, however young', () => {
    const { plant, draft } = baseline('marram-point');
    const key = 'I-23/inlet-valve/stays-on';
    const state = { ...draft(), trips: { [key]: 0 } };
    Object.assign(state.devices['inlet-valve'] as object, {
      feedback: true,
      feedbackLive: true,
      feedbackAgeMs: 0,
      disagreesMs: 0,
    });
    expect(say(resetTrip(plant, state, key, null), plant)).toContain('the cause is still there');
  });

  test('of a bare heater needs its water, not only that it is off', () => {
    const { plant, draft } = baseline('marram-point');
    const key = 'I-16/heater/on';
    const state = { ...draft(), trips: { [key]: 0 } };
    Object.assign(state.sensors['mixing-low'] as object, { value: false, believed: false });
    expect(rowOf(plant, key)?.holds(state)).toBe(false);
    expect(say(resetTrip(plant, state, key, null), plant)).toContain('the cause is still there');
  });
});

describe('a request', () => {
  const { plant, draft } = baseline('marram-point');
  const RAN = 'I-04/refill';
  const tripped = (...keys: string[]): State => ({
    ...draft(),
    trips: Object.fromEntries(keys.map((key) => [key, 0])),
  });
  const ask = (state: State, more: Omit<Extract<Request, { ask: 'reset-trip' }>, 'ask'>) => {
    const request = { ask: 'reset-trip' as const, ...more };
    const done = step(plant, state, {
      elapsedMs: 0,
      inputs: [{ type: 'request', id: 'r', request }],
      tick: false,
    });
    const answer = done.effects.find((effect) => effect.do === 'answer');
    const records = done.effects.flatMap((effect) =>
      effect.do === 'record' ? [`${effect.about}: ${say(effect.words)}`] : [],
    );
    return { state: done.state, answer, records };
  };

  test('for all resets what live evidence clears, and leaves the rest, also with a name', () => {
    for (const witness of [{}, ANN]) {
      const { state, answer } = ask(tripped(LEAK, RAN), { trip: 'all', ...witness });
      expect(Object.keys(state.trips)).toEqual([RAN]);
      expect(answer).toMatchObject({
        accepted: true,
        words: expect.objectContaining({ id: 'trips-reset-some' }),
      });
    }
  });

  test('with a name and what was seen is recorded with both', () => {
    const { state, answer, records } = ask(tripped(RAN), { trip: RAN, ...ANN });
    expect(state.trips).toEqual({});
    expect(answer).toMatchObject({ accepted: true });
    expect(records).toContain(
      `request: reset-trip: reset: 1 of 1. Ann saw: ${ANN.seen}. A reset starts nothing: press Resume for what is paused`,
    );
    expect(records).toContain(`trip: ${RAN} was reset`);
  });

  test.each([
    ['a name alone', { who: 'Ann' }],
    ['a sentence alone', { seen: ANN.seen }],
    ['a sentence of nothing', { who: 'Ann', seen: ' ok ' }],
  ])('with %s is refused, also where live evidence would do', (_, given) => {
    const { state, answer } = ask(tripped(LEAK), { trip: LEAK, ...given });
    expect(answer).toMatchObject({
      accepted: false,
      words: message('name-and-sentence-needed'),
    });
    expect(Object.keys(state.trips)).toEqual([LEAK]);
  });

  test('a leak that was wet, then drowned: a person may say it is dry, and it trips again when it comes back wet', () => {
    const state = tripped(LEAK);
    Object.assign(state.sensors['tray-leak'] as object, { value: true, believed: true, live: false });
    const plain = ask(state, { trip: 'all' });
    expect(plain.answer).toMatchObject({ accepted: false });
    const named = ask(state, { trip: LEAK, ...ANN });
    expect(named.state.trips).toEqual({});
    const wet = { type: 'reading', sensor: 'tray-leak', value: true, live: true } as const;
    const back = step(plant, named.state, { elapsedMs: 1_000, inputs: [wet], tick: true }).state;
    expect(back.trips[LEAK]).toBe(0);
    expect(ask(back, { trip: LEAK, ...ANN }).answer).toMatchObject({
      accepted: false,
      words: expect.objectContaining({ id: 'trips-refused' }),
    });
  });

  test('whoever has looked at every vat, and says what was there, ends the watch for what was lost', () => {
    const key = `I-36/${plant.id}`;
    const lost: State = { ...draft(), lost: [message('state-missing')] };
    judge(plant, lost, 0);
    expect(lost.trips).toEqual({ [key]: 0 });
    for (const target of [...Object.keys(plant.routes), ...Object.keys(plant.heaters)])
      expect(lost.verdicts[target]).toContain(key);
    expect(ask(lost, { trip: 'all' }).answer).toMatchObject({ accepted: false });
    const { state } = ask(lost, { trip: key, ...ANN });
    expect([state.trips, state.lost]).toEqual([{}, []]);
  });
});

/** A plant of its own in which no row holds by itself. */
const loaded = plantAt('schemas/examples/marram-point.json');
function quiet(): { plant: Plant; row: (key: string) => Row; hold: (key: string, holds: boolean) => void } {
  const own = { ...loaded };
  for (const row of deriveRows(own)) Object.assign(row, { holds: () => false });
  const row = (key: string): Row => {
    const found = rowOf(own, key);
    if (found === undefined) throw new Error(`no row ${key}`);
    return found;
  };
  return { plant: own, row, hold: (key, holds) => Object.assign(row(key), { holds: () => holds }) };
}

describe('a reset by a person who looked', () => {
  const tripped = (key: string) => {
    const own = quiet();
    const state = initial(own.plant);
    state.trips = { [key]: 5_000 };
    return { ...own, state, reset: () => resetTrip(own.plant, state, key, ANN) };
  };

  test('is asked for where it would do, and neither without need nor while the cause stands', () => {
    const { plant, draft } = baseline('marram-point');
    const latched = (key: string): State => ({ ...draft(), trips: { [key]: 0 } });
    const leak = latched(LEAK);
    expect(lookNeeded(plant, leak, LEAK)).toBeNull();
    silence(plant, leak, 'tray-leak');
    expect(say(lookNeeded(plant, leak, LEAK), plant)).toContain(
      'silent or faulty: put that right, or look for yourself',
    );
    const wet = latched(LEAK);
    Object.assign(wet.sensors['tray-leak'] as object, { value: true, believed: true });
    expect(lookNeeded(plant, wet, LEAK)).toBeNull();
    // A book that contradicts goes on doing so until somebody who looked has it begun anew.
    const doubted = latched('I-10/fresh');
    Object.assign(doubted.vessels.fresh as object, { contradiction: 'c', contradictionMs: 1e9 });
    expect(rowOf(plant, 'I-10/fresh')?.holds(doubted)).toBe(true);
    const before = structuredClone(doubted);
    expect(say(lookNeeded(plant, doubted, 'I-10/fresh'), plant)).toContain('still there');
    expect(doubted).toEqual(before);
    expect(say(lookNeeded(plant, latched('I-07/gone'), 'I-07/gone'), plant)).toContain(
      'no longer has what it watched',
    );
  });

  test('of what is not latched is refused', () => {
    const { plant: own } = quiet();
    expect(say(resetTrip(own, initial(own), 'I-07/transfer', ANN), own)).toBe(
      "there is no safety shutdown 'I-07/transfer' to reset",
    );
  });

  test('while the cause stands is refused, and the trip stays', () => {
    const { row, hold, state, reset } = tripped('I-07/transfer');
    hold('I-07/transfer', true);
    expect(say(reset())).toBe(`the cause is still there: ${say(row('I-07/transfer').words)}`);
    expect(state.trips).toEqual({ 'I-07/transfer': 5_000 });
  });

  test('of one whose row the station no longer has is taken with a name and what was seen, and not without', () => {
    const { plant: own, state, reset } = tripped('I-07/gone');
    expect(say(resetTrip(own, state, 'I-07/gone', null), own)).toContain('no longer has what it watched');
    expect(reset()).toBeNull();
    expect(state.trips).toEqual({});
  });

  test('starts anew what a pipe has summed up', () => {
    const { state, reset } = tripped('I-07/transfer');
    Object.assign(state.routes.transfer as object, { strayL: 3, lowFlowMs: 9_000 });
    Object.assign(state.routes.supply as object, { strayL: 3, lowFlowMs: 9_000 });
    expect(reset()).toBeNull();
    expect(state.trips).toEqual({});
    expect(state.routes.transfer).toMatchObject({ strayL: 0, lowFlowMs: 0 });
    expect(state.routes.supply).toMatchObject({ strayL: 3, lowFlowMs: 9_000 });
  });

  test('forgets the book of a vessel and what contradicted it', () => {
    const { state, reset } = tripped('I-08/fresh');
    const told = { bookLeastL: 1, bookMostL: 2, mismatchL: 30, contradiction: 'c', contradictionMs: 5 };
    Object.assign(state.vessels.fresh as object, told);
    Object.assign(state.vessels.mixing as object, told);
    expect(reset()).toBeNull();
    expect(state.vessels.fresh).toMatchObject({
      bookLeastL: null,
      bookMostL: null,
      mismatchL: 0,
      contradiction: null,
      contradictionMs: 0,
    });
    expect(state.vessels.mixing).toMatchObject(told);
  });

  test('watches a heater from its beginning', () => {
    const row = deriveRows(loaded).find(
      ({ key, action }) => key.startsWith('I-') && action === 'trip' && key.split('/')[1] === 'heater',
    );
    if (!row) throw new Error('no trip of the heater');
    const { state, reset } = tripped(row.key);
    Object.assign(state.heaters.heater as object, {
      frozen: true,
      welded: true,
      windowC: 20,
      windowMs: 5,
      onMs: 7,
    });
    expect(reset()).toBeNull();
    expect(state.heaters.heater).toMatchObject({
      frozen: false,
      welded: false,
      windowC: null,
      windowMs: 0,
      onMs: 7,
    });
  });
});
