import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { loadSite } from '../../src/plan/load.ts';
import { wordsOf } from '../../src/station/problem.ts';
import { type Change, fileWith, MARRAM, UNEQUAL } from './sites.ts';

const FOLDER = 'schemas/examples/invalid-site';

/** What the one message of each file must say: where, what was found, what would do. */
const MESSAGES: Readonly<Record<string, readonly string[]>> = {
  'candidate-unknown': ['/vats/mixing:', '"Upright 150", which is no candidate', 'Did you mean "Upright 1'],
  'curve-rises': ['/supply/pump/curve:', '3.1 follows 2.5 m', 'heads (at most 500 m) that never rise'],
  'curve-without-shutoff': ['/transfer/pump/curve:', 'head at no flow', 'one duty point'],
  'delays-in-wrong-order': ['/owner/saltDelay/longest:', '"6 h", less than the usual "2 d"'],
  'eleven-months': ['/inlet/temperatures:', 'a list of 11', 'Twelve monthly means', 'exactly 12'],
  'fitting-misspelt': ['/supply/pipes/0/fittings/elbow90:', 'Did you mean "elbow 90"?'],
  'level-upside-down': [
    '/system/level/most:',
    '"0.2 m", lower than the least of "0.4 m"',
    'as high as "least"',
  ],
  'outlet-under-water': ['/supply/outlet:', '"0.1 m" in air, below the water', '"ends": "under water"'],
  'key-misspelt': ['/shedule:', 'unknown key "shedule"', 'Did you mean "schedule"?'],
  'metres-for-millimetres': ['/room/doors/0/width:', '"800 m"', '300 to 20000 mm'],
  'name-twice': ['/vats/candidates/1/name:', '"Upright 120" a second time'],
  'named-while-proposed': ['/vats/fresh:', 'while the vats are to be proposed'],
  'number-without-unit': ['/room/height:', '2300, a number without a unit', 'a length in mm'],
  'price-without-currency': ['/salt/price:', 'a price without a currency', '"tariffs"'],
  'recovery-above-one': ['/purifier/recovery:', '"150 %"', '0.01 to 0.95'],
  'roughness-and-material': ['/supply/pipes/0/roughness:', 'a roughness beside a material'],
  'shape-misspelt': ['/vats/candidates/0/shape/kind:', 'Did you mean "upright-cylinder"?'],
  'storey-in-words': ['/room/floor/storey:', '"ground"', 'a whole number'],
  'unit-of-another-kind': ['/purifier/output:', "'L' is a unit of volume", 'a flow in L/min'],
};

function messagesOf(file: string, text: string): string[] {
  const loaded = loadSite(file, text);
  return loaded.ok ? [] : loaded.errors.map(wordsOf);
}

describe('A site file with one slip', () => {
  const names = readdirSync(FOLDER).map((file) => file.replace('.json', ''));

  it('has a message in this list, and every message has a file', () => {
    expect(names.toSorted()).toEqual(Object.keys(MESSAGES).toSorted());
  });

  it.each(names)('%s is refused with one sentence that says where and what would do', (name) => {
    const file = `${FOLDER}/${name}.json`;
    const messages = messagesOf(file, readFileSync(file, 'utf8'));
    expect(messages).toHaveLength(1);
    for (const phrase of MESSAGES[name] ?? []) expect(messages[0]).toContain(phrase);
    expect(messages[0]).toMatch(/^schemas\/examples\/invalid-site\/[a-z-]+\.json:\d+:\d+ \//u);
  });
});

describe('The examples', () => {
  it.each([MARRAM, UNEQUAL])('%s is a site without a slip', (file) => {
    expect(messagesOf(file, readFileSync(file, 'utf8'))).toEqual([]);
  });
});

describe('The loader of a site', () => {
  const refusalsOf = (change: Change) => messagesOf('site.json', JSON.stringify(fileWith(change)));

  it('says every slip at once', () => {
    const messages = refusalsOf((file) => {
      file.room.height = '2.3';
      file.salt.yield = '3 %';
      file.supply.pump.curve = [['0 L/min', '700 m']];
    });
    expect(messages).toHaveLength(3);
    expect(messages.join('\n')).toMatch(
      /\/room\/height.*\n.*\/salt\/yield.*0\.1 to 1 kg\/kg\n.*\/supply\/pump\/curve/u,
    );
  });

  it('says durations as people write them', () => {
    const [message] = refusalsOf((file) => {
      file.schedule.exchange.every = '2 min';
    });
    expect(message).toContain('1 h to 365 d');
  });

  it('does not go on about a list that is broken', () => {
    const messages = refusalsOf((file) => {
      file.vats.candidates = [
        { name: 'x', shape: { kind: 'upright-cylinder', diameter: 'wide', height: '1 m' } },
      ];
      file.vats.fresh = 'y';
    });
    expect(messages).toHaveLength(1);
    expect(messages[0]).toContain('/vats/candidates/0/shape/diameter');
  });

  it('answers where a pipe has a roughness and no diameter, and where a vat is no higher than nothing', () => {
    const messages = refusalsOf((file) => {
      const [pipe] = file.supply.pipes;
      file.supply.pipes = [{ length: pipe?.length ?? '', roughness: '0.01 mm' } as never];
      file.vats.candidates = [
        { name: 'Flat', shape: { kind: 'upright-cylinder', diameter: '500 mm', height: '0 mm' } },
      ];
    });
    expect(messages.map((message) => message.split(' ')[1])).toEqual([
      '/supply/pipes/0:',
      '/vats/candidates/0/shape/height:',
    ]);
  });

  it('refuses a vat that is a bucket, a capacity that its shape does not hold, and a river', () => {
    const shape = { kind: 'upright-cylinder', diameter: '500 mm', height: '600 mm' } as const;
    const messages = refusalsOf((file) => {
      file.vats.candidates = [
        { name: 'Bucket', shape: { kind: 'upright-cylinder', diameter: '250 mm', height: '300 mm' } },
        { name: 'Boast', shape, capacity: '200 L' },
      ];
      file.schedule.exchange = { share: '100 %', every: '6 h' };
    });
    expect(messages).toHaveLength(3);
    expect(messages.join('\n')).toMatch(/hold 14\.7 L/u);
    expect(messages.join('\n')).toMatch(/"200 L", more than its inside measures hold \(118 L\)/u);
    expect(messages.join('\n')).toMatch(/takes 3514 m3 of water in a year/u);
  });

  it('refuses what is no site at all', () => {
    expect(messagesOf('site.json', '[]')).toHaveLength(1);
    expect(messagesOf('site.json', '{')[0]).toContain('site.json:1:1 the whole file');
  });
});
