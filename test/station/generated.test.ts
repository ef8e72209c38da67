import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { requestSchema } from '../../src/bridge/request-schema.ts';
import { notifySchema } from '../../src/notify/notify-file.ts';
import { panelSchema } from '../../src/panel/panel-file.ts';
import { siteSchema } from '../../src/plan/file/site.ts';
import { stationSchema } from '../../src/station/file/station.ts';
import {
  FORMATS,
  isQuantityFormat,
  patternOf,
  type QuantityFormat,
  readStation,
} from '../../src/station/quantities.ts';

it.each([
  ['station', stationSchema],
  ['site', siteSchema],
  ['panel', panelSchema],
  ['notify', notifySchema],
  ['request', requestSchema],
])('schemas/%s.schema.json is what the declaration prints', async (name, declared) => {
  const schema = `${JSON.stringify(declared(), null, 2)}\n`;
  await expect(schema).toMatchFileSnapshot(`../../schemas/${name}.schema.json`);
});

interface Node {
  readonly format?: string;
  readonly pattern?: string;
}

function quantityNodes(part: unknown, path: string): (readonly [string, Node])[] {
  if (typeof part !== 'object' || part === null) return [];
  const inner = Object.entries(part).flatMap(([key, value]) => quantityNodes(value, `${path}/${key}`));
  const { format } = part as Node;
  return format !== undefined && isQuantityFormat(format) ? [[path, part as Node], ...inner] : inner;
}

it.each(['station.schema.json', 'site.schema.json'])(
  'Every quantity in %s carries the pattern of its units, so that an editor minds a bare number',
  (name) => {
    const schema = JSON.parse(readFileSync(new URL(`../../schemas/${name}`, import.meta.url), 'utf8'));
    const nodes = quantityNodes(schema, '');
    expect(nodes.length).toBeGreaterThan(10);
    for (const [path, { format, pattern }] of nodes) {
      expect(pattern, path).toBe(patternOf(format as QuantityFormat));
    }
  },
);

it('The pattern of a quantity accepts what the reader accepts and nothing else', () => {
  const accepts = (format: QuantityFormat, text: string) => {
    try {
      readStation(text, format);
      return true;
    } catch {
      return false;
    }
  };
  const units = [
    'L',
    'l',
    'gal',
    'L/min',
    'gal/d',
    's',
    'min',
    'd',
    'degC',
    '°F',
    'K',
    'PSU',
    '%',
    '1',
    'kg/min',
  ];
  const more = [
    'kg',
    'lb',
    'W',
    'kW',
    'bar',
    'psi',
    'mm',
    'm',
    'in',
    'W/K',
    'mS/cm',
    'µS/cm',
    'g/h',
    'litre',
    '',
  ];
  const numbers = ['5', '5.5', '.5', '5.', '-5', '+5', '5e-1', '5,5', '1.2.3', 'x', '0'];
  for (const format of Object.keys(FORMATS) as QuantityFormat[]) {
    const pattern = new RegExp(patternOf(format), 'u');
    for (const unit of [...units, ...more]) {
      for (const number of numbers) {
        // Below absolute zero: a matter of the value, which a pattern can't judge.
        if (format === 'temperature' && unit === 'K' && number === '-5') continue;
        for (const text of [`${number} ${unit}`, `${number}${unit}`, ` ${number}  ${unit} `]) {
          expect(pattern.test(text), `${format}: ${text}`).toBe(accepts(format, text));
        }
      }
    }
  }
});
