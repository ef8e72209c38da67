import { describe, expect, it } from 'vitest';
import { ADVICE, type Warning } from '../../src/station/advice.ts';
import { wordsOf } from '../../src/station/problem.ts';
import { EXAMPLES, example, load, spoilt } from './stations.ts';

const MARRAM = example('marram-point');
const EXCHANGE = MARRAM.process.exchange?.system ?? {};

const SECOND_REFILL = { ...MARRAM.routes.refill, name: 'Second refill' };

type Spoil = readonly [pointer: string, part: unknown];

function warningsOf(spoils: readonly Spoil[]): readonly Warning[] {
  const station = spoils.reduce<unknown>((so, [pointer, part]) => spoilt(so, pointer, part), MARRAM);
  const loaded = load(station);
  if (!loaded.ok) throw new Error(loaded.errors.map(wordsOf).join('\n'));
  return loaded.warnings;
}

/** What was taken out of Marram Point or changed there, and which warnings that must give about what. */
const GAPS: readonly (readonly [id: string, gap: string, spoils: readonly Spoil[], about: string])[] = [
  ['W-01', 'a fresh vat without a high float', [['/sensors/fresh-high', undefined]], '/vessels/fresh'],
  [
    'W-02',
    'a mixing vat without an overflow float',
    [['/sensors/mixing-overflow', undefined]],
    '/vessels/mixing',
  ],
  [
    'W-03',
    'both high floats on one board',
    [['/sensors/fresh-overflow/failureDomain', 'input-board-a']],
    '/vessels/fresh',
  ],
  [
    'W-04',
    'an overflow float that is not said to open when wet',
    [['/sensors/fresh-overflow/normallyClosed', undefined]],
    '/sensors/fresh-overflow',
  ],
  [
    'W-05',
    'an inlet valve without a master',
    [['/actuators/inlet-valve/upstream', undefined]],
    '/routes/refill',
  ],
  [
    'W-06',
    'an overflow float a lease below the brim',
    [['/sensors/mixing-overflow/mark', '309 L']],
    '/vessels/mixing',
  ],
  [
    'W-07',
    'no leak sensor',
    [
      ['/sensors/tray-leak', undefined],
      ['/sensors/sump-leak', undefined],
    ],
    '',
  ],
  [
    'W-08',
    'a pump whose lease nobody counts',
    [['/actuators/drain-pump/lease/countedBy', 'nobody']],
    '/actuators/drain-pump',
  ],
  [
    'W-08',
    'a lamp that stays on when the service is dead',
    [['/actuators/alive-lamp/lease/countedBy', 'nobody']],
    '/actuators/alive-lamp',
  ],
  [
    'W-09',
    'a lease of ten minutes',
    [['/actuators/circulation-pump/lease/lasts', '10 min']],
    '/actuators/circulation-pump',
  ],
  [
    'W-10',
    'a pump that draws from a vat without a low float',
    [['/sensors/fresh-low', undefined]],
    '/vessels/fresh',
  ],
  [
    'W-11',
    'a heater without a contactor',
    [['/actuators/heater-relay/upstream', undefined]],
    '/heaters/heater',
  ],
  [
    'W-12',
    'a pump without a contactor',
    [['/actuators/drain-pump/upstream', undefined]],
    '/actuators/drain-pump',
  ],
  [
    'W-13',
    'heater and circulation pump on one board',
    [['/actuators/heater-relay/failureDomain', 'relay-board-a']],
    '/heaters/heater',
  ],
  ['W-14', 'a heater without a thermometer', [['/sensors/mixing-temperature', undefined]], '/heaters/heater'],
  [
    'W-15',
    'a heater limit far above the target',
    [
      ['/heaters/heater/limit', '45 degC'],
      ['/heaters/heater/cutOut', '47 degC'],
    ],
    '/heaters/heater',
  ],
  ['W-16', 'a heater and nothing to heat to', [['/process/temperature', undefined]], '/process/temperature'],
  [
    'W-17',
    'a pump without feedback',
    [['/actuators/drain-pump/feedback', undefined]],
    '/actuators/drain-pump',
  ],
  [
    'W-18',
    'a pump whose stop is assumed',
    [['/actuators/drain-pump/offProvenBy', 'assumption']],
    '/actuators/drain-pump',
  ],
  [
    'W-19',
    'a route that nothing and nobody can stop',
    [
      ['/actuators/drain-pump/upstream', undefined],
      ['/vessels/system/stop', undefined],
    ],
    '/routes/drain',
  ],
  ['W-20', 'no output that says that the service lives', [['/alive', undefined]], ''],
  ['W-21', 'a lamp that nobody lights', [['/alive', undefined]], '/actuators/alive-lamp'],
  [
    'W-22',
    'a sensor that speaks only on change',
    [['/sensors/mixing-level/republishes', undefined]],
    '/sensors/mixing-level',
  ],
  [
    'W-22',
    'a feedback that speaks only on change',
    [['/actuators/drain-pump/feedback/republishes', undefined]],
    '/actuators/drain-pump/feedback',
  ],
  [
    'W-23',
    'a reading that one late message makes stale',
    [['/sensors/mixing-level/maxAge', '45 s']],
    '/sensors/mixing-level',
  ],
  [
    'W-24',
    'a float that is believed late',
    [['/sensors/fresh-high/believe', { stop: '2 s' }]],
    '/sensors/fresh-high',
  ],
  ['W-25', 'a drain without a meter', [['/sensors/drain-meter', undefined]], '/routes/drain'],
  [
    'W-26',
    'a transfer that nothing measures',
    [
      ['/sensors/transfer-meter', undefined],
      ['/sensors/mixing-level', undefined],
    ],
    '/routes/transfer',
  ],
  [
    'W-27',
    'a purifier without a probe',
    [['/sensors/purified-conductivity', undefined]],
    '/vessels/purifier',
  ],
  ['W-27', 'a purifier without a limit', [['/vessels/purifier/purityLimit', undefined]], '/vessels/purifier'],
  ['W-28', 'a mixing vat without a probe', [['/sensors/mixing-conductivity', undefined]], '/vessels/mixing'],
  [
    'W-29',
    'a probe that counts in still water',
    [['/sensors/mixing-conductivity/validAfter', undefined]],
    '/sensors/mixing-conductivity',
  ],
  ['W-30', 'a system without a thermometer', [['/sensors/system-temperature', undefined]], '/vessels/system'],
  ['W-31', 'a top-off that nobody sees', [['/sensors/top-off', undefined]], '/vessels/system'],
  ['W-32', 'a reserve that the vats can not hold', [['/process/reserve', '30 %']], '/process/reserve'],
  [
    'W-33',
    'an exchange that the purifier can not follow in winter',
    [['/process/exchange/system', { ...EXCHANGE, perDay: '10 %' }]],
    '/process/exchange',
  ],
  ['W-34', 'a batch up to the high float', [['/process/batch/contents', '284 L']], '/process/batch/contents'],
  ['W-35', 'a system without an exchange', [['/process/exchange', undefined]], '/vessels/system'],
  [
    'W-36',
    'a master valve that is to be exercised, with nothing before it',
    [['/actuators/master-valve/exercise', {}]],
    '/actuators/master-valve/exercise',
  ],
  ['W-37', 'a heater without a cut-out', [['/heaters/heater/cutOut', undefined]], '/heaters/heater'],
  [
    'W-38',
    'a float that says nothing after a start',
    [
      ['/sensors/fresh-high/republishes', undefined],
      ['/sensors/fresh-high/availability', { topic: 't/online', online: 'yes', offline: 'no' }],
    ],
    '/sensors/fresh-high',
  ],
  [
    'W-39',
    'a meter of a pulse in ten litres',
    [['/sensors/transfer-meter/pulsesPerLitre', 0.1]],
    '/routes/transfer',
  ],
  [
    'W-40',
    'a drain by height, through a valve with nothing upstream',
    [
      ['/actuators/drain-pump/kind', 'valve'],
      ['/actuators/drain-pump/upstream', undefined],
    ],
    '/routes/drain',
  ],
  ['W-41', 'a second refill', [['/routes/second-refill', SECOND_REFILL]], '/routes/second-refill'],
  [
    'W-41',
    'a way from the fresh vat into the system',
    [['/routes/short-cut', { ...SECOND_REFILL, from: 'fresh', to: 'system', through: ['transfer-pump'] }]],
    '/routes/short-cut',
  ],
  [
    'W-42',
    'a system that nothing keeps from running low by drift',
    [['/sensors/system-low', undefined]],
    '/vessels/system',
  ],
  [
    'W-43',
    'a supply that ends lower than its vat is full',
    [
      ['/vessels/mixing/levels', { least: '0.2 m', most: '1.05 m' }],
      ['/routes/supply/outlet', '0.4 m'],
    ],
    '/routes/supply',
  ],
  [
    'W-44',
    'a siphon that is stopped by taking the power of its pump',
    [['/routes/supply/stop', { action: 'switch off', what: 'the supply pump' }]],
    '/routes/supply',
  ],
  [
    'W-45',
    'a vat with a level that a person fills',
    [
      ['/routes/refill', undefined],
      ['/process/refill', undefined],
      ['/sensors/inlet-meter', undefined],
      ['/vessels/fresh/stop', undefined],
    ],
    '/vessels/fresh',
  ],
];

it('Marram Point has no gap', () => {
  expect(warningsOf([])).toEqual([]);
});

describe('The advice', () => {
  it.each(GAPS)('%s speaks of %s', (id, _, spoils, about) => {
    const warning = warningsOf(spoils).find((one) => one.id === id);
    expect(warning?.about).toContain(about);
    expect(warning?.words).toMatch(/^[A-Z].*\.$/u);
    expect(warning?.fit).toMatch(/\.$/u);
  });

  it('has an id for each row, numbered without a hole, and a gap for each id', () => {
    const ids = ADVICE.map(({ id }) => id);
    expect(ids).toEqual(ids.map((_, index) => `W-${String(index + 1).padStart(2, '0')}`));
    expect([...new Set(GAPS.map(([id]) => id))]).toEqual(ids);
  });

  it('W-38 leaves out a relay that ends its own lease: it is known to be off, and reports when it is switched on', () => {
    const about = (spoils: Parameters<typeof warningsOf>[0]) =>
      warningsOf(spoils).find(({ id }) => id === 'W-38')?.about ?? [];
    const silent = ['/actuators/drain-pump/feedback/republishes', undefined] as const;
    expect(about([[...silent]])).toEqual([]);
    expect(
      about([[...silent], ['/actuators/drain-pump/lease', { lasts: '30 s', countedBy: 'nobody' }]]),
    ).toEqual(['/actuators/drain-pump/feedback']);
  });

  it('asks for something hard-wired wherever people or floors are at stake', () => {
    for (const id of ['W-02', 'W-03', 'W-05', 'W-06', 'W-07', 'W-08', 'W-10', 'W-11', 'W-13', 'W-15']) {
      expect(ADVICE.find((row) => row.id === id)?.fit, id).toMatch(/hard-wired/u);
    }
  });

  it('points at parts that are in the file, for every example', () => {
    for (const name of EXAMPLES) {
      const loaded = load(example(name));
      for (const { about } of loaded.ok ? loaded.warnings : []) {
        for (const pointer of about) {
          const part = pointer
            .split('/')
            .slice(1)
            .reduce<unknown>((here, key) => (here as Record<string, unknown>)[key], example(name));
          expect(part, pointer).toBeDefined();
        }
      }
    }
  });
});
