// The client pack: drawings to scale, parts with what is lost without them, labels that can be read, prices, first filling.
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { draftOf } from '../../src/plan/draft.ts';
import { sentence } from '../../src/plan/in-units.ts';
import { readCatalogue } from '../../src/plan/pack/catalogue.ts';
import { elevation, floorPlan } from '../../src/plan/pack/drawing.ts';
import { firstFillOf } from '../../src/plan/pack/first-fill.ts';
import { codeOf, labelled, qrOf } from '../../src/plan/pack/labels.ts';
import { packOf } from '../../src/plan/pack/pages.ts';
import { billOf } from '../../src/plan/pack/parts.ts';
import { reportOf } from '../../src/plan/plan.ts';
import { designWith, MARRAM } from './sites.ts';

const design = designWith();
const same = (text: string) => text;
const numbers = (text: string | undefined): number[] => (text ?? '').split(/[ ,]/u).map(Number);

describe('The elevation', () => {
  const { markup } = elevation(design, same);

  it('is to scale: both vats stand as high as each other and as wide as high, by their own measures', () => {
    const boxes = [
      ...markup.matchAll(/class="body" x="[\d.]+" y="[\d.]+" width="([\d.]+)" height="([\d.]+)"/gu),
    ];
    // 700 mm inside, 6 mm of wall on each side are the outside; purifier first.
    const [, fresh, mixing] = boxes.map(([, width, height]) => Number(width) / Number(height));
    const { body } = design.fresh;
    if (body.kind !== 'cylinder') throw new Error('another vat');
    expect(fresh).toBeCloseTo(body.diameterMm / body.lengthMm, 2);
    expect(mixing).toBeCloseTo(fresh ?? 0, 6);
  });

  it('names each float with its height, in the units of the reader', () => {
    for (const tag of ['LSHH-1 805 mm', 'LSH-1 765 mm', 'LSHH-2', 'LSH-2', 'LSL-2'])
      expect(markup).toContain(tag);
    const us = elevation(design, (text) =>
      sentence(text, { system: 'us', isFloor: false, names: [] }),
    ).markup;
    expect(us).toContain('LSHH-1 31.7 in');
  });

  it('numbers the four pipes, and ends the supply where the site says', () => {
    for (const number of ['1', '2', '3', '4']) expect(markup).toContain(`>${number}</text>`);
    const pipes = [...markup.matchAll(/class="pipe" points="([^"]*)"/gu)].map(([, points]) =>
      numbers(points).filter((_, at) => at % 2 === 1),
    );
    const floorY = numbers(/class="floor" points="([^"]*)"/u.exec(markup)?.[1])[1] ?? 0;
    const supplyY = pipes[2]?.at(-1) ?? 0;
    const [, bodyHeight] = /class="body" [^>]*height="([\d.]+)"/u.exec(markup) ?? [];
    // The first body is the purifier: 0.5 m.
    expect((floorY - supplyY) / (Number(bodyHeight) / 0.5)).toBeCloseTo(1.9, 1);
  });

  it('puts each pump on its pipe', () => {
    const discs = [...markup.matchAll(/class="disc" cx="([\d.]+)" cy="([\d.]+)"/gu)].slice(0, 3);
    const pipes = [...markup.matchAll(/class="pipe" points="([^"]*)"/gu)].map(([, points]) =>
      numbers(points),
    );
    for (const [at, disc] of discs.entries()) {
      const onX = pipes[at + 1]?.filter((_, index) => index % 2 === 0) ?? [];
      expect(onX.some((x) => Math.abs(x - Number(disc[1])) < 1)).toBe(true);
    }
  });

  it('goes below the floor where the system does', () => {
    const cellar = elevation(
      designWith(undefined, 'test/plan/sites/cellar-5-m-below.site.json'),
      same,
    ).markup;
    expect(cellar).toContain('most -4.80 m');
    expect(floorPlan(design, same).markup).toContain('1900 x 950 mm free floor');
  });
});

describe('The parts', () => {
  const bill = billOf(design, new Map());

  it('are those of the drafted station, in three tiers of which each guards more', () => {
    const draft = draftOf(design);
    if (!draft.ok) throw new Error('no station');
    const ids = [...Object.keys(draft.file.sensors), ...Object.keys(draft.file.actuators)];
    expect(bill.parts.map(({ id }) => id).toSorted()).toEqual(ids.toSorted());
    const [least, guarded, full] = bill.tiers;
    expect(least?.interlocks).toBeLessThan(guarded?.interlocks ?? 0);
    expect(guarded?.interlocks).toBeLessThan(full?.interlocks ?? 0);
    expect(full?.remaining).toEqual([]);
  });

  it('say what remains without them: no meter, no row about flow; no contactor, nothing against a welded relay', () => {
    const lacks = (at: number) => bill.tiers[at]?.remaining.map(([id]) => id) ?? [];
    expect(lacks(0)).toEqual(expect.arrayContaining(['I-07', 'I-09', 'I-23']));
    expect(lacks(1)).not.toContain('I-07');
    expect(lacks(1)).toContain('I-18');
    expect(lacks(0)).not.toContain('I-01');
  });

  it('name the hardware that no software replaces', () => {
    expect(bill.hardware.map(([id]) => id)).toContain('G-03');
  });
});

describe('A catalogue', () => {
  const HEAD = 'kind,item,price,currency,watts';
  it('prices parts by kind, or by tag where one wants its own', () => {
    const read = readCatalogue(`${HEAD}\nfloat,"Float, 10 m",18.5,EUR,\nLSH-1,Better float,40,EUR,\n`, 'EUR');
    if (!read.ok) throw new Error(read.problem);
    const { parts, tiers } = billOf(design, read.items);
    expect(parts.find(({ tag }) => tag === 'LSH-2')?.item).toMatchObject({
      item: 'Float, 10 m',
      price: 18.5,
    });
    expect(parts.find(({ tag }) => tag === 'LSH-1')?.item?.price).toBe(40);
    expect(tiers[0]?.price).toBeNull();
  });

  it.each([
    ['', /no line of goods/u],
    [`${HEAD}\n`, /no line of goods: write one line/u],
    ['kind,item\nfloat,x\n', /lacks price, currency/u],
    [`${HEAD}\nfloat,x,18.5,USD,\n`, /line 2: 'USD' beside EUR.*change the currency of the tariffs/u],
    [`${HEAD}\nfloat,x,dear,EUR,\n`, /line 2: 'dear' is no price/u],
    [`${HEAD}\nfloat,x,1,EUR,\nfloat,y,2,EUR,\n`, /line 3: 'float' stands there twice/u],
  ])('%j is refused by name', (text, problem) => {
    const read = readCatalogue(text, 'EUR');
    expect(read.ok ? '' : read.problem).toMatch(problem);
  });
});

describe('The first filling', () => {
  it('is the system in batches, with its salt, and no faster than the purifier', () => {
    const { batches, saltKg, bags, purifiedL, days } = firstFillOf(design);
    expect(batches).toBe(Math.ceil(2400 / design.mixedL));
    // 2400 L x 1.0273 kg/L x 35.165 g/kg / 0.85.
    expect(saltKg).toBeCloseTo((2400 * 1.02734 * 35.16504) / 1000 / 0.85, 1);
    expect(bags).toBe(6);
    expect(days?.most).toBeCloseTo(purifiedL / (design.worst.oldLpm * 1440), 6);
    expect(days?.least).toBeLessThan(days?.most ?? 0);
  });
});

describe('The labels', () => {
  const { parts } = billOf(design, new Map());

  it('are one for each valve, float and pump, and no other', () => {
    expect(labelled(parts).length).toBe(
      parts.filter(({ kind }) => /^(?:valve|float|pump)$/u.test(kind)).length,
    );
    expect(codeOf('marram-point', parts[0] as (typeof parts)[number])).toMatch(/\(marram-point\/[\w-]+\)$/u);
  });

  it('have the three finder patterns and the timing line of a code', () => {
    const { markup } = qrOf('LSH-1 Fresh vat, high float (marram-point/fresh-high)');
    const dark = new Set([...markup.matchAll(/M(\d+) (\d+)h1/gu)].map(([, x, y]) => `${x},${y}`));
    const size = Number(/viewBox="0 0 (\d+)/u.exec(markup)?.[1]) - 8;
    for (const [x, y] of [
      [4, 4],
      [size - 3, 4],
      [4, size - 3],
    ] as const)
      for (let at = 0; at < 7; at++) expect(dark.has(`${x + at},${y}`)).toBe(true);
    for (let at = 8; at < size - 8; at++) expect(dark.has(`${4 + at},10`)).toBe(at % 2 === 0);
  });
});

describe('The pack', () => {
  it('has a card, two client pages and appendices, and says no path and no address', () => {
    const report = reportOf(design);
    const files = packOf({ design, report, say: same, items: new Map(), currency: 'EUR', stationText: '{}' });
    expect(files.map(({ name }) => name)).toEqual([
      '1-client.html',
      '2-owners-card.html',
      '3-parts.html',
      '4-labels.html',
      '5-report.html',
      'elevation.svg',
      'floor-plan.svg',
      'station.json',
    ]);
    expect(files[1]?.text).toContain('switch the circuit off at the breaker panel first');
    expect(files[0]?.text).toContain('11 batches, 102 kg of salt');
  });

  it('is written into a folder that is not there yet, and never into one that holds something', () => {
    const folder = mkdtempSync(join(tmpdir(), 'pack-'));
    const cli = (...args: readonly string[]) => ['dist/cli/main.js', 'plan', MARRAM, ...args];
    execFileSync(process.execPath, cli('--pack', join(folder, 'new')));
    expect(readdirSync(join(folder, 'new'))).toHaveLength(8);
    writeFileSync(join(folder, 'new', 'elevation.svg'), 'mine');
    const again = spawnSync(process.execPath, cli('--pack', join(folder, 'new')), { encoding: 'utf8' });
    expect(again.status).toBe(2);
    expect(again.stderr).toMatch(/holds 1-client\.html and 7 more; name an empty folder.*E-216/su);
    expect(readFileSync(join(folder, 'new', 'elevation.svg'), 'utf8')).toBe('mine');
    writeFileSync(join(folder, 'empty.csv'), '');
    const empty = spawnSync(
      process.execPath,
      cli('--pack', join(folder, 'other'), '--catalogue', join(folder, 'empty.csv')),
      { encoding: 'utf8' },
    );
    expect([empty.status, readdirSync(folder).includes('other')]).toEqual([2, false]);
    expect(empty.stderr).toMatch(/empty\.csv: it has no line of goods.*E-217/su);
  });
});
