import { readdirSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { wordsOf } from '../../src/station/problem.ts';
import { RULES } from '../../src/station/rules/all.ts';
import { schemaErrors } from '../../src/station/schema.ts';
import { mistakesOf } from '../../src/station/schema-mistakes.ts';
import { sketchOf } from '../../src/station/sketch.ts';
import { errorsOf, example, least, load, spoilt, textOf } from './stations.ts';

type Spoil = readonly [pointer: string, part: unknown];
/** What an installer did, to which parts, and the one place and phrase that the answer must have. */
type Slip = readonly [title: string, spoils: readonly Spoil[], pointer: string, phrase: string];

const VALVE = {
  kind: 'valve',
  command: { topic: 't/other/set', on: 'on', off: 'off' },
  lease: { lasts: '20 s', countedBy: 'device' },
};

const LEAK = { measures: 'leak', tray: 'the tray', topic: 't/tray', republishes: '20 s' };

const announces = (template: object): Spoil => [
  '/announce',
  { templates: [{ each: 'property', ...template }] },
];

const SLIPS: readonly Slip[] = [
  [
    'names a vessel that is not there',
    [['/routes/drain/to', 'wast']],
    '/routes/drain/to',
    'Did you mean "waste"?',
  ],
  [
    'renames a vessel and forgets the routes',
    [
      ['/vessels/mixing', undefined],
      ['/vessels/mix', { role: 'mixing', capacity: '100 L' }],
    ],
    '/routes/transfer/to',
    '(also at /routes/circulate/from,',
  ],
  [
    'exercises a pump',
    [['/actuators/supply-pump/exercise', {}]],
    '/actuators/supply-pump/exercise',
    'a valve only',
  ],
  [
    'exercises a valve hourly',
    [['/actuators/inlet/exercise', { every: '1 h' }]],
    '/actuators/inlet/exercise/every',
    '1 d to 366 d',
  ],
  [
    'leaves a valve open for its exercise until somebody comes',
    [['/actuators/inlet/exercise', { for: '10 min' }]],
    '/actuators/inlet/exercise/for',
    '1 s to 1 min',
  ],
  [
    'asks a float on the command topic of a valve',
    [['/sensors/low/ask', { topic: 't/inlet/set', payload: 'status' }]],
    '/sensors/low/ask/topic',
    'questions and nothing else',
  ],
  [
    'stops the inflow of the system by its drain pump',
    [['/vessels/system/stop', { inflow: { action: 'unplug', what: 'the drain pump' } }]],
    '/vessels/system/stop/inflow/what',
    'takes water out of',
  ],
  [
    'stops a route by the pump of another',
    [['/routes/drain/stop', { action: 'unplug', what: 'the supply pump' }]],
    '/routes/drain/stop/what',
    "can't stop drain",
  ],
  [
    'stops a pump by another one',
    [['/actuators/drain-pump/stop', { action: 'switch off', what: { de: 'supply pump' } }]],
    '/actuators/drain-pump/stop/what',
    "can't stop drain-pump",
  ],
  [
    'closes a pump',
    [['/routes/drain/stop', { action: 'close', what: 'the drain pump' }]],
    '/routes/drain/stop/action',
    'only a valve is closed',
  ],
  [
    'calls a tap like a valve',
    [['/handValves', { inlet: { name: 'the tap' } }]],
    '/handValves/inlet',
    'among the actuators too',
  ],
  ['names a lamp that is not there', [['/alive', 'lamp']], '/alive', 'no actuator'],
  [
    'exchanges a system that is not there',
    [['/process/exchange', { sistem: { perDay: '1 %', step: '4 L' } }]],
    '/process/exchange/sistem',
    'Did you mean "system"?',
  ],
  [
    'has no mixing vat',
    [['/vessels/mixing', { role: 'system', capacity: '100 L', volume: '50 L' }]],
    '/vessels',
    'no mixing vat',
  ],
  [
    'has two fresh vats',
    [['/vessels/spare', { role: 'fresh', capacity: '50 L' }]],
    '/vessels/spare/role',
    'one fresh vat',
  ],
  [
    'gives the mixing vat no water',
    [['/routes/transfer', undefined]],
    '/routes',
    'no route by which water reaches',
  ],
  ['states no volume of a system', [['/vessels/system/volume', undefined]], '/vessels/system', 'no "volume"'],
  [
    'gives the waste a capacity',
    [['/vessels/waste/capacity', '20 L']],
    '/vessels/waste/capacity',
    'do nothing',
  ],
  [
    'gives the fresh vat a purity limit',
    [['/vessels/fresh/purityLimit', '20 uS/cm']],
    '/vessels/fresh/purityLimit',
    '"purified-water"',
  ],
  [
    'begins with more than fits',
    [['/vessels/fresh/initial', { contents: '120 L' }]],
    '/vessels/fresh/initial/contents',
    '120 L to begin with',
  ],
  [
    'measures a shape too small',
    [['/vessels/fresh/shape', { kind: 'box', length: '400 mm', width: '400 mm', height: '600 mm' }]],
    '/vessels/fresh/shape',
    'holds 96 L',
  ],
  [
    'types a shape in the wrong unit',
    [['/vessels/fresh/shape', { kind: 'box', length: '400 m', width: '400 mm', height: '700 mm' }]],
    '/vessels/fresh/shape',
    'up to 20 m',
  ],
  [
    'refills to below where it starts',
    [['/process/refill/stopAt', '40 L']],
    '/process/refill/stopAt',
    'rise',
  ],
  [
    'mixes more than the vat holds',
    [['/process/batch/contents', '120 L']],
    '/vessels/mixing/capacity',
    'the brim less its margin at 97 L',
  ],
  [
    'puts the low float under the minimum',
    [['/sensors/low/mark', '4 L']],
    '/sensors/low/mark',
    'the minimum at 5 L',
  ],
  [
    'swaps least and most flow',
    [['/routes/drain/flow', { least: '3 L/min', most: '2 L/min' }]],
    '/routes/drain/flow/most',
    'least',
  ],
  [
    'states a usual flow that is not usual',
    [['/routes/drain/flow/usual', '5 L/min']],
    '/routes/drain/flow/usual',
    'between',
  ],
  [
    'fills the inlet',
    [
      [
        '/routes/back',
        { from: 'fresh', to: 'purifier', through: ['other'], flow: { least: '1 L/min', most: '2 L/min' } },
      ],
      ['/actuators/other', VALVE],
    ],
    '/routes/back/to',
    'only gives',
  ],
  [
    'draws from the waste',
    [
      [
        '/routes/back',
        { from: 'waste', to: 'fresh', through: ['other'], flow: { least: '1 L/min', most: '2 L/min' } },
      ],
      ['/actuators/other', VALVE],
    ],
    '/routes/back/from',
    'gone',
  ],
  [
    'lets water through a heater',
    [['/routes/drain/through/1', 'relay']],
    '/routes/drain/through/1',
    'valves and pumps',
  ],
  [
    'wants one actuator on and off',
    [['/routes/drain/shut', ['drain-pump']]],
    '/routes/drain/shut/0',
    'either in "through" or in "shut"',
  ],
  [
    'excludes a route from itself',
    [['/routes/drain/notWith', ['drain']]],
    '/routes/drain/notWith/0',
    'itself',
  ],
  [
    'circulates through a valve',
    [
      ['/routes/circulate/through', ['other']],
      ['/actuators/other', VALVE],
    ],
    '/routes/circulate/through',
    'no pump',
  ],
  [
    'floats a float in the waste',
    [['/sensors/low/vessel', 'waste']],
    '/sensors/low/vessel',
    'whose role is "waste"',
  ],
  [
    'has two thermometers in one vat',
    [['/sensors/other', { measures: 'temperature', vessel: 'mixing', unit: 'K', topic: 't/k' }]],
    '/sensors/other',
    'a second temperature sensor of "mixing"',
  ],
  [
    'has two meters in one route',
    [['/sensors/other', { measures: 'total', route: 'refill', unit: 'L', topic: 't/l' }]],
    '/sensors/other',
    'a second meter',
  ],
  [
    'has two low floats in one vat',
    [
      [
        '/sensors/other',
        { measures: 'float', vessel: 'mixing', position: 'low', mark: '12 L', wet: 1, dry: 0, topic: 't/l' },
      ],
    ],
    '/sensors/other',
    'a second low float',
  ],
  [
    'calibrates a level that is in litres',
    [
      [
        '/sensors/level/table',
        [
          ['0 mm', '0 L'],
          ['1 m', '100 L'],
        ],
      ],
    ],
    '/sensors/level/table',
    'only for a level in',
  ],
  [
    'writes a table that falls',
    [
      [
        '/sensors/level',
        {
          measures: 'level',
          vessel: 'mixing',
          unit: 'mm',
          uncertainty: '2 L',
          topic: 't/level',
          table: [
            ['0 mm', '0 L'],
            ['50 cm', '40 L'],
            ['40 cm', '50 L'],
          ],
        },
      ],
    ],
    '/sensors/level/table/2',
    'both level and contents rise',
  ],
  [
    'writes a table beyond the brim',
    [
      [
        '/sensors/level',
        {
          measures: 'level',
          vessel: 'mixing',
          unit: 'mm',
          uncertainty: '2 L',
          topic: 't/level',
          table: [
            ['0 mm', '0 L'],
            ['50 cm', '400 L'],
          ],
        },
      ],
    ],
    '/sensors/level/table/1/1',
    '400 L in a vessel of 100 L',
  ],
  [
    'takes the temperature from a float',
    [['/sensors/probe/temperatureFrom', 'low']],
    '/sensors/probe/temperatureFrom',
    'measures float',
  ],
  [
    'takes the temperature from another vat',
    [
      ['/sensors/other', { measures: 'temperature', vessel: 'system', unit: 'degC', topic: 't/other' }],
      ['/sensors/probe/temperatureFrom', 'other'],
    ],
    '/sensors/probe/temperatureFrom',
    'which is in "system"',
  ],
  [
    'counts pulses per litre in litres',
    [['/sensors/supply-total/pulsesPerLitre', 450]],
    '/sensors/supply-total/pulsesPerLitre',
    '"pulses"',
  ],
  ['scales by nothing', [['/sensors/level/scale', 0]], '/sensors/level/scale', 'the same'],
  [
    'writes the range the wrong way round',
    [['/sensors/level/range', [100, 0]]],
    '/sensors/level/range',
    'nothing lies',
  ],
  [
    'lets a reading grow old before the next',
    [['/sensors/level/maxAge', '20 s']],
    '/sensors/level/maxAge',
    'three times',
  ],
  [
    'lets a feedback grow old before the next',
    [
      [
        '/actuators/circulation-pump/feedback',
        { topic: 't/x', on: 1, off: 0, maxAge: '5 s', republishes: '10 s' },
      ],
    ],
    '/actuators/circulation-pump/feedback/maxAge',
    'three times',
  ],
  [
    'leases too long above a level without a float',
    [['/actuators/transfer-pump/lease/lasts', '160 s']],
    '/actuators/transfer-pump/lease/lasts',
    'lets 16 L into "mixing" after the contents of a batch (80 L + 2 L), where 15 L are left',
  ],
  [
    'leases for half a second',
    [['/actuators/relay/lease/lasts', '500 ms']],
    '/actuators/relay/lease/lasts',
    'at least 1 s',
  ],
  [
    'names a lamp as master',
    [
      ['/actuators/other', { ...VALVE, kind: 'signal' }],
      ['/actuators/inlet/upstream', 'other'],
    ],
    '/actuators/inlet/upstream',
    "can't cut anything off",
  ],
  [
    'puts an actuator above itself',
    [['/actuators/inlet/upstream', 'inlet']],
    '/actuators/inlet/upstream',
    'a circle: "inlet" below "inlet"',
  ],
  [
    'switches the heater with a pump',
    [['/heaters/heater/switch', 'drain-pump']],
    '/heaters/heater/switch',
    '"kind": "heater"',
  ],
  [
    'switches two heaters with one relay',
    [
      [
        '/heaters/second',
        { in: 'mixing', switch: 'relay', power: '300 W', covered: '20 L', limit: '30 degC' },
      ],
    ],
    '/heaters/second/switch',
    'already',
  ],
  ['wires the lamp to a pump', [['/alive', 'drain-pump']], '/alive', '"kind": "signal"'],
  [
    'inhibits the top-off with a valve',
    [['/process/exchange/system/inhibitTopOff', 'inlet']],
    '/process/exchange/system/inhibitTopOff',
    '"kind": "signal"',
  ],
  [
    'gives a sensor and an actuator one id',
    [['/sensors/inlet', { measures: 'leak', tray: 'here', wet: 1, dry: 0, topic: 't/leak-2' }]],
    '/actuators/inlet',
    'among the sensors too',
  ],
  [
    'gives a route and a heater one id',
    [
      [
        '/heaters',
        { drain: { in: 'mixing', switch: 'relay', power: '300 W', covered: '20 L', limit: '30 degC' } },
      ],
    ],
    '/heaters/drain',
    'among the routes too',
  ],
  [
    'proves off by a feedback that is not there',
    [['/actuators/relay/offProvenBy', 'feedback']],
    '/actuators/relay/offProvenBy',
    'gives none',
  ],
  [
    'proves off by a lease that nobody counts',
    [['/actuators/drain-pump/offProvenBy', 'lease']],
    '/actuators/drain-pump/offProvenBy',
    'does not count',
  ],
  [
    'proves off by a flow that nobody measures',
    [['/actuators/drain-pump/offProvenBy', 'no-flow']],
    '/actuators/drain-pump/offProvenBy',
    'no metered route',
  ],
  [
    'copies a feedback topic from a sensor',
    [['/actuators/circulation-pump/feedback', { topic: 't/low', on: 1, off: 0 }]],
    '/actuators/circulation-pump/feedback/topic',
    '/sensors/low reads already',
  ],
  [
    'commands two pumps at one topic',
    [['/actuators/drain-pump/command/topic', 't/supply/set']],
    '/actuators/drain-pump/command/topic',
    '/actuators/supply-pump is commanded by',
  ],
  [
    'commands at an availability topic',
    [['/actuators/drain-pump/command/topic', 't/status']],
    '/actuators/drain-pump/command/topic',
    '/sensors/temperature/availability reads',
  ],
  [
    'leaves a space behind a topic',
    [['/sensors/low/topic', 't/low ']],
    '/sensors/low/topic',
    'Did you mean "t/low"?',
  ],
  [
    'says online and offline with one word',
    [['/sensors/temperature/availability', { topic: 't/status', online: 1, offline: '1' }]],
    '/sensors/temperature/availability/offline',
    'told apart',
  ],
  [
    'says on and off of a feedback with one word',
    [['/actuators/circulation-pump/feedback/off', 1]],
    '/actuators/circulation-pump/feedback/off',
    'told apart',
  ],
  ['leaves a space in a word', [['/sensors/low/wet', 'wet ']], '/sensors/low/wet', 'spaces'],
  [
    'sends the same for on and off',
    [['/actuators/relay/command/off', 'on']],
    '/actuators/relay/command/off',
    'the same payload',
  ],
  ['forgets the refill', [['/process/refill', undefined]], '/process', 'no "refill"'],
  [
    'refills without a route',
    [
      ['/routes/refill', undefined],
      ['/sensors/inlet-flow', undefined],
    ],
    '/process/refill',
    'without a route into "fresh"',
  ],
  ['aims at brine', [['/process/salinity/target', '70 PSU']], '/process/salinity/target', 'PSS-78'],
  [
    'tolerates anything',
    [['/process/salinity/tolerance', '35 PSU']],
    '/process/salinity/tolerance',
    'anything pass',
  ],
  [
    'believes in more salt than product',
    [['/process/salt/yield', '850 g/g']],
    '/process/salt/yield',
    'bound water',
  ],
  [
    'never finds it warm enough',
    [['/process/temperature/least', '25 degC']],
    '/process/temperature/least',
    'warm enough',
  ],
  [
    'refuses a batch at its target',
    [['/process/temperature/most', '25 degC']],
    '/process/temperature/most',
    'refused',
  ],
  [
    'opens the cut-out below the limit',
    [['/heaters/heater/cutOut', '28 degC']],
    '/heaters/heater/cutOut',
    'above',
  ],
  ['trips before the target', [['/heaters/heater/limit', '25 degC']], '/heaters/heater/limit', 'trip before'],
  [
    'asks for more than a batch holds',
    [['/process/batch/least', '85 L']],
    '/process/batch/least',
    'no more than',
  ],
  [
    'covers the heater with more than a batch',
    [['/heaters/heater/covered', '80 L']],
    '/heaters/heater/covered',
    'never covers',
  ],
  [
    'exchanges the mixing vat',
    [['/process/exchange', { mixing: { perDay: '1 %', step: '4 L' } }]],
    '/process/exchange/mixing',
    'whose role is "mixing"',
  ],
  [
    'allows less than one step',
    [['/process/exchange/system/largest', '3 L']],
    '/process/exchange/system/largest',
    'at least one step',
  ],
  [
    'steps below the low float',
    [
      [
        '/sensors/other',
        { measures: 'float', vessel: 'system', position: 'low', mark: '392 L', wet: 1, dry: 0, topic: 't/o' },
      ],
    ],
    '/process/exchange/system/step',
    'drains "system"',
  ],
  [
    'steps by more than a batch',
    [['/process/exchange/system/step', '76 L']],
    '/process/exchange/system/step',
    'more than a batch can give',
  ],
  [
    'is quiet from ten to ten',
    [['/process/quietHours', { from: '22:00', to: '22:00', rest: ['exchange'] }]],
    '/process/quietHours/to',
    'both ends',
  ],
  [
    'tries its floats once in two years',
    [['/policy', { proofTests: { every: '730 d' } }]],
    '/policy/proofTests/every',
    '1 d to 366 d',
  ],
  [
    'forgives an untried float for two years',
    [['/policy', { proofTests: { grace: '730 d' } }]],
    '/policy/proofTests/grace',
    'at most 366 d',
  ],
  [
    'pumps nothing',
    [['/routes/drain/flow/least', '0 L/min']],
    '/routes/drain/flow/least',
    'more than nothing',
  ],
  [
    'leases for no time',
    [['/actuators/relay/lease/lasts', '0 s']],
    '/actuators/relay/lease/lasts',
    'more than nothing',
  ],
  [
    'gives a bit a word that no bit can say',
    [['/sensors/tray', { measures: 'leak', tray: 'it', topic: 't/in', bit: 3, wet: 1, dry: 'dry' }]],
    '/sensors/tray/dry',
    "a bit can't say",
  ],
  [
    'gives a bit of a feedback a word',
    [['/actuators/circulation-pump/feedback', { topic: 't/in', bit: 0, on: 'on', off: 0 }]],
    '/actuators/circulation-pump/feedback/on',
    '1 and 0',
  ],
  [
    'reads one bit for two contacts',
    [
      ['/sensors/tray', { measures: 'leak', tray: 'it', topic: 't/in', bit: 3, wet: 1, dry: 0 }],
      [
        '/sensors/low',
        {
          measures: 'float',
          vessel: 'mixing',
          position: 'low',
          mark: '10 L',
          topic: 't/in',
          bit: 3,
          wet: 1,
          dry: 0,
        },
      ],
    ],
    '/sensors/tray/topic',
    'bit 3, which /sensors/low reads already',
  ],
  [
    'misspells a placeholder of an announcement',
    [announces({ topic: 'x/$identifier', payload: { name: 'the $nam' } })],
    '/announce/templates/0/payload/name',
    'Did you mean "$name"?',
  ],
  [
    'misspells a placeholder of a topic',
    [announces({ topic: 'x/$identifier/$propety', payload: {} })],
    '/announce/templates/0/topic',
    'Did you mean "$property"?',
  ],
  [
    'announces every property at one topic',
    [announces({ topic: 'x/$station/$node', payload: {} })],
    '/announce/templates/0/topic',
    'the same for every property',
  ],
  [
    'puts a unit in a topic that not everything has',
    [announces({ topic: 'x/$identifier/$unit', payload: {} })],
    '/announce/templates/0/topic',
    'which not every property has',
  ],
  [
    'announces on a command topic',
    [announces({ each: 'station', topic: 't/supply/set', payload: {} })],
    '/announce/templates/0/topic',
    '/actuators/supply-pump/command uses',
  ],
  [
    'announces under the prefix of the service',
    [announces({ topic: 'vatwarden/$identifier', payload: {} })],
    '/announce/templates/0/topic',
    'the prefix of the service itself',
  ],
  [
    'announces in the tree of the Homie device',
    [
      [
        '/announce',
        { homie: { domain: 'water' }, templates: [{ each: 'station', topic: 'water/5/x', payload: {} }] },
      ],
    ],
    '/announce/templates/0/topic',
    'the prefix of the Homie device',
  ],
  [
    'asks for a property in a message about the station',
    [announces({ each: 'station', topic: 'x/$station', payload: { unit: '$unit' } })],
    '/announce/templates/0/payload/unit',
    'belongs to a property',
  ],
  [
    'chooses properties for a message about the station',
    [announces({ each: 'station', topic: 'x/$station', payload: {}, where: { settable: true } })],
    '/announce/templates/0/where',
    'a choice of properties',
  ],
  [
    'switches on with a bare number and off with one, too',
    [['/actuators/supply-pump/command', { topic: 't/supply/set', on: '$sequence', off: '0' }]],
    '/actuators/supply-pump/command/off',
    'can also be read as "off"',
  ],
  [
    'commands two relays of a board with payloads that do not say which',
    [
      ['/actuators/supply-pump/command', { topic: 'b/set', on: { relay: 1, on: true }, off: { on: false } }],
      ['/actuators/drain-pump/command', { topic: 'b/set', on: { relay: 2, on: true }, off: { on: false } }],
    ],
    '/actuators/drain-pump/command/topic',
    "payloads that can't be told apart",
  ],
  [
    'says of a feedback only what means on',
    [['/actuators/supply-pump/feedback', { topic: 't/supply/state', on: 'on' }]],
    '/actuators/supply-pump/feedback',
    'no "off" here',
  ],
  [
    'lists one word for wet and for dry',
    [['/sensors/tray', { ...LEAK, wet: ['1', 'wet'], dry: [1, 'dry'] }]],
    '/sensors/tray/dry',
    '"1" for both "wet" and "dry"',
  ],
  [
    'gives two limits that meet',
    [['/sensors/tray', { ...LEAK, wet: { above: 2 }, dry: { below: 3 } }]],
    '/sensors/tray/dry',
    'that can be told apart',
  ],
  [
    'announces the same twice',
    [
      [
        '/announce',
        {
          templates: [
            { each: 'property', topic: 'x/$identifier', payload: {} },
            { each: 'property', topic: 'x/$identifier', payload: { more: 1 } },
          ],
        },
      ],
    ],
    '/announce/templates/1/topic',
    'announces the same already',
  ],
  [
    'names a domain of two levels',
    [['/announce', { homie: { domain: 'a/b' } }]],
    '/announce/homie/domain',
    'one level',
  ],
];

const spoiltBy = (spoils: readonly Spoil[]) =>
  spoils.reduce<unknown>((station, [pointer, part]) => spoilt(station, pointer, part), least());

describe('An installer who', () => {
  it.each(SLIPS)('%s is told so once', (_, spoils, pointer, phrase) => {
    const errors = errorsOf(spoiltBy(spoils));
    expect(errors.map(wordsOf)).toHaveLength(1);
    expect(errors[0]?.pointer).toBe(pointer);
    expect(errors.map(wordsOf)[0]).toContain(phrase);
  });
});

it('The untouched stations have no error', () => {
  expect(errorsOf(least())).toEqual([]);
  expect(errorsOf(example('marram-point'))).toEqual([]);
  expect(errorsOf(example('one-vat'))).toEqual([]);
  expect(errorsOf(example('unequal-vats'))).toEqual([]);
  expect(errorsOf(JSON.parse(textOf('test/stations/bench-rig.json')))).toEqual([]);
});

it('Every rule is broken by some slip here or by some invalid example', () => {
  const folder = 'schemas/examples/invalid';
  const examples = readdirSync(new URL(`../../${folder}/`, import.meta.url))
    .filter((file) => file !== 'comma-after-the-last.json')
    .map((file) => JSON.parse(textOf(`${folder}/${file}`)));
  const sketches = [...SLIPS.map(([, spoils]) => spoiltBy(spoils)), ...examples].map((station) =>
    sketchOf(station, mistakesOf(schemaErrors(station))),
  );
  const silent = RULES.filter((rule) => !sketches.some((sketch) => [...rule(sketch)].length > 0));
  expect(silent.map(({ name }) => name)).toEqual([]);
});

it('Several slips are all reported at once, in the order of the file', () => {
  const station = [
    ['/process/salt/yield', '0.85'],
    ['/routes/drain/to', 'wast'],
    ['/vessels/fresh/capacity', 100],
    ['/sensors/low/position', 'hihg'],
    ['/actuators/relay/lease/countedBy', 'nobody '],
    ['/process/batch/contens', '80 L'],
    ['/process/batch/contents', undefined],
  ].reduce<unknown>((spoiltSoFar, [pointer, part]) => spoilt(spoiltSoFar, String(pointer), part), least());
  const errors = errorsOf(station);
  expect(errors.map(({ pointer }) => pointer)).toEqual([
    '/vessels/fresh/capacity',
    '/routes/drain/to',
    '/sensors/low/position',
    '/actuators/relay/lease/countedBy',
    '/process/salt/yield',
    '/process/batch/contens',
  ]);
  const lines = errors.map(({ line }) => line);
  expect(lines).toEqual(lines.toSorted((a, b) => a - b));
});

it('A broken part does not hide a slip beside it', () => {
  const station = spoilt(
    spoilt(least(), '/sensors/probe/compensatedTo', '25'),
    '/sensors/probe/vessel',
    'mixin',
  );
  expect(errorsOf(station).map(({ pointer }) => pointer)).toEqual([
    '/sensors/probe/vessel',
    '/sensors/probe/compensatedTo',
  ]);
});

it('A file that is no object, or no JSON at all, is told apart and never throws', () => {
  for (const station of [null, 1, 'text', [], {}, { vessels: [] }, { vessels: { a: null }, routes: 3 }]) {
    expect(load(station).ok).toBe(false);
  }
});
