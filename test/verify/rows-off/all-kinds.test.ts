// No kind of row goes without an accident, or a reason why no judge could see it; and those are tried directly.
import { describe, expect, test, vi } from 'vitest';
import { deriveRows } from '../../../src/control/interlocks.ts';
import { ROW_KINDS } from '../../../src/control/rows.ts';
import { couple, plantAt } from '../../tools/coupled.ts';
import { ACCIDENTS, UNSEEN } from './accidents.ts';
import { kindOf, lose } from './nights.ts';
import { wish } from './wishes.ts';

vi.mock('../../../src/control/refill.ts', async (original) => {
  const { wishing } = await import('./wishes.ts');
  const { refill } = await original<typeof import('../../../src/control/refill.ts')>();
  return { refill: wishing(refill) };
});

const marram = plantAt('schemas/examples/marram-point.json');

/** I-12 follows from what the other rows need, so it stands in no table. */
const KINDS = [...new Set([...ROW_KINDS.map(({ id, suffix }) => (suffix ? `${id}/${suffix}` : id)), 'I-12'])];

describe('the table of accidents', () => {
  test('has every kind of row, once seen or once explained', () => {
    const told = new Set([...ACCIDENTS, ...UNSEEN].map(({ row }) => row));
    expect(KINDS.filter((kind) => !told.has(kind))).toEqual([]);
    expect([...told].filter((row) => !KINDS.includes(row))).toEqual([]);
    expect(ACCIDENTS.flatMap(({ behind }) => behind).filter((row) => !KINDS.includes(row))).toEqual([]);
  });

  test('names kinds as the rows of a station are named', () => {
    expect([...new Set(deriveRows(marram).map(kindOf))].filter((kind) => !KINDS.includes(kind))).toEqual([]);
  });
});

describe('I-32: a device that is out of service', () => {
  const commandedOn = (isLost: (kind: string) => boolean): boolean => {
    const plant = structuredClone(marram);
    lose(plant, isLost);
    const coupled = couple(plant);
    coupled.request({ ask: 'out-of-service', device: 'drain-pump', reason: 'new bearing' });
    coupled.run(60_000);
    wish(['drain']);
    coupled.run(120_000);
    wish([]);
    return coupled.log.some(
      ({ effect }) => effect.do === 'command' && effect.actuator === 'drain-pump' && effect.on,
    );
  };

  test('is told to run without the row, and nothing else holds it', () => {
    expect(commandedOn((kind) => kind === 'I-32')).toBe(true);
  });

  test('is not told to run with the row alone, nor with all', () => {
    expect(commandedOn((kind) => kind !== 'I-32')).toBe(false);
    expect(commandedOn(() => false)).toBe(false);
  });
});
