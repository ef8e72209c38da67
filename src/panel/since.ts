// Since when: a row forbids, a sensor says what it says, an alarm stands, the link is as it is. The core counts most of
// this only as far as it decides by it; what people want to know beside that is kept here, from looking on.
import { isFresh } from '../control/guard/evidence.ts';
import { isContact } from '../station/kinds.ts';
import type { Source } from './source.ts';

export interface Since {
  /** Looks at the source now. */
  readonly look: () => void;
  readonly row: (key: string) => { readonly sinceMs: number; readonly orLonger: boolean } | null;
  readonly sensors: () => Readonly<Record<string, number>>;
  readonly alarm: (alarm: string) => number;
  readonly link: () => number;
}

interface Mark {
  readonly sinceMs: number;
  readonly orLonger: boolean;
}

export function sinceOf(source: Source): Since {
  const rows = new Map<string, Mark>();
  const sensors = new Map<string, { says: string; sinceMs: number }>();
  const alarms = new Map<string, { state: string; sinceMs: number }>();
  let link = { proven: false, sinceMs: source.now().atMs };
  let hasLooked = false;

  const look = (): void => {
    const { atMs } = source.now();
    const state = source.state();
    const plant = source.plant();
    const forbidding = new Set([...Object.values(state.verdicts).flat(), ...Object.keys(state.trips)]);
    for (const key of rows.keys()) if (!forbidding.has(key)) rows.delete(key);
    for (const key of forbidding)
      if (!rows.has(key)) {
        // A trip knows its own age, even over a restart; a block is as old as we have seen it.
        const tripMs = state.trips[key];
        rows.set(key, {
          sinceMs: atMs - (tripMs ?? 0),
          orLonger: !hasLooked && tripMs === undefined,
        });
      }
    for (const id in state.sensors) {
      const sensor = plant.sensors[id];
      const seen = state.sensors[id];
      if (sensor === undefined || seen === undefined) continue;
      const fresh = isFresh(plant, state, id);
      const says = fresh ? (isContact(sensor) ? String(seen.value) : 'fresh') : (seen.fault ?? 'silent');
      if (sensors.get(id)?.says !== says) sensors.set(id, { says, sinceMs: atMs });
    }
    for (const id of alarms.keys()) if (state.alarms[id] === undefined) alarms.delete(id);
    for (const [id, record] of Object.entries(state.alarms))
      if (alarms.get(id)?.state !== record.state)
        alarms.set(id, { state: record.state, sinceMs: atMs - record.forMs });
    const proven = state.link.up && state.link.echoAgeMs <= plant.link.provenWithinMs;
    if (link.proven !== proven) link = { proven, sinceMs: atMs };
    hasLooked = true;
  };

  return {
    look,
    row: (key) => rows.get(key) ?? null,
    sensors: () => Object.fromEntries([...sensors].map(([id, { sinceMs }]) => [id, sinceMs])),
    alarm: (alarm) => alarms.get(alarm)?.sinceMs ?? source.now().atMs,
    link: () => link.sinceMs,
  };
}
