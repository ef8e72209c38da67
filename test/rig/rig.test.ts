// The built product on a wet rig that nobody here tuned, over real mosquitto, in real time. The good cycle and three faults
// where VATWARDEN_RIG names the rig; all faults where VATWARDEN_RIG_ALL is set too. The rig's books are the judge.
import { describe, expect, test } from 'vitest';
import { type Books, type RigDay, rigDay } from '../tools/wet-rig.ts';

const rig = process.env.VATWARDEN_RIG;
const all = process.env.VATWARDEN_RIG_ALL !== undefined;

const total = (amounts: Readonly<Record<string, number>>): number =>
  Object.values(amounts).reduce((a, b) => a + b, 0);

function dry(books: Books, except?: string): number {
  return total(Object.fromEntries(Object.entries(books.dryS).filter(([pump]) => pump !== except)));
}

interface FaultCase {
  readonly fault: string;
  readonly forS: number;
  /** Its alarm or trip must be among what was heard; null: nothing may be alarmed. */
  readonly names: RegExp | null;
  /** Within this many seconds of the fault's start. */
  readonly withinS: number;
  /** A pump that nothing on the rig can stop. */
  readonly welded?: string;
  readonly hoseL?: number;
  /** Nothing on the rig can stop this water. */
  readonly unstoppable?: true;
}

// biome-ignore format: a table reads as a table
const FAULTS: readonly FaultCase[] = [
  { fault: 'stuck-on:transfer@12', forS: 60, names: /I-23.*transfer|I-09.*transfer/, withinS: 12, welded: 'transfer' },
  { fault: 'hose-off:transfer@15', forS: 45, names: /I-11.*tray-leak/, withinS: 15, hoseL: 1 },
  { fault: 'stuck-off:transfer@10', forS: 45, names: /I-23.*transfer.*stays-off/, withinS: 15 },
  { fault: 'say:fresh/float/high=DRY@5', forS: 110, names: null, withinS: 0 },
  { fault: 'stuck-on:fill@20', forS: 110, names: /I-23.*fill|I-09.*refill|I-08.*fresh/, withinS: 100 },
  { fault: 'deaf:fill@15', forS: 45, names: /I-23.*fill/, withinS: 15 },
  { fault: 'mute:mixing/probe@60', forS: 110, names: /I-12.*mixing-(conductivity|temperature)/, withinS: 40 },
  { fault: 'say:tray/leak=wet@30', forS: 50, names: /I-11.*tray-leak/, withinS: 5 },
  { fault: 'siphon:supply@40', forS: 70, names: /I-09.*supply/, withinS: 15, unstoppable: true },
  { fault: 'hand-draw:fresh@10-40', forS: 100, names: null, withinS: 0 },
  { fault: 'weak:transfer@10', forS: 45, names: /I-07.*transfer/, withinS: 15 },
  { fault: 'no-water:inlet@10', forS: 45, names: /I-07.*refill.*starved/, withinS: 15 },
  { fault: 'mute:all@20', forS: 60, names: /I-1[23]/, withinS: 40 },
  { fault: 'hide:transfer@10', forS: 45, names: /I-23.*transfer/, withinS: 15 },
  { fault: 'say:fresh/level={"mm":60,"quality":"ok"}@20', forS: 70, names: /I-08.*fresh|I-10.*fresh/, withinS: 40 },
];

const trips = (day: RigDay): string[] =>
  day.heard
    // That its commissioning is waived is said all the time.
    .filter(({ topic }) => topic.startsWith('alarm/') && !topic.startsWith('alarm/A-11'))
    .map(({ topic, payload }) => `${topic} ${payload}`);

describe.skipIf(rig === undefined)('the wet rig over real mosquitto', () => {
  test('a whole cycle in under 6 minutes: fill, transfer, salt, mix, heat, an exchange of at least 4 L', async () => {
    const day = await rigDay({
      forS: 350,
      thenS: 1,
      until: (status) =>
        (status.units.exchange.system?.todayL ?? 0) >= 4 && status.units.exchange.system?.step === 'rest',
    });
    const { books } = day;
    expect({ spilledL: total(books.spilledL), hoseL: books.hoseL, dryS: dry(books) }).toEqual({
      spilledL: 0,
      hoseL: 0,
      dryS: 0,
    });
    expect([books.heaterDryS, books.heaterWhileDissolvingS, books.deliveredOffSpecL]).toEqual([0, 0, 0]);
    expect(books.deliveredL).toBeGreaterThanOrEqual(4);
    expect(Math.abs(books.drainedL - books.deliveredL)).toBeLessThan(0.3);
    expect(books.hottestC).toBeGreaterThan(24);
    expect(trips(day)).toEqual([]);
    expect(day.tookS).toBeLessThan(360);
  }, 400_000);

  test.concurrent.each(FAULTS.slice(0, all ? undefined : 3))(
    '$fault is safe in the books and named',
    async ({ fault, forS, names, withinS, welded, hoseL = 0, unstoppable }) => {
      const day = await rigDay({ faults: [fault], forS });
      const { books } = day;
      expect(total(books.spilledL)).toBe(0);
      expect(books.hoseL).toBeLessThanOrEqual(hoseL);
      expect(dry(books, welded)).toBe(0);
      expect([books.heaterDryS, books.heaterWhileDissolvingS]).toEqual([0, 0]);
      if (!unstoppable) expect(books.deliveredOffSpecL).toBe(0);
      const startS = Number(/@(\d+)/.exec(fault)?.[1]);
      const named = day.heard.find(
        ({ topic, payload }) => topic.startsWith('alarm/') && names?.test(`${topic} ${payload}`),
      );
      if (names === null) expect(trips(day)).toEqual([]);
      else {
        expect(named, trips(day).join('\n') || day.lines).toBeDefined();
        expect(named?.atS).toBeLessThan(startS + withinS + 5);
      }
    },
    300_000,
  );
});
