// A saved state, in the shape of the station that goes on from it. The file may have been changed meanwhile, and another release
// may have other rows: what still has its place is taken over by its id or its row; what was latched, switched off or half done
// and has no place any more is named in `lost`, which row I-36 latches until a person has looked.

import type { Plant } from '../../station/plant.ts';
import { isRowKey, rowOf } from '../guard/interlocks.ts';
import { type Message, message, sameMessage } from '../guard/message.ts';
import { unmoved } from './exercise-state.ts';
import { OVERDUE_ALARMS } from './proof-news.ts';
import type { State } from './state.ts';

/**
 * @param fresh a state of this plant that knows nothing
 * @param saved of any station file, in the form of this release
 * @param isSamePlumbing the plant of `saved` had the same vessels, routes and sensors
 */
export function carriedOver(plant: Plant, fresh: State, saved: State, isSamePlumbing: boolean): State {
  const before = structuredClone(saved);
  const lost: Message[] = [...before.lost];
  const lose = (what: Message): void => {
    if (!lost.some((one) => sameMessage(one, what))) lost.push(what);
  };
  const isRow = (key: string): boolean => rowOf(plant, key) !== undefined;
  const isDevice = (id: string): boolean =>
    plant.sensors[id] !== undefined || plant.actuators[id] !== undefined;
  for (const key of Object.keys(before.trips).filter((one) => !isRow(one)))
    lose(message('lost-trip', { row: key }));
  for (const id of Object.keys(before.outOfService).filter((one) => !isDevice(one)))
    lose(message('lost-out-of-service', { what: id }));
  for (const key of Object.keys(before.proofs.failed).filter((one) => !isRow(one)))
    lose(message('lost-failed-proof', { row: key }));
  for (const id of Object.keys(before.exercises.seized).filter((one) => plant.exercises[one] === undefined))
    lose(message('lost-seized', { what: id }));
  for (const [id, { differenceL }] of Object.entries(before.exchange))
    if (fresh.exchange[id] === undefined && differenceL !== 0) lose(message('lost-ledger', { what: id }));
  const { batch } = before;
  const keepsBatch = isSamePlumbing || batch.stage === 'idle';
  if (!keepsBatch) lose(message('lost-batch', { stage: batch.stage }));
  const { number, yields } = batch;
  return {
    ...fresh,
    ...before,
    sensors: fresh.sensors,
    devices: fresh.devices,
    routes: fitted(fresh.routes, before.routes),
    vessels: isSamePlumbing ? fitted(fresh.vessels, before.vessels) : fresh.vessels,
    salinity: isSamePlumbing ? fitted(fresh.salinity, before.salinity) : fresh.salinity,
    // In other vessels any water may be; whether the probe was confirmed hangs on its own entry.
    water: isSamePlumbing
      ? { ...fresh.water, ...before.water }
      : { ...fresh.water, confirmed: before.water?.confirmed ?? null },
    heaters: fitted(fresh.heaters, before.heaters),
    batch: keepsBatch ? { ...fresh.batch, ...batch } : { ...fresh.batch, number, yields },
    exchange: fitted(fresh.exchange, before.exchange),
    trips: only(before.trips, isRow),
    alarms: only(before.alarms, (alarm) => hasPlace(plant, alarm)),
    tasks: keepsBatch ? only(before.tasks, (id) => plant.vessels[id] !== undefined) : {},
    outOfService: only(before.outOfService, isDevice),
    lost,
    proofs: {
      ...fresh.proofs,
      ...before.proofs,
      sinceMs: only(before.proofs.sinceMs, isRow),
      failed: only(before.proofs.failed, isRow),
    },
    exercises: exercisesOf(plant, before),
    // What an older release kept has none.
    upkeep: before.upkeep ?? {},
    bypasses: only(before.bypasses, (key) => rowOf(plant, key)?.bypass.may === true),
  };
}

/** What there is now, with what was remembered of it. */
const fitted = <T extends object>(
  now: Readonly<Record<string, T>>,
  before: Readonly<Record<string, T>>,
): Record<string, T> =>
  Object.fromEntries(Object.entries(now).map(([id, fresh]) => [id, { ...fresh, ...before[id] }]));

const only = <T>(record: Readonly<Record<string, T>>, keeps: (id: string) => boolean): Record<string, T> =>
  Object.fromEntries(Object.entries(record).filter(([id]) => keeps(id)));

/** What an alarm is about is still there; the other alarms go by themselves with what they tell of. */
function hasPlace(plant: Plant, alarm: string): boolean {
  const [kind = '', id = ''] = alarm.split('/');
  if (isRowKey(alarm)) return rowOf(plant, alarm) !== undefined || OVERDUE_ALARMS.includes(alarm);
  if (kind === 'A-01') return id === 'refill' || id === 'batch' || Object.hasOwn(plant.process.exchange, id);
  return (kind !== 'A-06' && kind !== 'A-07') || Object.hasOwn(plant.exercises, id);
}

function exercisesOf(plant: Plant, { exercises }: State): State['exercises'] {
  const is = (id: string): boolean => plant.exercises[id] !== undefined;
  const { sinceMs, opened, due, seized, run } = exercises;
  return {
    ...exercises,
    sinceMs: { ...unmoved(plant).sinceMs, ...only(sinceMs, is) },
    opened: opened.filter(is),
    due: due.filter(is),
    seized: only(seized, is),
    run: run !== null && is(run.valve) ? run : null,
  };
}
