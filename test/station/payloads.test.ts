import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isUnique, matcherOf, renderPayload } from '../../src/station/payloads.ts';

const values = { leaseMs: 3000, sequence: 17, boot: 'b0071234', issuedMs: 4321 };
const says = (template: Parameters<typeof matcherOf>[0], text: string) =>
  matcherOf(template)(text, () => {
    try {
      return JSON.parse(text);
    } catch {
      return undefined;
    }
  });

describe('command payloads (R3)', () => {
  it.each([
    ['ON', 'ON'],
    [1, '1'],
    [true, 'true'],
    ['ON,$leaseMs', 'ON,3000'],
    ['$leaseS', '3'],
    ['$leaseMs/$leaseS/$sequence/$boot/$issuedMs', '3000/3/17/b0071234/4321'],
    ['$leaseMsx', '$leaseMsx'],
    [{ on: true, for_ms: '$leaseMs' }, '{"on":true,"for_ms":3000}'],
    [{ a: { b: ['$sequence', '$boot', 'n$sequence'] } }, '{"a":{"b":[17,"b0071234","n17"]}}'],
  ])('%j is written as %s', (template, text) => {
    expect(renderPayload(template, values)).toBe(text);
  });

  it('what was written from a template is recognised by it, whatever the numbers', () => {
    const templates = fc.constantFrom('ON,$leaseMs', '$sequence:$boot', {
      on: true,
      ms: '$leaseMs',
      by: '$boot',
      n: '$sequence',
    });
    const numbers = fc.record({
      leaseMs: fc.nat(),
      sequence: fc.nat(),
      boot: fc.stringMatching(/^[a-z0-9]{1,16}$/u),
      issuedMs: fc.nat(),
    });
    fc.assert(
      fc.property(templates, numbers, (template, given) => says(template, renderPayload(template, given))),
    );
  });

  it.each([
    ['ON', 'on', false],
    ['ON', ' ON ', true],
    ['a.b', 'axb', false],
    [{ on: true }, '{"on":true,"more":1}', true],
    [{ on: true }, '{"on":"true"}', false],
    [{ on: true }, '[true]', false],
    [{ on: true }, '{"__proto__":{"on":true}}', false],
    [{ on: true, ms: '$leaseMs' }, '{"on":true}', true],
    [{ t: 'x$sequence' }, '{"t":5}', false],
  ])('%j says the same as %s: %s', (template, text, same) => {
    expect(says(template, text)).toBe(same);
  });

  it('only a template with a sequence never says the same twice', () => {
    expect(isUnique('ON')).toBe(false);
    expect(isUnique({ on: true, ms: '$leaseMs', boot: '$boot' })).toBe(false);
    expect(isUnique('ON $sequence')).toBe(true);
    expect(isUnique({ a: { n: '$sequence' } })).toBe(true);
  });
});
