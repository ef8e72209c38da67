// What a person wants to know of a route, heater or doser: does it run, may it, and if not, who says so.
import type { ActuatorStanding, RowNow, RowStanding, Standing, Words } from '../../contract.ts';
import { forbidding, live, standing } from './live.ts';

export interface TargetNow {
  readonly id: string;
  readonly name: string;
  readonly kind: 'route' | 'heater' | 'doser';
  readonly running: 'no' | 'maybe' | 'yes';
  readonly flowLpm: number | null;
  readonly allowed: boolean;
  /** The rows that forbid it, trips first. */
  readonly by: readonly (RowNow & { readonly key: string })[];
  readonly devices: readonly ActuatorStanding[];
  /** What the unit that works with it says. */
  readonly unitWords: Words;
  readonly unitRuns: boolean;
}

export function targetNow(id: string): TargetNow | null {
  const station = standing.value;
  if (station === null) return null;
  const { routes, heaters, dosers, actuators } = station;
  const by = forbidding(id);
  const unit = unitOf(station, id);
  const base = {
    id,
    allowed: by.length === 0,
    by,
    unitWords: unit?.words ?? '',
    unitRuns: unit?.procedure === 'running',
  };
  const route = routes[id];
  if (route) {
    const now = live.routes.value?.[id];
    const devices = [...route.through, ...route.upstream].flatMap((device) => actuators[device] ?? []);
    const shown = {
      name: route.name,
      running: now?.running ?? ('maybe' as const),
      flowLpm: now?.flowLpm ?? null,
    };
    return { ...base, ...shown, kind: 'route', devices };
  }
  const heater = heaters[id];
  const doser = dosers[id];
  const actuator = heater?.actuator ?? doser?.actuator;
  if (actuator === undefined) return null;
  const device = actuators[actuator];
  return {
    ...base,
    name: heater?.name ?? device?.name ?? id,
    kind: heater ? 'heater' : 'doser',
    running: live.actuators.value?.[actuator]?.on ? 'yes' : 'no',
    flowLpm: null,
    devices: device ? [device] : [],
  };
}

function unitOf({ targets }: Standing, id: string) {
  const units = live.units.value;
  if (units === null) return null;
  if (targets.refill.includes(id)) return units.refill;
  if (targets.batch.includes(id)) return units.batch;
  const system = Object.keys(targets.exchange).find((one) => targets.exchange[one]?.includes(id));
  return system === undefined ? null : (units.exchange[system] ?? null);
}

/** Every row that guards a target. */
export function rowsOver(id: string): readonly RowStanding[] {
  return (standing.value?.rows ?? []).filter(({ forbids }) => forbids.includes(id));
}

/** A row, or the alarm that stands for all of them, says that something is not heard. */
export function isUnheard(alarm: string): boolean {
  const { means = null } = rowStanding(alarm) ?? {};
  return means === 'silent' || means === 'unattended' || alarm.startsWith('A-40/');
}

export function rowStanding(key: string): RowStanding | undefined {
  return standing.value?.rows.find((row) => row.key === key);
}
