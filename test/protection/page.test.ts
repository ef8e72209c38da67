import { HtmlValidate } from 'html-validate';
import { describe, expect, it } from 'vitest';
import { escaped } from '../../src/plan/markup.ts';
import { htmlOf } from '../../src/protection/html.ts';
import { protectionOf } from '../../src/protection/report.ts';
import { textOf } from '../../src/protection/text.ts';
import { example, plantFrom } from '../station/stations.ts';
import { PLANTS } from './stations.ts';

describe.each(PLANTS)('The page of %s', (_, plant) => {
  const report = protectionOf(plant);
  const html = htmlOf(report);

  it('is valid HTML with the rules of accessibility that the validator recommends', async () => {
    const validator = new HtmlValidate({ extends: ['html-validate:recommended'] });
    const result = await validator.validateString(html);
    const messages = result.results.flatMap(({ messages: all }) =>
      all.map(({ ruleId, message, line }) => `${line} ${ruleId}: ${message}`),
    );
    expect(messages).toEqual([]);
  });

  it('runs nothing and fetches nothing', () => {
    expect(html).not.toMatch(
      /<script|<iframe|<object|<embed|<link|<img|javascript:|\son[a-z]+=|@import|url\(/iu,
    );
    expect(html).not.toMatch(/https?:\/\//u);
  });

  it('has every id once, and every link leads to one', () => {
    const ids = [...html.matchAll(/ id="([^"]+)"/gu)].map(([, id]) => id);
    expect(ids.length).toBe(new Set(ids).size);
    const targets = [...html.matchAll(/href="([^"]+)"/gu)].map(([, target]) => target);
    expect(targets.length).toBeGreaterThan(100);
    expect(targets.filter((target) => !ids.includes(target?.slice(1)))).toEqual([]);
  });

  it('knows greys only, by day and by night', () => {
    const colours = html.match(/#[0-9a-f]{6}\b|#[0-9a-f]{3}\b|rgba?\([^)]*\)|hsla?\([^)]*\)/giu) ?? [];
    expect(colours.length).toBeGreaterThan(10);
    for (const colour of colours) {
      const parts = colour.length === 4 ? [...colour.slice(1)] : (colour.slice(1).match(/../gu) ?? []);
      expect(new Set(parts.map((part) => part.toLowerCase())).size, colour).toBe(1);
    }
    expect(html).toContain('@media screen and (prefers-color-scheme: dark)');
  });

  it('draws a tree for every hazard that the table of gaps knows a way to, and lists its minimal sets', () => {
    const known = report.hazards.filter(({ tree }) => tree !== null);
    expect(html.match(/<div class="tree">/gu)).toHaveLength(known.length);
    for (const { id } of report.hazards) expect(html).toContain(`<h3 id="${id}-tree">`);
  });

  it('stays below 250 kB', () => {
    expect(Buffer.byteLength(html)).toBeLessThan(250_000);
  });

  it('says in its last lines that it approves and claims nothing', () => {
    const footer = html.slice(html.indexOf('<footer>'));
    expect(footer).toContain('no approval and claims no conformity and no safety level');
  });

  it('is as text at most 100 columns wide', () => {
    expect(
      textOf(report)
        .split('\n')
        .filter((line) => line.length > 100),
    ).toEqual([]);
  });
});

it('No name in a station file becomes markup', () => {
  const nasty = '<script>alert(1)</script> & "quotes" \'too\'';
  const file = example('marram-point');
  const html = htmlOf(
    protectionOf(
      plantFrom({
        ...file,
        name: nasty,
        vessels: { ...file.vessels, fresh: { ...file.vessels.fresh, name: nasty } },
        actuators: Object.fromEntries(
          Object.entries(file.actuators).map(([id, actuator]) => [
            id,
            { ...actuator, name: nasty, failureDomain: nasty },
          ]),
        ),
      }),
    ),
  );
  expect(html).not.toContain('<script');
  expect(html).toContain(escaped(nasty));
});
