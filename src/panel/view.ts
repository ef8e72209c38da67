// The station as it is now, for the page: the core's own status, and beside it what explains it (every row with its
// inputs) and since when. Cut into sections, each of which travels only when it has changed.
import { deriveRows, looksOf } from '../control/guard/interlocks.ts';
import { lookNeeded } from '../control/guard/resets.ts';
import { PROCEDURE } from '../control/process/procedure.ts';
import type { State, UnitState } from '../control/process/state.ts';
import type { Message } from '../language/message.ts';
import type { RowNow, Sections, Steer } from './contract.ts';
import type { Since } from './since.ts';
import type { Source } from './source.ts';

const STEERS: readonly Steer[] = ['start', 'hold', 'restart', 'stop', 'abort', 'reset'];

export function sectionsOf(source: Source, since: Since): Sections {
  const state = source.state();
  const { units, vessels, routes, heaters, sensors, actuators, ...rest } = source.status();
  return {
    link: { ...rest.link, up: state.link.up, sinceMs: since.link(), isSilent: isSilent(source, state) },
    units,
    steer: {
      refill: mayBeAsked(state, state.refill),
      batch: mayBeAsked(state, state.batch, state.batch.stage === 'ready' ? ['start'] : []),
      exchange: STEERS.filter((ask) =>
        Object.values(state.exchange).some((work) => mayBeAsked(state, work).includes(ask)),
      ),
    },
    vessels,
    routes,
    heaters,
    sensors,
    heard: since.sensors(),
    actuators,
    outOfService: rest.outOfService,
    proofTests: { ...rest.proofTests, answeredSeconds: answeredSeconds(state) },
    proofOutcomes: source.proofs(),
    exercises: rest.exercises,
    bypasses: rest.bypasses,
    alarmLoad: rest.alarmLoad,
    task: rest.task,
    upkeep: rest.upkeep,
    trips: rest.trips,
    looks: looksNeeded(source, state),
    alarms: rest.alarms.map((one) => ({ ...one, sinceMs: since.alarm(one.alarm) })),
    forecast: rest.forecast,
    unknown: rest.unknown,
    rows: rowsOf(source, state, since),
    batch: source.batch(),
  };
}

function answeredSeconds({ proofs }: State): number | null {
  const ms = proofs.test?.answeredMs ?? null;
  return ms === null ? null : ms / 1000;
}

/**
 * The core gives a link the time that the station file allows; people should see within five seconds that nothing comes
 * back. A heartbeat goes out every second by the wall; simulated time has its own steps, and no such silence.
 */
const isSilent = (source: Source, { link }: State): boolean =>
  !source.now().simulated && link.up && link.echoAgeMs > SILENT_MS;
const SILENT_MS = 3_500;

/** What the table of ISA-88 does not refuse, what would change something, and what no latched trip stands against. */
function mayBeAsked(state: State, unit: UnitState, more: readonly Steer[] = []): Steer[] {
  const isTripped = unit.cause === 'trip' && Object.keys(state.trips).length > 0;
  return STEERS.filter((ask) => {
    const cell = PROCEDURE[unit.procedure][ask];
    if (ask === 'restart' && isTripped) return false;
    return more.includes(ask) || (cell !== 'refuse' && cell !== 'ignore' && cell !== 'impossible');
  });
}

function looksNeeded(source: Source, state: State): Record<string, Message> {
  const plant = source.plant();
  return Object.fromEntries(
    Object.keys(state.trips).flatMap((key) => {
      const why = lookNeeded(plant, state, key);
      return why === null ? [] : [[key, why]];
    }),
  );
}

function rowsOf(source: Source, state: State, since: Since): Record<string, RowNow> {
  const plant = source.plant();
  const rows: Record<string, RowNow> = {};
  for (const row of deriveRows(plant)) {
    const mark = since.row(row.key);
    rows[row.key] = {
      holds: row.holds(state),
      latched: state.trips[row.key] !== undefined,
      sinceMs: mark?.sinceMs ?? null,
      orLonger: mark?.orLonger ?? false,
      inputs: looksOf(row, state),
    };
  }
  return rows;
}
