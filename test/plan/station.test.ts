import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { deriveRows } from '../../src/control/guard/interlocks.ts';
import { designOf } from '../../src/plan/design.ts';
import type { SiteFile } from '../../src/plan/file/site.ts';
import { htmlOf } from '../../src/plan/html.ts';
import { reportOf } from '../../src/plan/plan.ts';
import { protection, servedBy } from '../../src/plan/sections/protection.ts';
import { obstacles, stationOf } from '../../src/plan/station.ts';
import { plantOf } from '../../src/station/compile.ts';
import { loadStation } from '../../src/station/load.ts';
import { wordsOf } from '../../src/station/problem.ts';
import '../seed.ts';
import { type Change, cautionIds, designWith, reportWith, siteWith, UNEQUAL } from './sites.ts';

function loadedFrom(change?: Change, from?: string) {
  const loaded = loadStation('planned.json', JSON.stringify(stationOf(designWith(change, from)), null, 2));
  if (!loaded.ok) throw new Error(loaded.errors.map(wordsOf).join('\n'));
  return loaded;
}

describe('The planned station', () => {
  it('of the example loads without an error and without a warning', () => {
    expect(loadedFrom().warnings).toEqual([]);
  });

  it('of unequal vats loads, and says that the reserve is not quite there, as its plan does', () => {
    expect(loadedFrom(undefined, UNEQUAL).warnings.map(({ id }) => id)).toEqual(['W-32']);
    expect(cautionIds(reportWith(undefined, UNEQUAL))).toContain('P-07');
  });

  it('has the marks and flows of the plan', () => {
    const { plant } = loadedFrom();
    const design = designWith();
    expect(plant.sensors['fresh-high']).toMatchObject({ markL: design.freshMarks.highL });
    expect(plant.process.batch.contentsL).toBeCloseTo(design.mixingMarks.batchL, 1);
    expect(plant.process.refill?.stopAtL).toBeCloseTo(design.freshMarks.stopAtL, 1);
    expect(plant.routes.supply?.flowUsualLpm).toBeCloseTo(design.supply.flowLpm ?? 0, 1);
    const { transfer } = design;
    if (transfer.expected === null) throw new Error('it flows');
    expect(plant.routes.transfer?.flowLeastLpm).toBeLessThan(transfer.expected.leastLpm);
    expect(plant.routes.transfer?.flowMostLpm).toBeGreaterThan(transfer.expected.mostLpm);
  });

  it('speaks on topics under the id of the site', () => {
    const station = stationOf(designWith());
    const topics = [
      ...Object.values(station.sensors),
      ...Object.values(station.actuators).map(({ command }) => command),
    ].map((part) => part?.topic ?? '');
    expect(topics.every((topic) => topic.startsWith('marram-point/'))).toBe(true);
    expect(new Set(topics).size).toBe(topics.length);
  });

  it('without a heater has none, and says that its target needs one', () => {
    const { plant, warnings } = loadedFrom((file) => {
      delete file.heater;
    });
    expect(Object.keys(plant.heaters)).toEqual([]);
    expect(warnings.map(({ id }) => id)).toEqual(['W-16']);
  });

  it('of a weekly change exchanges on request only', () => {
    const { plant } = loadedFrom((file) => {
      file.schedule.exchange = { share: '12 %', every: '7 d' };
    });
    expect(plant.process.exchange.system?.perDayShare).toBe(0);
    expect(plant.process.exchange.system?.largestL).toBeCloseTo(480, 6);
  });

  it('is not to be had where a pump reaches nothing or the purifier gives nothing', () => {
    expect(obstacles(designWith())).toEqual([]);
    const high = designWith((file) => {
      file.supply.outlet = '9 m';
      file.transfer.outlet = '9 m';
      file.inlet.pressure = '0.05 bar';
    });
    expect(obstacles(high)).toHaveLength(3);
  });
});

describe('The list of hardware', () => {
  const station = stationOf(designWith());
  const plant = plantOf(station);
  const rows = deriveRows(plant);
  const served = servedBy(station, plant, rows);
  const rowsOf = (id: string) => served.find((device) => device.id === id)?.rows ?? [];

  it('has every sensor and every actuator that moves water or heat, once', () => {
    const ids = [
      ...Object.keys(plant.sensors),
      ...Object.values(plant.actuators)
        .filter(({ kind }) => kind !== 'signal')
        .map(({ id }) => id),
    ];
    expect(served.map(({ id }) => id)).toEqual(ids);
  });

  it('gives each device at least one interlock, and every id is one that the core derives', () => {
    const known = new Set(rows.map(({ id }) => id));
    for (const { id, rows: serves } of served) {
      expect(serves.length, id).toBeGreaterThan(0);
      for (const row of serves) expect(known, `${id}: ${row}`).toContain(row);
    }
  });

  // Read off docs of the table by hand: I-01 high float, I-02 overflow, I-05 dry running, I-07 flow, I-11 leak, I-16 heater.
  it.each([
    ['fresh-high', 'I-01'],
    ['fresh-overflow', 'I-02'],
    ['fresh-low', 'I-05'],
    ['mixing-low', 'I-16'],
    ['transfer-meter', 'I-07'],
    ['supply-meter', 'I-22'],
    ['mixing-level', 'I-08'],
    ['vat-tray-leak', 'I-11'],
    ['mixing-temperature', 'I-18'],
    ['mixing-conductivity', 'I-20'],
    ['system-temperature', 'I-20'],
    ['system-high', 'I-21'],
    ['top-off', 'I-30'],
    ['purified-conductivity', 'I-29'],
    ['inlet-valve', 'I-23'],
    ['master-valve', 'I-02'],
    ['heater-contactor', 'I-18'],
  ])('%s serves %s among others', (device, row) => {
    expect(rowsOf(device)).toContain(row);
  });

  it('does not credit a device with what has nothing to do with it', () => {
    expect(rowsOf('fresh-high')).not.toContain('I-16');
    expect(rowsOf('purified-conductivity')).not.toContain('I-20');
    expect(rowsOf('system-temperature')).not.toContain('I-18');
    expect(rowsOf('vat-tray-leak')).not.toContain('I-07');
  });

  it('shrinks with the station: without a heater nobody speaks of heaters', () => {
    const section = protection(
      designWith((file) => {
        delete file.heater;
      }),
    );
    expect(JSON.stringify(section.tables)).not.toMatch(/I-16|I-17|I-18|I-19|I-31|Heater/u);
  });
});

/** Sites of all sizes, most of them absurd. */
const anySite = fc.record({
  volumeL: fc.double({ min: 50, max: 50_000, noNaN: true }),
  spare: fc.double({ min: 0.01, max: 0.3, noNaN: true }),
  outletM: fc.double({ min: -3, max: 8, noNaN: true }),
  headM: fc.double({ min: 0.3, max: 12, noNaN: true }),
  flowLpm: fc.double({ min: 0.5, max: 300, noNaN: true }),
  pipeMm: fc.double({ min: 6, max: 60, noNaN: true }),
  pipeM: fc.double({ min: 0.1, max: 80, noNaN: true }),
  outputLpd: fc.double({ min: 20, max: 5000, noNaN: true }),
  pressureBar: fc.double({ min: 0.1, max: 8, noNaN: true }),
  coldC: fc.double({ min: 1, max: 30, noNaN: true }),
  share: fc.double({ min: 0.001, max: 0.5, noNaN: true }),
  everyD: fc.integer({ min: 1, max: 30 }),
  diameterMm: fc.integer({ min: 350, max: 1500 }),
  heightMm: fc.integer({ min: 350, max: 2000 }),
  kind: fc.constantFrom('upright-cylinder', 'lying-cylinder', 'box', 'propose'),
  heater: fc.option(fc.double({ min: 20, max: 6000, noNaN: true }), { nil: undefined }),
  stand: fc.integer({ min: 0, max: 900 }),
});

function changed(a: typeof anySite extends fc.Arbitrary<infer T> ? T : never): Change {
  return (file) => {
    file.system.parts = { System: `${a.volumeL} L` };
    file.system.spare = `${Math.max(10, a.spare * a.volumeL)} L`;
    file.supply.outlet = `${a.outletM} m`;
    file.supply.pump.curve = [[`${a.flowLpm} L/min`, `${a.headM} m`]];
    file.supply.pipes = [{ length: `${a.pipeM} m`, diameter: `${a.pipeMm} mm` }];
    file.transfer.pump.curve = [[`${a.flowLpm} L/min`, `${a.headM} m`]];
    file.purifier.output = `${a.outputLpd} L/d`;
    file.inlet.pressure = `${a.pressureBar} bar`;
    file.inlet.temperatures = Array(12).fill(`${a.coldC} degC`) as SiteFile['inlet']['temperatures'];
    // More than that a year is refused.
    const share = Math.max(0.0001, Math.min(a.share, (2000 * a.everyD) / a.volumeL));
    file.schedule.exchange = { share: `${share} L/L`, every: `${a.everyD} d` };
    delete file.schedule.largeChange;
    file.vats.stand = `${a.stand} mm`;
    if (a.heater === undefined) delete file.heater;
    else file.heater = { power: `${a.heater} W` };
    const [mm, high] = [`${a.diameterMm} mm`, `${a.heightMm} mm`];
    file.vats.candidates =
      a.kind === 'propose'
        ? 'propose'
        : [
            {
              name: 'Vat',
              shape:
                a.kind === 'upright-cylinder'
                  ? { kind: a.kind, diameter: mm, height: high }
                  : a.kind === 'lying-cylinder'
                    ? { kind: a.kind, diameter: mm, length: high }
                    : { kind: 'box', length: mm, width: '400 mm', height: high },
            },
          ];
  };
}

/** A counter-example is made smaller for so long; a smaller one is no better than an answer. */
const LIMIT_MS = 15_000;

describe('Whatever the loader accepts', () => {
  it('can be planned without an error, and every number of the plan is finite', () => {
    fc.assert(
      fc.property(anySite, (a) => {
        const report = reportOf(designOf(siteWith(changed(a))));
        const numbers = report.sections.flatMap(({ figures, charts }) => [
          ...figures.map(({ value }) => value ?? 0),
          ...charts.flatMap(({ series }) => series.flatMap(({ points }) => points.flat())),
        ]);
        expect(numbers.every(Number.isFinite)).toBe(true);
      }),
      { numRuns: 40, interruptAfterTimeLimit: LIMIT_MS },
    );
  });

  it('makes a station that loads, unless something moves no water', () => {
    fc.assert(
      fc.property(anySite, (a) => {
        const design = designOf(siteWith(changed(a)));
        if (obstacles(design).length > 0) return;
        const loaded = loadStation('planned.json', JSON.stringify(stationOf(design), null, 2));
        expect(loaded.ok ? [] : loaded.errors.map(wordsOf)).toEqual([]);
      }),
      { numRuns: 80, interruptAfterTimeLimit: LIMIT_MS },
    );
  });

  it('can be drawn', () => {
    fc.assert(
      fc.property(anySite, (a) => {
        const html = htmlOf(reportOf(designOf(siteWith(changed(a)))));
        expect(html).not.toMatch(/NaN|Infinity|undefined|null/u);
      }),
      { numRuns: 10, interruptAfterTimeLimit: LIMIT_MS },
    );
  });
});
