// What has said nothing usable since the connection to the broker came up, and what that keeps from running: one alarm for
// all of it, because after a start of the service a whole board of devices may be quiet for one and the same reason.
//
// A device that promised to report is overdue when it has let its own reports pass. One that reports only changes promised
// nothing: without a change it never speaks, so somebody is told within minutes, long before its greatest age (often a day).

import type { Plant } from '../../station/plant.ts';
import type { Row } from '../guard/interlocks.ts';
import { known } from '../guard/invariant.ts';
import { MISSED_REPORTS, UNHEARD_MS } from '../guard/limits.ts';
import { type Message, message } from '../guard/message.ts';
import { perPlant } from '../guard/per-plant.ts';
import { checking, doing, HEARD_AGAIN, inCase, later, respond } from '../guard/response.ts';
import { all } from '../guard/row-kinds.ts';
import type { State } from './state.ts';

/** Does this row speak of a sensor or a feedback that is silent or faulty? */
export const isAboutSilence = ({ means }: Row): boolean => means === 'silent' || means === 'unattended';

/** What it is about has said nothing usable yet: nothing live, or only that it is offline. */
export function isUnheard(plant: Plant, { sensors, devices }: State, row: Row): boolean {
  const id = row.subject;
  const { live, fault } =
    plant.sensors[id] === undefined
      ? { live: known(devices, id).feedbackLive, fault: known(devices, id).feedbackFault }
      : known(sensors, id);
  return !live && (fault === null || fault === 'offline');
}

export interface Unheard {
  readonly active: boolean;
  readonly words: Message;
  readonly response: Message;
}

/** @param rows of those that hold: what they are about is unheard, and nobody was told of it under its own name */
export function unheardNews(plant: Plant, state: State, rows: readonly Row[]): Unheard {
  const late = rows.filter((row) => state.link.upMs >= patienceMs(plant, row));
  if (late.length === 0) return { active: false, words: NOTHING, response: NOTHING };
  const silent = late.map(({ about }) => about);
  const blocked = new Set(late.flatMap(({ forbids }) => forbids));
  return {
    active: true,
    words: all(plant).every((target) => blocked.has(target))
      ? message('unheard-all', { silent })
      : message('unheard-some', { silent, targets: [...blocked] }),
    response: responseFor(plant, late),
  };
}

const NOTHING = message('nothing');
const ONLY_CHANGES = [
  checking(message('check-signal-of-each')),
  doing(message('do-switch-off-and-on')),
  HEARD_AGAIN,
] as const;

/** How long the link must have been up before this counts as missing, ms. */
function patienceMs(plant: Plant, row: Row): number {
  return known(patience(plant), row.subject);
}

const patience = perPlant((plant): Readonly<Record<string, number>> => {
  const found: Record<string, number> = {};
  const note = (id: string, { maxAgeMs, republishesMs }: Habit) => {
    found[id] = Math.min(maxAgeMs, republishesMs === null ? UNHEARD_MS : MISSED_REPORTS * republishesMs);
  };
  for (const sensor of Object.values(plant.sensors)) note(sensor.id, sensor);
  for (const { id, feedback } of Object.values(plant.actuators)) if (feedback !== null) note(id, feedback);
  return found;
});

interface Habit {
  readonly maxAgeMs: number;
  readonly republishesMs: number | null;
}

function responseFor(plant: Plant, late: readonly Row[]): Message {
  const onlyChanges = late.filter((row) => {
    const habit = plant.sensors[row.subject] ?? plant.actuators[row.subject]?.feedback;
    return habit?.republishesMs === null;
  });
  if (onlyChanges.length === 0) return respond(checking(message('check-signal-of-each')), HEARD_AGAIN);
  const republish = later(message('later-republish', { silent: onlyChanges.map(({ about }) => about) }));
  return late.some((row) => plant.sensors[row.subject]?.measures === 'float')
    ? respond(...ONLY_CHANGES, inCase(message('if-float-still-silent')), republish)
    : respond(...ONLY_CHANGES, republish);
}
