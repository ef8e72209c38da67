// A process that misbehaves: from some moment of the night on, when the real one has come to any phase of its work, it wants its
// targets at random, whatever the levels are, and wants them again at once when they were forbidden. A person pours and measures when it asks, and resets what has tripped once nothing is broken
// any more. What then does no harm is held by the guard alone, on water with amounts, errors and delays.
import { salinityOf } from '../../control/guard/evidence.ts';
import { known } from '../../control/guard/invariant.ts';
import type { Effect, Event } from '../../control/guard/types.ts';
import type { State } from '../../control/process/state.ts';
import { type Stepped, step } from '../../control/step.ts';
import { saltMassKg } from '../../engineering/salting.ts';
import { message } from '../../language/message.ts';
import { chance, keyOf } from '../../simulate/chance.ts';
import type { Plant } from '../../station/plant.ts';
import type { Coupled } from '../coupled.ts';
import { looked } from '../looked.ts';
import { kindOfKey } from '../lost.ts';
import { guarded } from '../prove/hostile.ts';
import type { Trouble } from './misfortunes.ts';

export interface Hostile {
  /** In place of `step()`. */
  readonly step: (plant: Plant, state: State, event: Event) => Stepped;
  /** Called after each step: the person who resets. */
  readonly look: (coupled: Coupled, troubles: readonly Trouble[]) => void;
  /** Kinds of rows that forbade something that was wanted. */
  readonly held: ReadonlySet<string>;
}

const SHORTEST_MS = 5_000;
const LONGEST_MS = 40 * 60_000;
const TASK_EVERY_MS = 45 * 60_000;
const LOOKS_EVERY_MS = 5 * 60_000;
/** In a third of the nights everything is wanted all the time. */
const INSISTENT = 1 / 3;
const FROM_THE_START = 1 / 5;
const LATEST_MS = 9 * 3_600_000;

export function hostileProcess(plant: Plant, seed: number): Hostile {
  const key = keyOf('wants');
  let occasion = 0;
  const luck = () => chance(seed, key, occasion++);
  const lengthMs = () => SHORTEST_MS * (LONGEST_MS / SHORTEST_MS) ** luck();
  const isInsistent = luck() < INSISTENT;
  const fromMs = luck() < FROM_THE_START ? 0 : luck() * LATEST_MS;
  const targets = [plant.routes, plant.heaters, plant.dosers].flatMap((all) => Object.keys(all));
  const wanted = new Map(targets.map((id) => [id, { on: isInsistent || luck() < 0.5, untilMs: lengthMs() }]));
  const held = new Set<string>();
  let nowMs = 0;
  let taskMs = 0;
  let looksMs = 0;
  return {
    held,
    step: (of, state, event) => {
      nowMs += event.elapsedMs;
      if (nowMs < fromMs) return step(of, state, event);
      for (const [id, { on, untilMs }] of wanted)
        if (!isInsistent && nowMs >= untilMs) wanted.set(id, { on: !on, untilMs: nowMs + lengthMs() });
      const wants = targets.filter((id) => wanted.get(id)?.on);
      const done = guarded(wants)(of, state, event);
      for (const id of wants) for (const row of done.state.verdicts[id] ?? []) held.add(kindOfKey(of, row));
      if (nowMs < taskMs) return done;
      taskMs = nowMs + TASK_EVERY_MS;
      return { state: done.state, effects: [...done.effects, taskFor(of, done.state, luck())] };
    },
    look: (coupled, troubles) => {
      const isBroken = troubles.some(
        ({ fromMs, toMs }) => fromMs <= coupled.nowMs() && coupled.nowMs() <= toMs,
      );
      if (isBroken || coupled.nowMs() < looksMs) return;
      looksMs = coupled.nowMs() + LOOKS_EVERY_MS;
      coupled.twin.mop();
      for (const request of looked(coupled.state(), 'a person', 'looked: nothing is broken any more'))
        coupled.request(request);
    },
  };
}

/** Now and then salt for a whole batch, whatever is in the vat; else what brings it to the target, as far as anybody knows. */
function taskFor(plant: Plant, state: State, luck: number): Effect {
  const { mixingId: vessel, process } = plant;
  const { target } = process.salinity;
  const { leastL, mostL } = known(state.vessels, vessel);
  const is = salinityOf(plant, state, vessel) ?? 0;
  const dose = (litres: number, from: number) => saltMassKg(litres, from, target, 20, process.saltYield);
  const words = message('nothing');
  const salt = (massKg: number): Effect => ({
    do: 'ask',
    vessel,
    task: { task: 'add-salt', vessel, massKg, words },
  });
  if (luck < BLIND_DOSES) return salt(dose(process.batch.contentsL, 0));
  const contentsL = (leastL + mostL) / 2;
  if (luck < DOSES && is < target && contentsL > 0) return salt(dose(contentsL, is));
  return { do: 'ask', vessel, task: { task: 'measure-salinity', vessel, massKg: null, words } };
}
const BLIND_DOSES = 0.1;
const DOSES = 0.5;
