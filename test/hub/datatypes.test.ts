import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { boundsOf, payloadOf, readPayload, stepped } from '../../src/hub/datatypes.ts';
import type { Datatype } from '../../src/hub/row.ts';

const read = (
  datatype: Datatype,
  text: string,
  format: string | null = null,
  current: number | null = null,
) => readPayload({ datatype, format }, Buffer.from(text), current);

const GOOD: readonly (readonly [Datatype, string | null, readonly string[]])[] = [
  ['integer', null, ['0', '-7', '007', '9223372036854775807', '-9223372036854775808']],
  ['float', null, ['0', '-0', '1.50', '.5', '5.', '1e3', '1E-3', '-1.5e-7']],
  ['boolean', null, ['true', 'false']],
  ['enum', 'a, b,C', ['a', ' b', 'C']],
  ['duration', null, ['PT0S', 'PT12H5M46S', 'PT5M', 'PT1.5S']],
  ['string', null, ['x', ' ', 'grüß', '{"a":1}']],
];

const BAD: readonly (readonly [Datatype, string | null, readonly string[]])[] = [
  [
    'integer',
    null,
    ['+1', '1.0', ' 1', '1 ', '-', '1e3', '0x1', '9223372036854775808', '-9223372036854775809', '\u0000'],
  ],
  [
    'float',
    null,
    ['NaN', 'Infinity', '-Infinity', '1,5', '1e+3', '+1', '-', '.', 'e5', '1e999', ' 1', '1_000', '\u0000'],
  ],
  ['boolean', null, ['TRUE', 'True', '1', '0', 'on', ' true', '\u0000']],
  ['enum', 'a, b,C', ['A', 'b', ' a', 'a ', 'a,C', '\u0000']],
  ['duration', null, ['P1D', 'PT', 'P', 'PT1S5M', '5M', 'pt5m', '\u0000']],
];

describe('payloads of commands', () => {
  it.each(GOOD)('%s %s: %j are all accepted', (datatype, format, texts) => {
    expect(texts.map((text) => read(datatype, text, format)).filter((one) => 'refused' in one)).toEqual([]);
  });

  it.each(BAD)('%s %s: %j are all refused with a reason', (datatype, format, texts) => {
    for (const text of texts)
      expect([text, read(datatype, text, format)]).toEqual([text, { refused: expect.any(String) }]);
  });

  it.each(['integer', 'float', 'boolean', 'enum', 'duration', 'string'] as const)(
    'Q9: a zero-length command is refused for %s',
    (datatype) => {
      expect(read(datatype, '', datatype === 'enum' ? 'a' : null)).toEqual({
        refused: expect.stringContaining('empty'),
      });
    },
  );

  it('Q9: an empty text is one zero byte, there and back', () => {
    expect(payloadOf('')).toBe('\u0000');
    expect(read('string', payloadOf(''))).toEqual({ value: '' });
  });

  it('Q8: a byte order mark, and bytes that are no UTF-8, are refused', () => {
    expect(read('string', '\uFEFFx')).toHaveProperty('refused');
    expect(readPayload({ datatype: 'string', format: null }, Uint8Array.of(0xc3, 0x28))).toHaveProperty(
      'refused',
    );
  });

  it('refuses what is longer than any command of ours', () => {
    expect(read('string', 'x'.repeat(1001))).toHaveProperty('refused');
  });
});

describe('steps and bounds (released text of Homie 5, seen in two public implementations of its pull request 313)', () => {
  // floor((value - base) / step + 0.5) x step + base, as two public implementations of the released text have it.
  it.each([
    ['2:6:2', '3', '4'],
    ['2:6:2', '2.9', '2'],
    ['2:6:2', '1', '2'],
    [':10:3', '8', '7'],
    [':10:3', '8.5', '10'],
    ['0.1:1200:0.1', '40', '40'],
    ['0.1:1200:0.1', '40.04', '40'],
    ['0.1:1200:0.1', '40.05', '40.1'],
  ])('format %s: %s becomes %s', (format, given, value) => {
    expect(read('float', given, format)).toEqual({ value });
  });

  it('counts from the current value where there are no bounds', () => {
    expect(read('float', '7', '::2', 4)).toEqual({ value: '8' });
    expect(read('float', '7', '::2', null)).toEqual({ value: '7' });
  });

  it('rounds first and refuses what has left the bounds by that', () => {
    expect(read('float', '8', '0:9:5')).toEqual({ refused: expect.stringContaining('at most 9') });
    expect(read('float', '9', '0:9')).toEqual({ value: '9' });
    expect(read('float', '-0.1', '0:')).toHaveProperty('refused');
  });

  it('never leaves a step of its base', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1e6, max: 1e6, noNaN: true }),
        fc.constantFrom(0.001, 0.1, 0.5, 1, 3),
        fc.integer({ min: -1000, max: 1000 }),
        (value, step, base) => {
          const result = stepped(value, step, base);
          const steps = (result - base) / step;
          expect(Math.abs(steps - Math.round(steps))).toBeLessThan(1e-3);
          expect(Math.abs(result - value)).toBeLessThanOrEqual(step * 0.5 + 1e-5);
        },
      ),
    );
  });

  it.each(['', '1', '1:2:3:4', '5:1', '0:1:0', '0:1:-1', 'a:b'])(
    'a format of %j in the table is a fault',
    (format) => {
      expect(() => boundsOf({ datatype: 'float', format })).toThrow('is no format');
    },
  );
});

it('Q9: a number is never printed with a plus sign, and reads back as the same number', () => {
  fc.assert(
    fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (number) => {
      const payload = payloadOf(number);
      expect(payload).not.toContain('+');
      expect(read('float', payload)).toEqual({ value: payload });
      expect(Number(payload) === number).toBe(true);
    }),
  );
});
