// A report in the units of its reader: the same numbers, said otherwise.
import { describe, expect, it } from 'vitest';
import { htmlOf } from '../../src/plan/html.ts';
import { inUnits, sentence } from '../../src/plan/in-units.ts';
import { namesIn } from '../../src/plan/site.ts';
import { textOf } from '../../src/plan/text.ts';
import { cautionIds, reportWith, siteWith, valueIn } from './sites.ts';

const US = { system: 'us', isFloor: false, names: ['Tank 300 L'] } as const;

describe('A sentence', () => {
  it.each([
    ['With both full, 480 L can be drawn.', 'With both full, 127 gal can be drawn.'],
    ['a box, 1000 x 600 x 620 mm', 'a box, 39.4 x 23.6 x 24.4 in'],
    ['25 degC, at most 0.3 K', '77 degF, at most 0.54 degF'],
    ['6.0 L/min into 13 mm', '1.6 gal/min into 0.51 in'],
    ['target of 10.0 mg/L, yield 0.85 kg/kg, 6 W/K', 'target of 10.0 mg/L, yield 0.85 kg/kg, 6 W/K'],
    ['K 3020 K to 25 degC', 'K 3020 K to 77 degF'],
    ['1 bag of 20 kg; -0.57 m below', '1 bag of 44 lb; -1.9 ft below'],
    ['Tank 300 L holds 300 L', 'Tank 300 L holds 79 gal'],
  ])('%s', (metric, us) => expect(sentence(metric, US)).toBe(us));

  it('says what a floor carries in pounds on a square foot', () => {
    expect(sentence('3.8 kPa over the free floor', { ...US, isFloor: true })).toBe(
      '79 lbf/ft2 over the free floor',
    );
    expect(sentence('410 kPa in the line', US)).toBe('59.5 psi in the line');
  });
});

describe('A report', () => {
  const metric = reportWith();
  const us = inUnits(metric, 'us', namesIn(siteWith()));

  it('has the same figures, and the same warnings', () => {
    expect(valueIn(us, 'reserve', 'onHand') * 3.785411784).toBeCloseTo(
      valueIn(metric, 'reserve', 'onHand'),
      6,
    );
    expect(cautionIds(us)).toEqual(cautionIds(metric));
  });

  it('leaves no litre, kilogram, millimetre or degree Celsius but in its sources and in what was read', () => {
    const told = us.sections.filter(({ id }) => id !== 'basis');
    const text = textOf({ ...us, sections: told.map((section) => ({ ...section, sources: [] })) });
    expect(text.match(/\d (?:L|L\/min|L\/d|kg|mm|m|m3|degC|kPa|bar)(?![\w/])/gu)).toBeNull();
    expect(text).toMatch(/\(gal\)|gal\/d/u);
  });

  it('is itself in metric units, and a whole page in either', () => {
    expect(inUnits(metric, 'metric')).toBe(metric);
    expect(htmlOf(us)).toContain('gal');
  });

  it('is printed in the units that the file asks for', () => {
    expect(siteWith().units).toBe('metric');
    expect(siteWith((file) => Object.assign(file, { units: 'us' })).units).toBe('us');
  });
});
