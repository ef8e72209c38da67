// No kind of row goes without an accident, or a reason why no judge could see it; and those are tried directly.
import { readFileSync } from 'node:fs';
import { describe, expect, test, vi } from 'vitest';
import { deriveRows } from '../../../src/control/guard/interlocks.ts';
import type { Request } from '../../../src/control/guard/types.ts';
import type { Plant } from '../../../src/station/plant.ts';
import { KINDS, lose } from '../../../src/verify/lost.ts';
import { couple, plantAt } from '../../tools/coupled.ts';
import { ACCIDENTS, UNSEEN } from './accidents.ts';
import { wish } from './wishes.ts';

vi.mock('../../../src/control/process/refill.ts', async (original) => {
  const { wishing } = await import('./wishes.ts');
  const { refill } = await original<typeof import('../../../src/control/process/refill.ts')>();
  return { refill: wishing(refill) };
});

const marram = plantAt('schemas/examples/marram-point.json');
const unequal = plantAt('schemas/examples/unequal-vats.json');
const bare = plantAt('test/stations/bare-system.json');

describe('the table of accidents', () => {
  test('has every kind of row, once seen or once explained', () => {
    const told = new Set([...ACCIDENTS, ...UNSEEN].map(({ row }) => row));
    expect(KINDS.filter((kind) => !told.has(kind))).toEqual([]);
    expect([...told].filter((row) => !KINDS.includes(row))).toEqual([]);
    expect(ACCIDENTS.flatMap(({ behind }) => behind).filter((row) => !KINDS.includes(row))).toEqual([]);
  });

  test('names kinds as the rows of a station are named', () => {
    expect(
      [...new Set([marram, unequal, bare].flatMap(deriveRows).map(({ kind }) => kind))].toSorted(),
    ).toEqual(KINDS.toSorted());
  });
});

interface Tried {
  readonly row: string;
  readonly says: string;
  readonly pump: string;
  readonly wishes: readonly string[];
  readonly asks?: Request;
  readonly prepare?: (plant: Plant) => void;
}

// biome-ignore format: a table reads as a table
const TRIED: readonly Tried[] = [
  {
    row: 'I-28', says: 'a pump runs above a float that nobody has tried for too long', pump: 'transfer-pump', wishes: ['transfer'],
    prepare: (plant) => Object.assign(plant.policy.proofTests, { everyMs: 60_000, graceMs: 60_000 }),
  },
  {
    row: 'I-32', says: 'a pump runs that was taken out of service', pump: 'drain-pump', wishes: ['drain'],
    asks: { ask: 'out-of-service', device: 'drain-pump', reason: 'new bearing' },
  },
  {
    row: 'I-33', says: 'a pump runs while somebody holds its float', pump: 'transfer-pump', wishes: ['transfer'],
    asks: { ask: 'proof-test', row: 'I-01/transfer', who: 'Ada' },
  },
];

describe.each(TRIED)('$row tried directly', ({ row, says, pump, wishes, asks, prepare }) => {
  /** Whether the pump is told to run once everything has had its time. */
  const runs = (isLost: (kind: string) => boolean): boolean => {
    const plant = structuredClone(marram);
    Object.assign(plant.policy.starts, { refill: 'person', batch: 'person', exchange: 'person' });
    prepare?.(plant);
    lose(plant, isLost);
    const coupled = couple(plant);
    coupled.run(SETTLED_MS);
    if (asks) coupled.request(asks);
    coupled.run(10_000);
    wish(wishes);
    coupled.run(60_000);
    wish([]);
    return coupled.log.some(
      ({ atMs, effect }) =>
        atMs > SETTLED_MS && effect.do === 'command' && effect.actuator === pump && effect.on,
    );
  };

  test(`without this row ${says}: nothing else holds it`, () => {
    expect(runs((kind) => kind === row)).toBe(true);
  });

  test('not with this row alone, nor with all', () => {
    expect(runs((kind) => kind !== row)).toBe(false);
    expect(runs(() => false)).toBe(false);
  });
});

test('what no judge sees is tried directly', () => {
  const here = UNSEEN.filter(({ triedIn }) => triedIn === undefined);
  expect(TRIED.map(({ row }) => row)).toEqual(here.map(({ row }) => row));
  for (const { row, triedIn } of UNSEEN)
    if (triedIn !== undefined) expect(readFileSync(triedIn, 'utf8')).toContain(`test('${row}: `);
});

/** Until sensors are believed, links proven, and minutes of the proof tests' schedule counted. */
const SETTLED_MS = 30 * 60_000;
