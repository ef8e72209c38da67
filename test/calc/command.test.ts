import { readFileSync } from 'node:fs';
import { beforeAll, describe, expect, it } from 'vitest';
import { CATALOGUE } from '../../src/calc/catalogue.ts';
import { allowance, PUBLIC_CASES } from '../reference/cases.ts';
import { build, vatwarden } from './cli.ts';

beforeAll(build);

const SALINITY = ['calc', 'practical-salinity', 'conductivity=42.914 mS/cm', 'temperature=15 degC'];

describe('calc', () => {
  it('prints the number alone', () => {
    expect(vatwarden(SALINITY)).toEqual({ status: 0, out: '34.9968\n', err: '' });
  });

  it('prints the unit of what has one, in the unit asked for', () => {
    const heat = [
      'calc',
      'heat-to-warm',
      'volume=200 L',
      'practicalSalinity=35 PSU',
      'from=18 degC',
      'to=25 degC',
    ];
    expect(vatwarden(heat).out).toBe('1.59368 kWh\n');
    expect(vatwarden([...heat, '--in', 'MJ']).out).toBe('5.73724 MJ\n');
  });

  it('prints value and unit in JSON, with every digit', () => {
    const { out } = vatwarden([...SALINITY, '--json']);
    expect(JSON.parse(out)).toEqual({ value: 34.996770111355, unit: '1' });
  });

  it('takes inputs in any unit of their kind', () => {
    const { out } = vatwarden([
      'calc',
      'practical-salinity',
      'conductivity=4.2914 S/m',
      'temperature=59 degF',
    ]);
    expect(out).toBe('34.9968\n');
  });

  it('takes a pump curve as rows of points', () => {
    const { out, status } = vatwarden([
      'calc',
      'pump-operating-flow',
      'pumpCurve=0 L/min:5.2 m, 25 L/min:3.9 m, 50 L/min:0 m',
      'staticHead=1.2 m',
      'pipeLength=10 m',
      'pipeDiameter=25 mm',
      'roughness=0.0015 mm',
      'minorLossCoefficient=6',
      'kinematicViscosity=1.004 mm2/s',
    ]);
    expect([out, status]).toEqual(['35.1153 L/min\n', 0]);
  });

  it('answers that there is no answer, which is not a failure', () => {
    const tooWeak = [
      'calc',
      'heating-time',
      'volume=400 L',
      'practicalSalinity=35 PSU',
      'from=12 degC',
      'to=26 degC',
      'heaterPower=50 W',
      'lossConductance=10 W/K',
      'ambient=14 degC',
    ];
    expect(vatwarden(tooWeak)).toEqual({
      status: 0,
      out: 'no answer: never: the water settles at 19 degC\n',
      err: '',
    });
    expect(JSON.parse(vatwarden([...tooWeak, '--json']).out)).toEqual({
      value: null,
      unit: 'h',
      note: 'never: the water settles at 19 degC',
    });
  });

  it('says its caution beside the number, on the other stream', () => {
    const { out, err } = vatwarden(['calc', 'floor-pressure', 'mass=430 kg', 'area=0.5 m2']);
    expect(out).toBe('8.43372 kPa\n');
    expect(err).toContain('ask a structural engineer');
  });
});

describe('calc refuses with exit code 2 and a mend', () => {
  it.each<[string, string[], string]>([
    ['no name', ['calc'], "name a quantity; 'calc --list' names them all"],
    ['a name misspelt', ['calc', 'practical-salinty'], "did you mean 'practical-salinity'?"],
    [
      'an input misspelt',
      ['calc', 'practical-salinity', 'conductivty=3 S/m'],
      "did you mean 'conductivity'?",
    ],
    [
      'an input left out',
      SALINITY.slice(0, 3),
      'needs temperature, of the water (ITS-90): in degC, -2 to 35 degC',
    ],
    ['an input twice', [...SALINITY, 'temperature=16 degC'], 'temperature is given twice'],
    [
      'a bare number',
      [...SALINITY.slice(0, 3), 'temperature=15'],
      "write it in degC, degF, K, for example '15 degC'",
    ],
    ['a unit misspelt', [...SALINITY.slice(0, 3), 'temperature=15 degc'], "did you mean 'degC'?"],
    ['a unit of something else', [...SALINITY.slice(0, 3), 'temperature=15 mm'], "'mm' is a unit of length"],
    [
      'a value out of range',
      [...SALINITY.slice(0, 3), 'temperature=50 degC'],
      'is 50 degC, outside -2 to 35 degC',
    ],
    ['no assignment', ['calc', 'practical-salinity', '42'], "'42' is no input; write name='number unit'"],
    ['a unit the answer has not', [...SALINITY, '--in', 'mm'], 'is a unit of length'],
    [
      'a choice misspelt',
      ['calc', 'fitting-loss-coefficient', 'fitting=elbow 9'],
      "did you mean 'elbow 90'?",
    ],
  ])('%s', (_what, args, mend) => {
    const { status, out, err } = vatwarden(args);
    expect(err).toContain(mend);
    expect([status, out]).toEqual([2, '']);
  });

  it('an answer out of range, although each input is within its own', () => {
    const { status, err } = vatwarden([
      'calc',
      'practical-salinity',
      'conductivity=90 mS/cm',
      'temperature=15 degC',
    ]);
    expect(err).toMatch(/practical salinity is 8\d\.\d+, outside 0 to 42/u);
    expect(status).toBe(2);
  });

  it('any wish to extrapolate', () => {
    const { status, err } = vatwarden([...SALINITY, '--extrapolate']);
    expect(err).toContain("unknown option '--extrapolate'");
    expect(status).toBe(2);
  });
});

describe('calc --json', () => {
  it('reads inputs from standard input', () => {
    const inputs = { practicalSalinity: { value: 35, unit: '1' } };
    const { out } = vatwarden(['calc', 'reference-salinity', '--json'], JSON.stringify({ inputs }));
    expect(JSON.parse(out)).toEqual({ value: 35.16504, unit: 'g/kg' });
  });

  it('reads a whole case, which names its own quantity', () => {
    const { out } = vatwarden(['calc', '--json'], JSON.stringify(PUBLIC_CASES[0]));
    expect(JSON.parse(out).value).toBeCloseTo(34.99677, 5);
  });

  it('reads the list of all 194 public cases unchanged and answers each within its tolerance, one a line', () => {
    const list = readFileSync(new URL('../reference/public.json', import.meta.url), 'utf8');
    const { out, status } = vatwarden(['calc', '--json'], list);
    const answers = out
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line));
    expect([answers.length, status]).toEqual([PUBLIC_CASES.length, 0]);
    PUBLIC_CASES.forEach((oneCase, index) => {
      expect(answers[index].unit).toBe(oneCase.expected.unit);
      expect(Math.abs(answers[index].value - oneCase.expected.value)).toBeLessThanOrEqual(allowance(oneCase));
    });
  });

  it('gives a bad case its own line, answers the others, and fails at the end', () => {
    const bad = { quantity: 'reference-salinity', inputs: { practicalSalinity: '35 ppt' } };
    const good = { quantity: 'reference-salinity', inputs: { practicalSalinity: '35 PSU' } };
    const { out, status } = vatwarden(['calc', '--json'], JSON.stringify([bad, good]));
    const [first, second] = out
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line));
    expect(first.error).toContain("'ppt' is a unit of mass salinity");
    expect(second.value).toBe(35.16504);
    expect(status).toBe(2);
  });

  it.each<[string, string, string]>([
    ['what is not JSON', 'twelve', 'standard input is not JSON'],
    ['nothing', '', 'standard input is not JSON'],
    ['null', 'null', 'name a quantity'],
    ['a case without inputs', '{"quantity":"reference-salinity"}', 'standard input needs "inputs"'],
    ['a case without a name', '{"inputs":{}}', 'name a quantity'],
    [
      'a bare number for a quantity',
      '{"quantity":"reference-salinity","inputs":{"practicalSalinity":35}}',
      'no unit',
    ],
    [
      'a text for a value',
      '{"quantity":"reference-salinity","inputs":{"practicalSalinity":{"value":"35","unit":"1"}}}',
      'is no quantity; write',
    ],
  ])('refuses %s with exit code 2', (_what, input, mend) => {
    const { status, err } = vatwarden(['calc', '--json'], input);
    expect(err).toContain(mend);
    expect(status).toBe(2);
  });

  it('refuses a case about another quantity than the one asked for', () => {
    const { status, err } = vatwarden(['calc', 'conductivity', '--json'], JSON.stringify(PUBLIC_CASES[0]));
    expect(err).toContain("'conductivity' was asked for, but standard input is about 'practical-salinity'");
    expect(status).toBe(2);
  });
});

describe('calc --list', () => {
  it('names every quantity with its inputs, units, ranges and source', () => {
    const { out } = vatwarden(['calc', '--list']);
    for (const [name, entry] of CATALOGUE) {
      expect(out).toContain(`\n  ${name}: ${entry.about}\n`);
      expect(out).toContain(entry.source);
    }
    expect(out).toContain('temperature   of the water (ITS-90): degC, -2 to 35 degC');
    expect(out).toContain("'0 L/min:0 m, ...'");
  });

  it('lists one quantity when it is named', () => {
    const { out } = vatwarden(['calc', 'reserve-share', '--list']);
    expect(out).toContain('reserve-share');
    expect(out).not.toContain('practical-salinity');
  });

  it('lists the same for programs, with the units accepted', () => {
    const listed = JSON.parse(vatwarden(['calc', '--list', '--json']).out);
    expect(listed.map(({ name }: { name: string }) => name)).toEqual([...CATALOGUE.keys()]);
    expect(listed[0].inputs.temperature).toMatchObject({ units: ['degC', 'degF', 'K'], least: -2, most: 35 });
  });
});
