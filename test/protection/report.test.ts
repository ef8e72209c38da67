import { describe, expect, it } from 'vitest';
import { deriveRows } from '../../src/control/guard/interlocks.ts';
import { eventWords } from '../../src/protection/events.ts';
import { targetsOf } from '../../src/protection/holding.ts';
import { htmlOf } from '../../src/protection/html.ts';
import { protectionOf } from '../../src/protection/report.ts';
import { textOf } from '../../src/protection/text.ts';
import { adviceOn } from '../../src/station/advice.ts';
import { gapsOf } from '../../src/station/gaps.ts';
import { say } from '../tools/english.ts';
import { PLANTS } from './stations.ts';

describe.each(PLANTS)('The report of %s', (_, plant) => {
  const report = protectionOf(plant);
  const text = textOf(report);
  const rows = deriveRows(plant);

  it('has every row that the core derives exactly once: as data, as text and on the page', () => {
    const keys = rows.map(({ key }) => key).toSorted();
    expect(report.chapters.flatMap((chapter) => chapter.rows.map(({ key }) => key)).toSorted()).toEqual(keys);
    const printed = [...text.matchAll(/^ {4}(I-\d\d\/\S+) +(?:shuts down|blocks) /gmu)].map(([, key]) => key);
    expect(printed.toSorted()).toEqual(keys);
    const onThePage = [...htmlOf(report).matchAll(/<tr id="(I-[^"]+)">/gu)].map(([, id]) =>
      id?.replaceAll('_', '/'),
    );
    expect(onThePage.toSorted()).toEqual(keys);
  });

  it('tells of each row what it says itself, whether it latches, and what resets it', () => {
    for (const reported of report.chapters.flatMap((chapter) => chapter.rows)) {
      const row = rows.find(({ key }) => key === reported.key);
      expect(reported.words).toBe(say(row?.words, plant));
      expect(reported.steps.map(({ text: step }) => step).join(' ')).toBe(say(row?.response, plant));
      // Every alarm that a person gets has something to do, to look at or to wait for.
      if (row?.priority !== null) expect(reported.steps.length, reported.key).toBeGreaterThan(0);
      expect(reported.hardware).toContain(say(row?.hardware));
      expect(reported.latch).toBe(row?.action === 'trip' ? 'latched' : 'not latched');
      expect(reported.reset).toBe(say(row?.reset));
      expect(reported.bypass === '').toBe(row?.bypass.may === false);
    }
  });

  it('has every gap of the table, each under its hazard and with what closes it, and no other', () => {
    const told = report.coverage.hardware.flatMap(({ id, hazards, when, fit }) =>
      hazards.map((hazard) => {
        const { harm, about } = report.hazards.find((each) => each.id === hazard.id) ?? {};
        return [id, harm, about, when.join(), fit].join('|');
      }),
    );
    const gaps = gapsOf(plant).map(({ id, harm, about, when, fit }) =>
      [id, harm, about, when.map((event) => eventWords(plant, event)).join(), fit].join('|'),
    );
    expect(told.toSorted()).toEqual(gaps.toSorted());
    for (const { fit } of gapsOf(plant)) expect(text.replace(/\s+/gu, ' ')).toContain(`[ ] ${fit}`);
  });

  it('repeats every warning of check under what nothing holds', () => {
    expect(report.coverage.nothing.missing).toEqual(adviceOn(plant));
  });

  it('has every vessel that can run over, every pump, every hose, every heater and every system among the hazards', () => {
    const about = (harm: string) =>
      report.hazards.filter((each) => each.harm === harm).map((each) => each.about);
    const bounded = Object.values(plant.vessels).filter(
      (v) => Number.isFinite(v.capacityL) && v.into.length > 0,
    );
    expect(about('spilled')).toEqual(bounded.map(({ id }) => id));
    const pumps = Object.values(plant.actuators).filter(({ kind }) => kind === 'pump');
    expect(about('dry').toSorted()).toEqual(pumps.map(({ id }) => id).toSorted());
    expect(about('on the floor')).toEqual(
      Object.values(plant.routes)
        .filter(({ loop }) => !loop)
        .map(({ id }) => id),
    );
    expect(about('heater bare')).toEqual(Object.keys(plant.heaters));
    expect(about('wrong water')).toEqual(plant.systemIds);
  });

  it('names rows of its own for every hazard, each about this hazard and switching off what brings it', () => {
    for (const hazard of report.hazards) {
      const { ownRows, generalRows, id, harm, about } = hazard;
      expect(ownRows.length, id).toBeGreaterThan(0);
      expect(ownRows.filter((key) => generalRows.includes(key))).toEqual([]);
      const targets = targetsOf(plant, hazard);
      for (const key of [...ownRows, ...generalRows]) {
        const forbids = rows.find((row) => row.key === key)?.forbids ?? [];
        expect(
          forbids.some((target) => targets.includes(target)),
          `${id} ${key}`,
        ).toBe(true);
      }
      // What looks at a neighbour's level says nothing about this brim.
      const vessels = ownRows.map((key) => key.split('/')[1] ?? '').filter((what) => what in plant.vessels);
      if (harm === 'spilled') expect(new Set([...vessels, about])).toEqual(new Set([about]));
    }
  });

  it('has a proof test for every row that has an instruction, and a sensor of the station to move for it', () => {
    const provable = rows.filter(({ proof }) => proof !== null);
    expect(report.proof.tests.map(({ row }) => row)).toEqual(provable.map(({ key }) => key));
    for (const { unproven, id } of rows.filter(({ proof }) => proof === null))
      expect(report.proof.untried.find(([, why]) => why === say(unproven))?.[0], id).toContain(id);
    for (const { sensor, instruction, seconds, everyDays, row } of report.proof.tests) {
      expect(everyDays).toBe(plant.policy.proofTests.everyMs / 86_400_000);
      expect(Object.keys(plant.sensors), row).toContain(sensor);
      expect(instruction).toMatch(/within \d+ s/u);
      expect(seconds).toBeGreaterThanOrEqual(Number(/within (\d+) s/u.exec(instruction)?.[1]));
    }
  });

  it('asks for the hard-wired layer and claims no safety level', () => {
    for (const asked of [
      'Independent overflow float',
      'Residual-current protection',
      'Siphon break',
      'Leak switch',
    ])
      expect(text).toContain(`[ ] ${asked}`);
    expect(text.includes('Thermal cut-out')).toBe(Object.keys(plant.heaters).length > 0);
    expect(text).toContain('No safety level (SIL, PL or any other) and no conformity');
  });
});

it('A hazard that no row of its own holds is told among what nothing holds', () => {
  const [, plant] = PLANTS[0] as (typeof PLANTS)[number];
  const without = <T extends object>(
    parts: Readonly<Record<string, T>>,
    gone: Partial<T>,
  ): Record<string, T> =>
    Object.fromEntries(Object.entries(parts).map(([id, part]) => [id, { ...part, ...gone }]));
  const blind = {
    ...plant,
    sensors: {},
    vessels: without(plant.vessels, {
      floats: {},
      level: null,
      temperature: null,
      conductivity: null,
      topOff: null,
    }),
    routes: without(plant.routes, { meter: null }),
  };
  const { coverage, hazards } = protectionOf(blind);
  const pump = hazards.find(({ harm, about }) => harm === 'dry' && about === 'transfer-pump');
  expect(pump?.ownRows).toEqual([]);
  expect(coverage.nothing.withoutRows.map(({ id }) => id)).toContain(pump?.id);
});

it('A kind of failure without words is an error, not an empty line', () => {
  const [, plant] = PLANTS[0] as (typeof PLANTS)[number];
  expect(() => eventWords(plant, 'frost fresh')).toThrow("no words for the failure 'frost fresh'");
});
