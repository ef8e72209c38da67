import { describe, expect, it } from 'vitest';
import { LIMITS } from '../../src/bridge/limits.ts';
import { requestsOf } from '../../src/bridge/requests.ts';
import { MOST_MEASURED } from '../../src/control/guard/limits.ts';
import { plant } from './rig.ts';

const bytes = (text: string) => new TextEncoder().encode(text);
const read = (body: unknown, retain = false) =>
  requestsOf(plant).read(bytes(typeof body === 'string' ? body : JSON.stringify(body)), retain);
const understood = (body: object) => {
  const asked = read({ id: 'r1', ...body });
  return 'input' in asked ? asked.input.request : asked.answer?.message.text;
};

it('a valve that a person moved is one that is exercised, or nothing', () => {
  const inlet = { ...plant, exercises: { inlet: { id: 'inlet' } } } as unknown as typeof plant;
  const read = (valve: string) =>
    requestsOf(inlet).read(
      bytes(JSON.stringify({ id: 'v', request: 'valve-moved', valve, who: 'Ada' })),
      false,
    );
  expect(read('inlet')).toMatchObject({
    input: { request: { ask: 'valve-moved', valve: 'inlet', who: 'Ada' } },
  });
  expect(JSON.stringify(read('inlett'))).toContain('inlet');
  expect(read('inlett')).toMatchObject({ answer: { accepted: false } });
});

describe('requests that are understood', () => {
  it.each([
    [
      { request: 'start', unit: 'batch' },
      { ask: 'start', unit: 'batch' },
    ],
    [
      { request: 'hold', unit: 'all' },
      { ask: 'hold', unit: 'all' },
    ],
    [
      { request: 'restart', unit: 'refill' },
      { ask: 'restart', unit: 'refill' },
    ],
    [
      { request: 'stop', unit: 'exchange' },
      { ask: 'stop', unit: 'exchange' },
    ],
    [
      { request: 'abort', unit: 'all' },
      { ask: 'abort', unit: 'all' },
    ],
    [
      { request: 'reset', unit: 'all' },
      { ask: 'reset', unit: 'all' },
    ],
    [
      { request: 'acknowledge', alarm: 'I-02/fresh' },
      { ask: 'acknowledge', alarm: 'I-02/fresh' },
    ],
    [
      { request: 'reset-trip', trip: 'all' },
      { ask: 'reset-trip', trip: 'all' },
    ],
    [
      { request: 'salt-added', mass: '8.6 kg' },
      { ask: 'salt-added', massKg: 8.6 },
    ],
    [{ request: 'salt-added' }, { ask: 'salt-added', massKg: null }],
    [
      { request: 'upkeep-done', task: 'siphon-break/I-09/supply', who: 'Ada' },
      { ask: 'upkeep-done', task: 'siphon-break/I-09/supply', who: 'Ada' },
    ],
    [
      { request: 'exchange-now', system: 'system', volume: '10 gal' },
      { ask: 'exchange-now', system: 'system', volumeL: 37.85411784 },
    ],
    [
      { request: 'out-of-service', device: 'tray-leak', reason: 'wet carpet' },
      { ask: 'out-of-service', device: 'tray-leak', reason: 'wet carpet' },
    ],
    [
      { request: 'into-service', device: 'heater' },
      { ask: 'into-service', device: 'heater' },
    ],
    [
      { request: 'proof-test', row: 'I-02/fresh', who: 'Ada' },
      { ask: 'proof-test', row: 'I-02/fresh', who: 'Ada' },
    ],
    [{ request: 'end-proof-test' }, { ask: 'end-proof-test' }],
    [
      { request: 'bypass', row: 'I-13/tray-leak', lasts: '1.5 h', reason: 'flat battery', who: 'Ada' },
      { ask: 'bypass', row: 'I-13/tray-leak', minutes: 90, reason: 'flat battery', who: 'Ada' },
    ],
    [
      { request: 'end-bypass', row: 'I-13/tray-leak' },
      { ask: 'end-bypass', row: 'I-13/tray-leak' },
    ],
    [
      { request: 'shelve', alarm: 'I-29/refill', lasts: '30 min', reason: 'known', who: 'Ada' },
      { ask: 'shelve', alarm: 'I-29/refill', minutes: 30, reason: 'known', who: 'Ada' },
    ],
    [
      { request: 'unshelve', alarm: 'I-29/refill' },
      { ask: 'unshelve', alarm: 'I-29/refill' },
    ],
    [
      { request: 'alarm-out-of-service', alarm: 'I-29/refill', reason: 'rewired', who: 'Ada' },
      { ask: 'alarm-out-of-service', alarm: 'I-29/refill', reason: 'rewired', who: 'Ada' },
    ],
    [
      { request: 'alarm-into-service', alarm: 'I-29/refill' },
      { ask: 'alarm-into-service', alarm: 'I-29/refill' },
    ],
  ])('%j', (body, request) => {
    expect(understood(body)).toEqual(request);
  });
});

describe('a salinity that a person measured', () => {
  const salinity = (more: object) => {
    const request = understood({
      request: 'salinity-measured',
      vessel: 'mixing',
      instrument: 'refractometer',
      ...more,
    });
    return typeof request === 'object' && request.ask === 'salinity-measured' ? request.salinity : request;
  };

  it('as practical salinity, as it is', () => {
    expect(salinity({ value: '35 PSU' })).toBe(35);
  });

  it('as conductivity, by PSS-78 (42.914 mS/cm at 15 degC is 35: UNESCO 44; the temperature scale moves the third digit)', () => {
    expect(salinity({ value: '42.914 mS/cm', sampleTemperature: '15 degC' })).toBeCloseTo(35, 2);
    expect(salinity({ value: '53.06 mS/cm', sampleTemperature: '77 degF' })).toBeCloseTo(35, 1);
  });

  it('as relative density, by the pair of temperatures (1.0264: 35.03 as 25/25, 34.73 as 20/20; UNESCO 44 equation of state)', () => {
    const measured = { value: '1.0264', instrument: 'relative-density' };
    expect(
      Math.abs(
        Number(salinity({ ...measured, sampleTemperature: '25 degC', referenceTemperature: '25 degC' })) -
          35.03,
      ),
    ).toBeLessThan(0.01);
    expect(
      Math.abs(
        Number(salinity({ ...measured, sampleTemperature: '20 degC', referenceTemperature: '20 degC' })) -
          34.73,
      ),
    ).toBeLessThan(0.01);
  });

  it('as salt by mass (35.16504 g/kg is 35: Millero et al. 2008)', () => {
    expect(salinity({ value: '35.16504 g/kg' })).toBeCloseTo(35, 9);
  });

  it('beyond what practical salinity reaches, where a vat was salted twice', () => {
    expect(salinity({ value: '70 PSU' })).toBe(70);
    expect(salinity({ value: '70.33008 g/kg' })).toBeCloseTo(70, 9);
    expect(salinity({ value: '300 PSU' })).toBe(MOST_MEASURED);
  });

  it('never without the instrument', () => {
    const nameless = { request: 'salinity-measured', vessel: 'mixing', value: '35 PSU' };
    expect(understood(nameless)).toContain('instrument is missing');
  });

  it.each([
    [{ value: '53 mS/cm' }, 'sampleTemperature is missing'],
    [{ value: '1.0264', sampleTemperature: '25 degC' }, 'referenceTemperature is missing'],
    [{ value: '1.0264' }, 'sampleTemperature is missing'],
    [{ value: '35' }, 'has no unit'],
    [{ value: '35 kg' }, 'value'],
    [{ value: '301 PSU' }, 'from 0 to 300'],
    [{ value: '-1 PSU' }, 'from 0 to 300'],
    [{ value: '53 mS/cm', sampleTemperature: '80 degC' }, 'value'],
    [{ value: '53 mS/cm', sampleTemperature: '25 bananas' }, 'sampleTemperature'],
    [
      {
        value: '1.4',
        instrument: 'relative-density',
        sampleTemperature: '25 degC',
        referenceTemperature: '25 degC',
      },
      'relative density',
    ],
  ])('%j is refused: %s', (measured, words) => {
    expect(salinity(measured)).toContain(words);
  });
});

describe('requests that are refused, with the field and the mend', () => {
  it.each([
    ['not JSON', 'no JSON object'],
    ['[]', 'no JSON object'],
    ['null', 'no JSON object'],
    [{ id: 'a' }, 'request is missing'],
    [{ id: 'a', request: 'strat', unit: 'all' }, 'Did you mean start?'],
    [{ id: 'a', request: '__proto__' }, 'is unknown'],
    [{ id: 'a', request: 5 }, 'is unknown'],
    [{ request: 'start', unit: 'all' }, 'id is missing'],
    [{ id: '', request: 'start', unit: 'all' }, 'id'],
    [{ id: 'x'.repeat(65), request: 'start', unit: 'all' }, 'id'],
    [{ id: 'a', request: 'start' }, 'unit is missing'],
    [{ id: 'a', request: 'start', unit: 'pump' }, 'must be one of refill, batch, exchange, all'],
    [{ id: 'a', request: 'start', unit: 'all', force: true }, 'force is not a field'],
    [{ id: 'a', request: 'salt-added', mass: 8.6 }, 'mass'],
    [{ id: 'a', request: 'salt-added', mass: '8.6' }, 'has no unit'],
    [{ id: 'a', request: 'salt-added', mass: '0 kg' }, 'more than nothing'],
    [{ id: 'a', request: 'salt-added', mass: '-1 kg' }, 'below zero'],
    [{ id: 'a', request: 'salt-added', mass: '10001 kg' }, 'at most 10000 kg'],
    [{ id: 'a', request: 'exchange-now', system: 'sytem', volume: '40 L' }, 'Did you mean system?'],
    [{ id: 'a', request: 'exchange-now', system: 'fresh', volume: '40 L' }, 'is unknown'],
    [{ id: 'a', request: 'exchange-now', system: 'system', volume: '40 kg' }, "'kg' is a unit of mass"],
    [{ id: 'a', request: 'out-of-service', device: 'tray-leek', reason: 'x' }, 'Did you mean tray-leak?'],
    [{ id: 'a', request: 'out-of-service', device: 'tray-leak' }, 'reason is missing'],
    [{ id: 'a', request: 'acknowledge' }, 'alarm is missing'],
    [{ id: 'a', request: 'proof-test', row: 'I-02/fresh' }, 'who is missing'],
    [{ id: 'a', request: 'bypass', row: 'I-13/x', reason: 'r', who: 'w' }, 'lasts is missing'],
    [
      { id: 'a', request: 'bypass', row: 'I-13/x', lasts: '0 min', reason: 'r', who: 'w' },
      'more than nothing',
    ],
    [{ id: 'a', request: 'shelve', alarm: 'I-29/x', lasts: '1 L', reason: 'r', who: 'w' }, 'lasts'],
    [{ id: 'a', request: 'shelve', alarm: 'I-29/x', lasts: '1 h', reason: '', who: 'w' }, 'reason'],
  ])('%j', (body, words) => {
    const asked = read(body);
    expect('answer' in asked && asked.answer).toMatchObject({
      accepted: false,
      message: { text: expect.stringContaining(words) },
    });
  });

  it('a stored request', () => {
    const asked = read({ id: 'a', request: 'start', unit: 'all' }, true);
    expect('answer' in asked && asked.answer).toMatchObject({
      id: 'a',
      accepted: false,
      message: { text: expect.stringContaining('retain') },
    });
  });

  it('hostile payloads: ten megabytes, deep lists, broken text', () => {
    for (const payload of [
      new Uint8Array(10_000_000).fill(91),
      bytes('['.repeat(60_000)),
      new Uint8Array([0xff, 0xfe]),
    ]) {
      const asked = requestsOf(plant).read(payload, false);
      expect('answer' in asked && asked.answer?.accepted).toBe(false);
    }
  });
});

describe('a request that comes again', () => {
  it('is carried out once and gets the same answer; before the answer it gets none', () => {
    const requests = requestsOf(plant);
    const payload = bytes(JSON.stringify({ id: 'r1', request: 'salt-added', mass: '8.6 kg' }));
    expect('input' in requests.read(payload, false)).toBe(true);
    expect(requests.read(payload, false)).toEqual({ answer: null });
    requests.answered({ id: 'r1', accepted: true, message: { text: 'dissolving' } });
    expect(requests.read(payload, false)).toEqual({
      answer: { id: 'r1', accepted: true, message: { text: 'dissolving' } },
    });
  });

  it('is a new one after a refusal: the slip may have been mended under the same id', () => {
    const requests = requestsOf(plant);
    requests.read(bytes('{"id":"r1","request":"start","unit":"al"}'), false);
    expect('input' in requests.read(bytes('{"id":"r1","request":"start","unit":"all"}'), false)).toBe(true);
  });

  it('ids are remembered up to a bound', () => {
    const requests = requestsOf(plant);
    const ask = (id: number) =>
      requests.read(bytes(JSON.stringify({ id: String(id), request: 'start', unit: 'all' })), false);
    for (let id = 0; id <= LIMITS.rememberedRequests; id++) expect('input' in ask(id)).toBe(true);
    expect('input' in ask(1)).toBe(false);
    expect('input' in ask(0)).toBe(true);
  });
});
