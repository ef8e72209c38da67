import { describe, expect, it } from 'vitest';
import { compare, comparedTable } from '../../src/plan/compare.ts';
import { compareText } from '../../src/plan/compare-text.ts';
import { reportWith, UNEQUAL, valueIn } from './sites.ts';

const a = reportWith();
const b = reportWith(undefined, UNEQUAL);
const both = compare(a, b);
const figureIn = (section: string, figure: string) =>
  both.sections.find(({ id }) => id === section)?.figures.find(({ id }) => id === figure);

describe('Two plans side by side', () => {
  it('have every figure of both, and the difference where both have a number', () => {
    expect(figureIn('reserve', 'mixed')?.difference).toBeCloseTo(
      valueIn(b, 'reserve', 'mixed') - valueIn(a, 'reserve', 'mixed'),
      9,
    );
    for (const section of a.sections) {
      const compared = both.sections.find(({ id }) => id === section.id);
      expect(compared?.figures.map(({ id }) => id)).toEqual(section.figures.map(({ id }) => id));
    }
  });

  it('tell the warnings of one alone from those of both', () => {
    expect(both.cautions.onlyA.map(({ id }) => id)).toEqual(['P-21']);
    expect(both.cautions.onlyB.map(({ id }) => id)).toEqual(['P-07', 'P-13', 'P-20']);
    expect(both.cautions.both.map(({ id }) => id)).toEqual(['P-15', 'P-16', 'P-25', 'P-29']);
  });

  it('say both sentences of a warning whose numbers differ, and one where they do not', () => {
    const words = (id: string) => both.cautions.both.find((caution) => caution.id === id)?.words;
    expect(words('P-25')).toMatch(/^A: .*8\.6 kPa.* B: .*9\.9 kPa/u);
    expect(words('P-15')).toMatch(/^Phosphate/u);
  });

  it('turned round have the opposite differences', () => {
    const turned = compare(b, a);
    for (const { id, figures } of both.sections) {
      const other = turned.sections.find((section) => section.id === id);
      for (const figure of figures) {
        const opposite = other?.figures.find((each) => each.id === figure.id)?.difference ?? null;
        if (figure.difference === null) expect(opposite).toBeNull();
        else expect(opposite).toBeCloseTo(-figure.difference, 9);
      }
    }
  });

  it('of which one has a section more still line up', () => {
    const free = reportWith((file) => {
      delete file.tariffs;
      delete file.salt.price;
      file.vats.candidates = 'propose';
    });
    const costs = compare(free, a).sections.find(({ id }) => id === 'costs');
    expect(
      costs?.figures.every((figure) => figure.a === null && figure.b !== null && figure.difference === null),
    ).toBe(true);
  });

  it('compared with itself differ in nothing', () => {
    const same = compare(a, a);
    expect(same.cautions).toMatchObject({ onlyA: [], onlyB: [] });
    for (const { figures } of same.sections)
      for (const { difference } of figures) expect(difference ?? 0).toBe(0);
    for (const { id, figures } of same.sections) {
      const cells = comparedTable({ id, title: '', figures, charts: [] }).rows.map((row) => String(row[3]));
      expect(
        cells.filter((cell) => /^[+-]\d/u.test(cell)),
        id,
      ).toEqual([]);
    }
  });
});

describe('The comparison as text', () => {
  const text = compareText(both);

  it('names both plans and is at most 100 columns wide but for its first line', () => {
    const [first = '', ...lines] = text.split('\n');
    expect(first).toContain(
      'A Marram Point field station (marram-point), B Marram Point field station, unequal',
    );
    expect(lines.filter((line) => line.length > 100)).toEqual([]);
  });

  it('shows a gain with its sign', () => {
    expect(text).toMatch(/Mixed water on hand, batch ready\s+234 L\s+285 L\s+\+51 L/u);
  });
});
