// How things look, from what the status says of them.
import type { ActuatorStanding, Sections } from '../../contract.ts';
import type { DeviceLook } from './symbols.tsx';

/** A device as it is drawn: what it was told, and what its feedback says of that. */
export function lookOf(
  standing: ActuatorStanding,
  now: Sections['actuators'][string] | undefined,
  rows: Sections['rows'] | null,
): DeviceLook {
  // A valve takes its seconds: only the row that waits them out may say that something is wrong.
  const isWrong = standing.watchedBy.some((key) => {
    const row = rows?.[key];
    return row?.holds || row?.latched;
  });
  if (isWrong) return 'contradicts';
  if (now === undefined || (standing.feedback && now.feedback !== now.on)) return 'unproven';
  if (now.on) return 'on';
  return now.provenOff ? 'off' : 'unproven';
}

/** The class of a pipe: what runs is dark, what may run is dashed, what rests is pale. */
export function pipeClass(route: Sections['routes'][string] | undefined): string {
  if (route === undefined) return 'pipe unknown';
  return `pipe runs-${route.running}`;
}

export type Seen = 'fresh' | 'stale' | 'faulty';

export function seenOf(sensor: Sections['sensors'][string] | undefined): Seen {
  if (sensor === undefined) return 'stale';
  if (sensor.fault !== null) return 'faulty';
  return sensor.fresh ? 'fresh' : 'stale';
}
