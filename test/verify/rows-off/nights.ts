// The nights of the table of accidents: with rows taken out, and what the judges then find.
import { describe, expect, test } from 'vitest';
import { lose } from '../../../src/verify/lost.ts';
import { parseTrouble } from '../../../src/verify/trial/misfortunes.ts';
import { keyOfFinding, runNight } from '../../../src/verify/trial/night.ts';
import { fileOf, plantAt } from '../../tools/coupled.ts';
import { ACCIDENTS, type Accident } from './accidents.ts';
import { wish } from './wishes.ts';

/** What the judges find in this accident's night without these rows; the night ends with the accident. */
function found(accident: Accident, isLost: (kind: string) => boolean): readonly string[] {
  const {
    at = 'marram-point',
    begins = {},
    faults = [],
    wishes,
    fluttersMs,
    works,
    batchL,
    hours,
  } = accident;
  const real = structuredClone(plantAt(fileOf(at)));
  const troubles = faults.map((spec) => parseTrouble(spec, real));
  wish(wishes, fluttersMs);
  const night = runNight(real, 1, troubles, {
    liveness: false,
    lastsMs: hours * 3_600_000,
    until: new Set([accident.found]),
    prepare: (plant) => {
      for (const [vessel, contents] of Object.entries(begins))
        Object.assign(plant.vessels[vessel]?.initial ?? {}, contents);
      if (!works)
        Object.assign(plant.policy.starts, { refill: 'person', batch: 'person', exchange: 'person' });
      if (batchL !== undefined) Object.assign(plant.process.batch, { contentsL: batchL });
      // What is tried is the software: no cut-out may hold what a row should.
      for (const heater of Object.values(plant.heaters)) Object.assign(heater, { cutOutC: null });
      lose(plant, isLost);
    },
  });
  wish([]);
  // The accident is made by hand and not by a fault: that the station says so is right.
  return night.findings.filter(({ check }) => check !== 'calm').map(keyOfFinding);
}

/** Four nights and more for each accident whose row this file takes. */
export function tryAccidents(isMine: (row: string) => boolean): void {
  for (const accident of ACCIDENTS.filter(({ row }) => isMine(row))) tryOne(accident);
}

function tryOne(accident: Accident): void {
  const { row, says, behind, found: harm } = accident;
  const without = (...lost: readonly string[]) => found(accident, (kind) => lost.includes(kind));
  describe(`${row}: the station ${says}`, () => {
    test('without any row', () => {
      expect(found(accident, () => true)).toContain(harm);
    });

    test('not with this row alone', () => {
      expect(found(accident, (kind) => kind !== row)).not.toContain(harm);
    });

    test('not with all rows, nor does anything else go wrong', () => {
      expect(without()).toEqual([]);
    });

    if (behind.length === 0)
      test('without this row: nothing else holds it', () => {
        expect(without(row)).toContain(harm);
      });
    else
      test(`without this row and ${behind.join(', ')}, each of which holds it too`, () => {
        expect(without(row)).not.toContain(harm);
        expect(without(row, ...behind)).toContain(harm);
        const holds = behind.filter(
          (kept) => !without(row, ...behind.filter((kind) => kind !== kept)).includes(harm),
        );
        expect(holds).toEqual(behind);
      });
  });
}
