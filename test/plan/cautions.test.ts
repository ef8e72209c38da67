import { describe, expect, it } from 'vitest';
import { CAUTIONS } from '../../src/plan/cautions.ts';
import { designOf } from '../../src/plan/design.ts';
import { year } from '../../src/plan/sections/year.ts';
import type { Year } from '../../src/plan/year/tally.ts';
import { type Change, cautionIds, reportWith, siteWith } from './sites.ts';

/** A site on which nothing is wrong but the two dangers that are always said of a full vat on a stand. */
const calm: Change = (file) => {
  file.solutes = file.solutes?.slice(0, 1) ?? [];
  file.owner = { absence: '4 d' };
  file.system.level = { least: '0.3 m', most: '0.4 m' };
  file.drain = { flow: '6 L/min', outlet: '0 m', siphonBreak: true };
};
const CALM = ['P-21', 'P-25'];

/** What must be changed on the calm site for a caution to be said, and what its sentence must name. */
const FIRES: Readonly<Record<string, readonly [change: Change, phrase: RegExp]>> = {
  'P-01': [
    (file) => {
      file.room.floor = { storey: 2 };
    },
    /3\.8 kPa over the free floor.* 2\.0 times .* Nothing is stated/,
  ],
  'P-26': [
    (file) => {
      delete file.system.level;
      file.supply.outlet = '-0.4 m';
      file.supply.pipes = [{ length: '3 m', diameter: '34 mm' }];
    },
    /ends 1\.3\d m below .* up to 228\.\d L\/min run on by themselves: up to 288 L per stop into the system/,
  ],
  'P-27': [
    (file) => {
      file.system.level = { least: '1.9 m', most: '2 m' };
      file.supply.ends = 'under water';
      file.supply.outlet = '1.8 m';
    },
    /up to 1\.7\d m above the mixing vat .* run back until its end lies bare/,
  ],
  'P-28': [
    (file) => {
      file.drain = { flow: '6 L/min', outlet: '0 m' };
    },
    /0\.40 m below .* goes on as a siphon/,
  ],
  'P-29': [
    (file) => {
      file.drain = { flow: '6 L/min' };
    },
    /Nothing in the file says/,
  ],
  'P-30': [
    (file) => {
      file.system.spare = '10 L';
      file.supply.pump.curve = [['60 L/min', '4 m']];
      file.supply.pipes = [{ length: '2 m', diameter: '34 mm' }];
    },
    /supply is too strong for the system: .* no more than \d+\.\d L\/min/,
  ],
  'P-31': [
    (file) => {
      file.vats.candidates = [
        { name: 'Pail', shape: { kind: 'upright-cylinder', diameter: '400 mm', height: '170 mm' } },
      ];
      file.schedule.reserve = '1 %';
    },
    /floats of Pail can't be built .* low float that would have to sit at 83 mm/,
  ],
  'P-32': [
    (file) => {
      file.schedule.exchange = { share: '12 %', every: '7 d' };
    },
    /One change takes 288 L, and a batch is 234 L: it needs 2 batches/,
  ],
  'P-33': [
    (file) => {
      file.system.spare = '10 L';
    },
    /step of 1\.7 L lasts 15 s/,
  ],
  'P-34': [
    (file) => {
      file.vats.candidates = [
        { name: 'Pillar', shape: { kind: 'upright-cylinder', diameter: '560 mm', height: '1400 mm' } },
      ];
    },
    /Pillar stands 1412 mm high on 572 mm/,
  ],
  'P-02': [
    (file) => {
      file.room.floor.allowedLoad = '3 kN/m2';
    },
    /3\.8 kPa, for which 3\.0 kPa are stated/,
  ],
  'P-03': [
    (file) => {
      file.room.floorDrain = false;
    },
    /no floor drain/,
  ],
  'P-04': [
    (file) => {
      file.vats.fresh = 'Upright 500';
    },
    /Upright 500 does not pass Store room door/,
  ],
  'P-05': [
    (file) => {
      file.room.height = '1.5 m';
    },
    /stands 862 mm high .* more than the 1500 mm/,
  ],
  'P-06': [
    (file) => {
      file.room.length = '1.5 m';
      file.vats.fresh = 'Upright 320';
      file.vats.mixing = 'Upright 320';
      file.room.width = '0.8 m';
    },
    /1500 x 800 mm/,
  ],
  'P-07': [
    (file) => {
      file.system.parts = { Display: '2600 L' };
      file.vats.fresh = 'Upright 320';
      file.vats.mixing = 'Upright 320';
    },
    /18\.5 % .* 20 %: 38 L are missing/,
  ],
  'P-08': [
    (file) => {
      file.supply.outlet = '4.5 m';
    },
    /supply pump can't reach the system: it must lift 4\.2\d m .* 3\.40 m/,
  ],
  'P-09': [
    (file) => {
      delete file.system.level;
      file.supply.outlet = '0.3 m';
      file.supply.pipes = [{ length: '1 m', diameter: '40 mm' }];
    },
    /beyond its curve: it has head to spare at 20\.0 L\/min/,
  ],
  'P-10': [
    (file) => {
      file.schedule.exchange.share = '8 %';
    },
    /too slow .* Feb .* 171 L\/d, and 209 L\/d are needed/,
  ],
  'P-11': [
    (file) => {
      file.schedule.exchange.share = '6 %';
    },
    /must run for 9\d % of the day/,
  ],
  'P-12': [
    (file) => {
      file.heater = { power: '40 W' };
      file.room.temperature = '12 degC';
    },
    /never reaches 25 degC/,
  ],
  'P-13': [
    (file) => {
      file.heater = { power: '450 W', within: '8 h' };
    },
    /longer than the 8 h asked for/,
  ],
  'P-14': [
    (file) => {
      delete file.heater;
    },
    /more than 0\.3 K .* 2\.0 % goes in at once, 1\.7 % may/,
  ],
  'P-15': [
    (file) => {
      file.solutes = [
        { name: 'Nitrate', present: '22 mg/L', target: '10 mg/L', production: '0.35 mg/(L d)' },
      ];
    },
    /Nitrate never falls to 10\.0 mg\/L: it settles at 17\.5 mg\/L/,
  ],
  'P-16': [
    (file) => {
      file.owner = { absence: '12 d' };
    },
    /4\.9 d, and nobody may come for 12 d/,
  ],
  'P-17': [
    (file) => {
      file.vats.fresh = 'Upright 250';
      file.vats.mixing = 'Long box 360';
      file.purifier.output = '90 L/d';
    },
    /waits 1\.\d d longer/,
  ],
  'P-18': [
    (file) => {
      file.inlet.pressure = '0.15 bar';
      file.inlet.dissolved = '900 mg/L';
    },
    /gives nothing \(Jan, Feb/,
  ],
  'P-19': [
    (file) => {
      file.transfer.pump.curve = [['120 L/min', '5 m']];
      file.transfer.pipes = [{ length: '1 m', diameter: '50 mm' }];
    },
    /high float has to sit at 185 L of 320 L/,
  ],
  'P-20': [
    (file) => {
      file.system.returnPump = { model: 'R-9' };
    },
    /R-9\) and the supply pump \(R-3\) are two models/,
  ],
  'P-22': [
    (file) => {
      file.supply.pipes = [{ length: '1 m', diameter: '9 mm' }];
    },
    /2\.\d m\/s in 9 mm/,
  ],
};

describe('The calm site', () => {
  it('has the dangers of every full vat on a stand, and no other caution', () => {
    expect(cautionIds(reportWith(calm))).toEqual(CALM);
  });

  it('on the floor itself, has that of the floor alone', () => {
    const report = reportWith((file) => {
      calm(file);
      file.vats.stand = '0 mm';
    });
    expect(cautionIds(report)).toEqual(['P-25']);
  });
});

describe('A caution', () => {
  it.each(Object.entries(FIRES))(
    '%s is said when it holds, with the numbers in it',
    (id, [change, phrase]) => {
      const report = reportWith((file) => {
        calm(file);
        change(file);
      });
      const said = report.cautions.filter((caution) => caution.id === id);
      expect(said, cautionIds(report).join(' ')).toHaveLength(1);
      expect(said[0]?.words).toMatch(phrase);
      expect(said[0]?.mend).toBe(CAUTIONS[id as keyof typeof CAUTIONS].mend);
    },
  );

  it('of every row of the table is tried here or where years are simulated', () => {
    const elsewhere = ['P-23', 'P-24'];
    expect([...CALM, ...Object.keys(FIRES), ...elsewhere].toSorted()).toEqual(
      Object.keys(CAUTIONS).toSorted(),
    );
  });

  it('comes before all others the more it weighs', () => {
    const report = reportWith((file) => {
      file.supply.outlet = '4.5 m';
      file.room.floorDrain = false;
    });
    const weights = report.cautions.map(({ weight }) => weight);
    expect(weights).toEqual([...weights].sort((a, b) => order(a) - order(b)));
    expect(new Set(weights)).toEqual(new Set(['danger', 'fails', 'look']));
  });

  it('about the floor asks for an engineer even where the stated load is not reached, and never approves', () => {
    const report = reportWith((file) => {
      calm(file);
      file.room.floor = { storey: 3, allowedLoad: '20 kN/m2' };
    });
    const floor = report.cautions.find(({ id }) => id === 'P-25');
    expect(floor?.words).toContain('less than the 20.0 kPa stated for it, which is no approval either');
    expect(floor?.mend).toContain('structural engineer');
    expect(cautionIds(report)).not.toContain('P-02');
  });

  it('of a simulated year is said when the reserve was short for most of it, or an exchange was late', () => {
    const design = designOf(siteWith());
    const spells = { times: 3, hours: 100, longestHours: 60 };
    const done: Year = {
      days: 10,
      seed: 7,
      late: spells,
      reserve: { ...spells, hours: 200, leastShare: 0.05, meanShare: 0.12 },
      wantedL: 480,
      deliveredL: 470,
      sawtooth: [],
      large: [],
      salt: { times: 2, kg: 20, meanHours: 4, longestHours: 9 },
      purifiedL: 700,
      membraneDays: 3,
      away: [],
      trips: {},
      spilledL: 0,
      offSpecL: 0,
      daily: [0.1, 0.2],
      shortHoursByMonth: Array(12).fill(0),
    };
    expect(year(design, done).cautions.map(({ id }) => id)).toEqual(['P-23', 'P-24']);
    const calmYear = {
      ...done,
      late: { times: 0, hours: 0, longestHours: 0 },
      reserve: { ...done.reserve, hours: 10 },
    };
    expect(year(design, calmYear).cautions).toEqual([]);
    // A long year is drawn in spans, each with its mean and its least day.
    const long = year(design, {
      ...done,
      days: 130,
      daily: Array.from({ length: 130 }, (_, day) => day / 1000),
    });
    const [mean, least] = long.charts[0]?.series ?? [];
    expect(mean?.points.slice(0, 2)).toEqual([
      [1.5, expect.closeTo(0.1, 9)],
      [4.5, expect.closeTo(0.4, 9)],
    ]);
    expect(least?.points.slice(0, 2)).toEqual([
      [1.5, 0],
      [4.5, expect.closeTo(0.3, 9)],
    ]);
    expect(mean?.points.at(-1)).toEqual([129.5, expect.closeTo(12.9, 9)]);
  });
});

function order(weight: string): number {
  return ['danger', 'fails', 'look'].indexOf(weight);
}
