// Campaigns: fixed nights hold on the three example stations, a night depends on its seed alone, and a night that goes
// wrong is told with its fewest faults and the command that plays it again.
import { describe, expect, test } from 'vitest';
import type { Plant } from '../../src/station/plant.ts';
import { lose } from '../../src/verify/lost.ts';
import { nightReport, replayCommand } from '../../src/verify/trial/campaign.ts';
import { parseTrouble, specOf } from '../../src/verify/trial/misfortunes.ts';
import { NIGHT_MS, runNight } from '../../src/verify/trial/night.ts';
import { nightsOf } from '../../src/verify/trial/nights.ts';
import { campaignOf, campaignText } from '../../src/verify/trial/report.ts';
import { KINDS, swarmFor } from '../../src/verify/trial/swarm.ts';
import { plantAt } from '../tools/coupled.ts';
import { turnOf } from '../tools/turn.ts';

const STATIONS = ['marram-point', 'one-vat', 'unequal-vats'] as const;
/** Of the ten thousand that are measured: others with each commit. */
const NIGHTS = 4;
const FIRST = 1 + NIGHTS * turnOf(2_500);
const fileOf = (name: string): string => `schemas/examples/${name}.json`;
const marram = plantAt(fileOf('marram-point'));

describe('a campaign', () => {
  test.each(STATIONS)(
    `holds for ${NIGHTS} nights on %s, hardware gaps aside`,
    async (name) => {
      const plant = plantAt(fileOf(name));
      const campaign = campaignOf(fileOf(name), plant, await nightsOf(plant, { seeds: NIGHTS, seed: FIRST }));
      expect(campaign.failures).toEqual([]);
      expect(campaign.held).toBe(NIGHTS);
      expect(campaign.deliveredL).toBeGreaterThan(0);
    },
    300_000,
  );

  test('a night depends on its seed alone', () => {
    const [once, again, other] = [7, 7, 8].map((seed) => nightReport(marram, seed, null));
    expect(again).toEqual(once);
    expect(other).not.toEqual(once);
  });

  test('a water change comes about after a night without faults', () => {
    const night = runNight(marram, 5, []);
    expect(night.findings).toEqual([]);
    expect(night.cycleMs).not.toBeNull();
    expect(night.deliveredL).toBeGreaterThan(0);
  });

  test('a fault without an end is mended in the morning', () => {
    const endless = ['foreign-on:drain-pump@600s', 'service-away:service@3600s', 'leaks:fresh=0.2@600s'];
    const night = runNight(
      marram,
      5,
      endless.map((spec) => parseTrouble(spec, marram)),
    );
    expect(night.findings).toEqual([]);
    expect(night.cycleMs).not.toBeNull();
  });

  test('of two faults of one link that overlap, the link is back when the later one ends', () => {
    const overlapping = [
      'link-mute:broker@3600s-14400s',
      'link-lost:broker@7200s-7500s',
      'link-mute:broker@10800s-18000s',
    ];
    const night = runNight(
      marram,
      430,
      overlapping.map((spec) => parseTrouble(spec, marram)),
    );
    expect(night.findings).toEqual([]);
    expect(night.cycleMs).not.toBeNull();
  });

  test('a service that comes back while its disk is full runs nothing', () => {
    const full = ['journal-full:journal@9919s-12444s', 'service-away:service@9928s-10244s'];
    const night = runNight(
      marram,
      1732,
      full.map((spec) => parseTrouble(spec, marram)),
    );
    expect(night.findings).toEqual([]);
    expect(night.cycleMs).not.toBeNull();
  });

  test('what siphons out of a hose that came off is named with the hardware that would stop it', () => {
    const both = ['hose-off:drain@4027s-4366s', 'siphon:drain=0.429@663s-15829s'];
    const night = runNight(
      marram,
      6536,
      both.map((spec) => parseTrouble(spec, marram)),
    );
    expect(night.findings.map(({ about, gap }) => [about, gap])).toEqual([['drain', 'G-04']]);
  });

  test('no salt is asked for a vat whose high float flutters and has no level: nobody knows how full it is', () => {
    const plant = plantAt(fileOf('one-vat'));
    const night = runNight(plant, 309, [parseTrouble('chatters:mixing-high@0s-32174s', plant)]);
    expect(night.findings).toEqual([]);
    expect(night.cycleMs).not.toBeNull();
  });

  test('every kind of fault comes up within some nights, and some nights have none', () => {
    const swarms = Array.from({ length: 400 }, (_, seed) => swarmFor(marram, seed, NIGHT_MS));
    const seen = new Set(swarms.flatMap((troubles) => troubles.map(({ kind }) => kind)));
    // This station has no top-off that reports and no doser, so what concerns them can't be drawn.
    expect(KINDS.filter((kind) => !seen.has(kind))).toEqual([]);
    expect(swarms.filter((troubles) => troubles.length === 0).length).toBeGreaterThan(20);
  });

  test('faults are written so that they can be read back', () => {
    for (let seed = 0; seed < 200; seed++)
      for (const trouble of swarmFor(marram, seed, NIGHT_MS))
        expect(parseTrouble(specOf(trouble), marram)).toEqual(trouble);
  });
});

describe('a night that goes wrong', () => {
  const troubles = [
    'clock-wrong:clock=-60@0s-36000s',
    'nobody-there:all@3600s-7200s',
    'hose-off:transfer@0s-36000s',
    'weak:drain-pump=0.5@0s-3600s',
  ].map((spec) => parseTrouble(spec, marram));

  test('is shrunk to its fewest faults', () => {
    // Without the leak sensor's row, the meters' and the level's, a hose that is off empties the vat.
    const prepare = (plant: Plant) => lose(plant, (kind) => /^I-(04|08|09|11)/.test(kind));
    const report = nightReport(marram, 1, troubles, { prepare, liveness: false });
    const hose = report.verdicts.find(({ check }) => check === 'hose');
    expect(hose?.faults).toEqual(['hose-off:transfer@0s-36000s']);
    expect(hose?.gap).toBeNull();
    const campaign = campaignOf(fileOf('marram-point'), marram, [report]);
    expect(campaign.held).toBe(0);
    expect(campaignText(campaign)).toContain(
      "vatwarden trial schemas/examples/marram-point.json --seeds 1 --seed 1 --fault 'hose-off:transfer@0s-36000s'",
    );
  });

  test('does not go wrong with the rows in place', () => {
    expect(nightReport(marram, 1, troubles, { liveness: false }).verdicts).toEqual([]);
  });

  test('names the hardware where software can not help', () => {
    const siphon = parseTrouble('siphon:supply=0.5@0s-36000s', marram);
    const { verdicts } = nightReport(marram, 1, [siphon], { liveness: false });
    expect(verdicts.map(({ gap }) => gap)).toEqual(['G-04']);
    expect(verdicts[0]?.fit).toMatch(/siphon break/);
  });

  test('a night without faults is played again without faults', () => {
    expect(replayCommand('a.json', 3, [])).toBe('vatwarden trial a.json --seeds 1 --seed 3 --no-faults');
  });
});
