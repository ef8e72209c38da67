// Who measures the salinity of the mixing vat, the probe or a person, with which instrument; and the sheet that asks a person for
// it. What becomes of a number is in `measuring.ts`.

import type { Plant } from '../../station/plant.ts';
import { probeOf, salinityOf } from '../guard/evidence.ts';
import { known } from '../guard/invariant.ts';
import { PROBE_PATIENCE_MS, SECOND_INSTRUMENT } from '../guard/limits.ts';
import { isMessage, type Message, message } from '../guard/message.ts';
import type { State } from './state.ts';

/** One word about the salinity, and whose it is. */
export interface Measured {
  readonly salinity: number;
  /** `PROBE`, or the instrument that a person named. */
  readonly by: string;
}

/** A person measures where there is no probe, where it is out of service, and where it gives no valid reading. */
export function measuredByPerson(plant: Plant, draft: State): boolean {
  const probe = probeOf(plant, plant.mixingId);
  return probe === null || draft.outOfService[probe.id] !== undefined || isProbeDead(plant, draft);
}

/** The water has circulated for minutes longer than the probe may take, and it gives no valid reading. */
function isProbeDead(plant: Plant, draft: State): boolean {
  const probe = probeOf(plant, plant.mixingId);
  const { beyondMs, probe: salinity, probeAgeMs } = known(draft.salinity, plant.mixingId);
  if (probe === null || beyondMs > 0) return false;
  const waitMs = Math.max(plant.process.batch.settleMs, probe.validAfter?.runsForMs ?? 0) + PROBE_PATIENCE_MS;
  return (salinity === null || probeAgeMs > 0) && draft.batch.circulatedMs >= waitMs;
}

/** What a person measured in this stage; null: nothing yet. */
export function byHand(plant: Plant, draft: State): Measured | null {
  const { measured, measuredAgeMs, instrument } = known(draft.salinity, plant.mixingId);
  const servesMs = Math.min(draft.batch.stageMs, plant.process.batch.measurementServesMs);
  return measured !== null && measuredAgeMs < servesMs ? { salinity: measured, by: instrument } : null;
}

/** The sheet that hangs there already, where only its numbers waver: nobody is asked anew by a probe's noise. */
function steadied({ id, values }: Message, now: Message): Message {
  const told = values.why;
  if (id !== 'asked-to-measure' || !isMessage(told)) return now;
  const [was, is] = [saidIn(told), saidIn(now)];
  const isOfOne = was.id === 'instrument-says' && was.values.instrument === is.values.instrument;
  if (!isOfOne) return now;
  const offBy = Math.abs(Number(was.values.salinity) - Number(is.values.salinity));
  return offBy <= SECOND_INSTRUMENT ? told : now;
}

/** What a reason begins with: whose number it is about, and that number; a reason without one stands for itself. */
function saidIn(reason: Message): Message {
  const first = reason.values.says ?? reason.values.doubt;
  return isMessage(first) ? saidIn(first) : reason;
}

/** Hangs up the task; the reason says what it is for. */
export function ask(plant: Plant, draft: State, reason: Message | null, except: string): void {
  const why = reason === null ? null : steadied(draft.batch.words, reason);
  const task =
    except === ''
      ? message('task-measure', { vessel: plant.mixingId })
      : message('task-measure-with-another', { vessel: plant.mixingId, instrument: except });
  draft.tasks[plant.mixingId] = {
    task: 'measure-salinity',
    vessel: plant.mixingId,
    massKg: null,
    words: why === null ? task : message('task-measure-because', { why, task }),
  };
  draft.batch.words = why === null ? message('asked-for-measurement') : message('asked-to-measure', { why });
}

const DEAD = message('probe-is-dead');

/** A person's number of this stage, asked for where there is none. */
export function askByHand(plant: Plant, draft: State): Measured | null {
  const hand = byHand(plant, draft);
  if (hand === null) ask(plant, draft, isProbeDead(plant, draft) ? DEAD : null, draft.batch.doubtedBy);
  return hand;
}

/** A step is due, and what a person measured is too old to serve: they are asked again. */
export function needsNewMeasurement(plant: Plant, draft: State): boolean {
  const probe = probeOf(plant, plant.mixingId);
  const probed = probe !== null && draft.outOfService[probe.id] === undefined;
  if (probed || salinityOf(plant, draft, plant.mixingId) !== null) return false;
  return askByHand(plant, draft) === null;
}
