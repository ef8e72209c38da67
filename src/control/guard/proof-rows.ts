// The rows about proof tests, two for each row that has one. I-28: what relies on a protection that nobody has tried for
// far too long is blocked; before that, being overdue is an alarm (see alarms.ts). I-33: while a person moves a contact by
// hand, whatever that contact guards, and whatever else touches its vessel, stays off.
import type { Plant } from '../../station/plant.ts';
import type { Unplaced } from './interlocks.ts';
import { known } from './invariant.ts';
import { all, may, NEVER } from './row-kinds.ts';
import type { GuardState } from './state.ts';

/** How long ago a row was last proven by hand, or commissioned if it never was, ms. */
export const sinceProven = (state: GuardState, row: string): number =>
  state.proofs.sinceMs[row] ?? state.proofs.sinceStartMs;

export function proofRows(plant: Plant, rows: readonly Unplaced[]): Unplaced[] {
  const { everyMs, graceMs } = plant.policy.proofTests;
  return rows.flatMap((row): Unplaced[] => {
    if (row.proves === null) return [];
    const [id, subject, suffix] = row.key.split('/');
    const key = `${subject}/${[id, suffix].filter(Boolean).join('-')}`;
    const shared = {
      about: row.about,
      hardware: 'none',
      response: 'block',
      cleared: { inputs: [] },
      needs: [],
      afterMs: 0,
      cause: null,
      proof: null,
      proves: null,
      tests: row.key,
    } as const;
    return [
      {
        ...shared,
        id: 'I-28',
        key: `I-28/${key}`,
        hazard: 'untested protection',
        pattern: 'not proven by hand for longer than its period and its grace',
        reset: 'by itself, once its proof test is passed',
        bypass: may('somebody stays with the station until the proof test is done'),
        forbids: row.forbids,
        // One alarm for all of them (alarms.ts): a station that nobody has tried would flood its people otherwise.
        priority: null,
        words: `nobody has tried for far too long whether this still works: ${row.hazard}`,
        mend: '',
        unproven: 'a clock: nothing to move by hand',
        holds: (state) => state.proofs.beyondGrace > 0 && sinceProven(state, row.key) > everyMs + graceMs,
      },
      {
        ...shared,
        id: 'I-33',
        key: `I-33/${key}`,
        hazard: 'proof test under way',
        pattern: 'a proof test of this row is under way',
        reset: 'by itself, with the end of the test',
        bypass: NEVER.test,
        forbids: concernedBy(plant, row, row.proves),
        priority: null,
        words: `a proof test is under way at ${known(plant.sensors, row.proves).name}: nothing moves there meanwhile`,
        mend: '',
        unproven: 'every proof test tries it',
        holds: (state) => state.proofs.test?.row === row.key,
      },
    ];
  });
}

/** What must rest while a contact is moved by hand: what the row forbids, and whatever else touches the vessel. */
function concernedBy(plant: Plant, row: Unplaced, sensorId: string): readonly string[] {
  const vessel = vesselOf(plant, sensorId);
  const near = all(plant).filter((target) => {
    const route = plant.routes[target];
    if (route) return route.from === vessel || route.to === vessel;
    return (plant.heaters[target] ?? plant.dosers[target])?.vessel === vessel;
  });
  return [...new Set([...row.forbids, ...near])];
}

/** The vessel that a contact hangs in; null where it hangs in none. */
export function vesselOf(plant: Plant, sensorId: string): string | null {
  const sensor = known(plant.sensors, sensorId);
  return 'vessel' in sensor ? sensor.vessel : null;
}
