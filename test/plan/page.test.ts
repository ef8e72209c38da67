import { HtmlValidate } from 'html-validate';
import { describe, expect, it } from 'vitest';
import { svgOf } from '../../src/plan/charts.ts';
import { compare } from '../../src/plan/compare.ts';
import { compareHtml } from '../../src/plan/compare-html.ts';
import { htmlOf } from '../../src/plan/html.ts';
import { escaped, markup } from '../../src/plan/markup.ts';
import { readOff } from '../../src/plan/read-off.ts';
import type { Chart, Table } from '../../src/plan/report.ts';
import { tableText, textOf, wrap } from '../../src/plan/text.ts';
import { reportWith, UNEQUAL } from './sites.ts';

const report = reportWith();
const page = htmlOf(report);
const both = compareHtml(compare(report, reportWith(undefined, UNEQUAL)));
const charts = report.sections.flatMap((section) => section.charts);

describe.each([
  ['the report', page],
  ['the comparison', both],
])('The page of %s', (_, html) => {
  it('is valid HTML with the rules of accessibility that the validator recommends', async () => {
    const validator = new HtmlValidate({ extends: ['html-validate:recommended'] });
    const result = await validator.validateString(html);
    const messages = result.results.flatMap(({ messages }) =>
      messages.map(({ ruleId, message, line }) => `${line} ${ruleId}: ${message}`),
    );
    expect(messages).toEqual([]);
  });

  it('runs nothing and fetches nothing', () => {
    expect(html).not.toMatch(/<script|<iframe|<object|<embed|<link|<img|javascript:|\son[a-z]+=|@import/iu);
    const addresses = html.match(/https?:\/\/[^"' )<]+/gu) ?? [];
    // The name of the SVG language is no address that anybody visits.
    expect(new Set(addresses)).toEqual(new Set(['http://www.w3.org/2000/svg']));
    for (const [, target] of html.matchAll(/url\(([^)]*)\)/gu)) expect(target).toMatch(/^#/u);
    for (const [, target] of html.matchAll(/href="([^"]*)"/gu)) expect(target).toMatch(/^#/u);
  });

  it('knows greys only', () => {
    const colours = html.match(/#[0-9a-f]{6}\b|#[0-9a-f]{3}\b|rgba?\([^)]*\)|hsla?\([^)]*\)/giu) ?? [];
    expect(colours.length).toBeGreaterThan(10);
    for (const colour of colours) {
      const digits = colour.slice(1);
      const parts = digits.length === 3 ? [...digits] : (digits.match(/../gu) ?? []);
      expect(new Set(parts.map((part) => part.toLowerCase())).size, colour).toBe(1);
    }
  });

  it('gives every drawing a role, a text of its own, and its numbers below', () => {
    const drawings = [...html.matchAll(/<svg [^>]*>/gu)].map(([tag]) => tag);
    const labels = drawings.map((tag) => /aria-label="([^"]+)"/u.exec(tag)?.[1] ?? '');
    expect(drawings.length).toBeGreaterThanOrEqual(5);
    for (const tag of drawings) expect(tag).toContain('role="img"');
    for (const label of labels) expect(label.length).toBeGreaterThan(60);
    const details = html.match(/<details>\s*<summary>[\s\S]*?<table>[\s\S]*?<\/details>/gu) ?? [];
    expect(details).toHaveLength(drawings.length);
  });

  it('has every id once, and every link leads to one', () => {
    const ids = [...html.matchAll(/ id="([^"]+)"/gu)].map(([, id]) => id);
    expect(ids.length).toBe(new Set(ids).size);
    for (const [, target] of html.matchAll(/href="#([^"]+)"/gu)) expect(ids).toContain(target);
  });

  it('stays below 200 kB', () => {
    expect(Buffer.byteLength(html)).toBeLessThan(200_000);
  });

  it('says in its last lines that it approves nothing', () => {
    expect(html.slice(html.indexOf('<footer>'))).toContain('no approval');
  });
});

describe('The page', () => {
  it('is the same text for the same site, however many pages were drawn before', () => {
    expect(htmlOf(reportWith())).toBe(page);
  });

  it('puts the warnings before everything else', () => {
    expect(page.indexOf('id="warnings"')).toBeGreaterThan(0);
    expect(page.indexOf('id="warnings"')).toBeLessThan(page.indexOf('<nav'));
    expect(page.indexOf('<nav')).toBeLessThan(page.indexOf('id="reserve"'));
  });

  it('lets no text of a site become markup, in sentences, tables, drawings or the title', () => {
    const nasty = '<script>alert(1)</script> & "quotes" \'too\'';
    const html = htmlOf(
      reportWith((file) => {
        file.name = nasty;
        file.prepared = { for: nasty, by: '</style><b>', on: '2026-03-02' };
        file.system.name = nasty;
        file.system.parts = { [nasty]: '2400 L' };
        file.room.doors = [{ name: nasty, width: '700 mm', height: '2 m' }];
        file.solutes = [{ name: nasty, present: '22 mg/L', target: '10 mg/L', production: '0.15 mg/(L d)' }];
        file.supply.pump.model = nasty;
      }),
    );
    expect(html).not.toMatch(/<script|<b>/u);
    expect(html.match(/<\/style>/gu)).toHaveLength(1);
    expect(html).toContain(escaped(nasty));
  });

  it('of a pump that reaches nothing still has its drawing, and it says so', () => {
    const [chart] = charts.filter(({ id }) => id === 'supply-pump');
    const high = reportWith((file) => {
      file.supply.outlet = '9 m';
    });
    const drawn = high.sections
      .flatMap((section) => section.charts)
      .find(({ id }) => id === 'supply-pump') as Chart;
    expect(chart?.series.map(({ name }) => name)).toContain('Operating point');
    expect(drawn.series.map(({ name }) => name)).not.toContain('Operating point');
    expect(svgOf(drawn)).toContain('does not meet it');
  });
});

describe('A drawing', () => {
  it.each(charts.map((chart) => [chart.id, chart] as const))(
    '%s tells its series apart without a colour',
    (_, { series }) => {
      expect(new Set(series.map(({ stroke }) => stroke)).size).toBe(series.length);
    },
  );

  it('names each of its series', () => {
    for (const chart of charts)
      for (const { name } of chart.series) expect(svgOf(chart)).toContain(`>${escaped(name)}</text>`);
  });
});

describe('A chart read off as a table', () => {
  const chart: Chart = {
    id: 'x',
    title: 'X',
    words: '',
    x: { name: 'Time', unit: 'h' },
    y: { name: 'Y', unit: 'L' },
    series: [
      {
        name: 'ramp',
        stroke: 'solid',
        points: [
          [0, 0],
          [12, 24],
        ],
      },
      {
        name: 'jump',
        stroke: 'dashed',
        points: [
          [0, 5],
          [6, 5],
          [6, 1],
          [12, 1],
        ],
      },
      { name: 'mark', stroke: 'points', points: [[4.5, 7]] },
    ],
  };
  const { rows, columns } = readOff(chart);

  it('reads straight lines between their points', () => {
    expect(rows.find(([at]) => at === 3)?.[1]).toBeCloseTo(6, 9);
  });

  it('reads behind a jump, not before it', () => {
    expect(rows.find(([at]) => at === 6)?.[2]).toBe(1);
    expect(rows.find(([at]) => at === 5)?.[2]).toBe(5);
  });

  it('has a row of its own for a single mark', () => {
    expect(rows.filter((row) => row[3] !== null)).toEqual([[4.5, 9, 5, 7]]);
  });

  it('has a column for each series, with its unit', () => {
    expect(columns.map(({ title }) => title)).toEqual(['Time (h)', 'ramp', 'jump', 'mark']);
  });
});

describe('Markup', () => {
  it('escapes what is put in and leaves markup alone', () => {
    const inner = markup`<i>${'a<b'}</i>`;
    expect(markup`<p>${inner}${['&', inner]}${3}</p>`.markup).toBe('<p><i>a&lt;b</i>&amp;<i>a&lt;b</i>3</p>');
  });
});

describe('The text', () => {
  const text = textOf(report);

  it('is at most 100 columns wide', () => {
    expect(text.split('\n').filter((line) => line.length > 100)).toEqual([]);
  });

  it('has the warnings first, with what to do', () => {
    const first = text.indexOf('Warnings (5)');
    expect(first).toBeGreaterThan(0);
    expect(first).toBeLessThan(text.indexOf('Vats and reserve'));
    expect(text.match(/What to do:/gu)).toHaveLength(5);
  });

  it('has every section of the report', () => {
    for (const { title } of report.sections)
      expect(text).toContain(`\n${title}\n${'-'.repeat(title.length)}\n`);
  });

  it('wraps words, never inside one', () => {
    expect(wrap('one two three', '  ', 9)).toEqual(['  one two', '  three']);
    expect(wrap('unbreakable', '', 5)).toEqual(['unbreakable']);
  });

  it('sets numbers to the right and lets the widest words give way', () => {
    const table: Table = {
      id: 't',
      title: 'T',
      columns: [{ title: 'Name' }, { title: 'amount', unit: 'L', digits: 1 }, { title: 'words' }],
      rows: [
        ['a', 1, 'x'.repeat(30).replaceAll('xxxxx', 'xxxx ').repeat(4)],
        ['b', 123.45, '-'],
      ],
    };
    const lines = tableText(table);
    expect(lines.every((line) => line.length <= 100)).toBe(true);
    expect(lines.some((line) => line.includes('  1.0  '))).toBe(true);
    expect(lines.some((line) => line.includes('123.5  -') || line.includes('123.4  -'))).toBe(true);
  });
});
