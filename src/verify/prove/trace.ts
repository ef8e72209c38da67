// A counterexample as a person reads it: one line for each tick in which something happened, and nothing else.
import type { Effect } from '../../control/guard/types.ts';
import type { State } from '../../control/process/state.ts';
import { type Defect, nameOf } from './defects.ts';
import type { Ground } from './explore.ts';
import type { Model } from './model.ts';
import { read, troublesOf } from './moves.ts';
import { breachesOf } from './properties.ts';
import { type Place, type Ticked, tick } from './tick.ts';

/** The ticks on the way, in words; ends with what must not have happened, where something did. */
export function traceOf(
  { model, roots }: Ground,
  defects: readonly Defect[],
  root: number,
  moves: readonly number[],
): readonly string[] {
  const troubles = troublesOf(model, defects);
  let place = roots[root] as Place;
  let held = 0;
  const lines = [line(0, [contents(model, place)])];
  moves.forEach((written, at) => {
    const move = read(written);
    const after = tick(model, place, troubles.choiceOf(move));
    const began = defects.filter((_, bit) => ((move.active & ~held) | move.once) & (1 << bit));
    const mended = defects.filter((_, bit) => held & ~move.active & (1 << bit));
    const words = [
      ...began.map((defect) => `FAULT ${nameOf(defect)}${defect.once ? '' : ' begins'}`),
      ...mended.map((defect) => `${nameOf(defect)} is mended`),
      ...happened(model, place, after),
      ...breachesOf(model, place, after).map((breach) => `=> ${breach.words}`),
    ];
    if (words.length > 0) lines.push(line(at + 1, words));
    held = move.active;
    place = after;
  });
  return lines;
}

const line = (at: number, words: readonly string[]): string =>
  `${String(at).padStart(5)}  ${words.join('; ')}`;

function contents({ vessels, mixing }: Model, { water }: Place): string {
  return vessels
    .map(({ id }, at) => {
      const salt =
        at === mixing
          ? ` (${water.salt} salted${water.loose > 0 ? `, ${water.loose} undissolved` : ''})`
          : '';
      return `${id} ${water.level[at] ?? 0}${salt}`;
    })
    .join(', ');
}

function happened(model: Model, before: Place, after: Ticked): string[] {
  const asked = after.requests.map((request) =>
    'unit' in request ? `${request.ask} ${request.unit}` : request.ask,
  );
  const moved = contents(model, before) === contents(model, after) ? [] : [contents(model, after)];
  const warmed = before.water.mixC === after.water.mixC ? [] : [`mixing vat at ${after.water.mixC} degC`];
  return [
    ...(asked.length > 0 ? [`person: ${asked.join(', ')}`] : []),
    ...moved,
    ...warmed,
    ...(after.water.floor && !before.water.floor ? ['water on the floor'] : []),
    ...units(before.state, after.state),
    ...trips(before.state, after.state),
    ...commands(before.state, after.effects),
  ];
}

function units(before: State, after: State): string[] {
  const words = ({ refill, batch, exchange }: State) => [
    `refill ${refill.procedure}`,
    `batch ${batch.procedure} ${batch.stage}`,
    ...Object.entries(exchange).map(([id, work]) => `exchange of ${id} ${work.procedure} ${work.step}`),
  ];
  const past = words(before);
  return words(after).filter((now, at) => now !== past[at]);
}

function trips(before: State, after: State): string[] {
  const latched = Object.keys(after.trips).filter((key) => before.trips[key] === undefined);
  const reset = Object.keys(before.trips).filter((key) => after.trips[key] === undefined);
  return [...latched.map((key) => `TRIP ${key}`), ...reset.map((key) => `${key} reset`)];
}

/** Changes only: renewals and repeats say nothing new. */
function commands(before: State, effects: readonly Effect[]): string[] {
  const changed = effects.flatMap((effect) => {
    if (effect.do !== 'command' || before.devices[effect.actuator]?.on === effect.on) return [];
    return [`${effect.actuator} ${effect.on ? 'on' : 'off'}`];
  });
  return changed.length > 0 ? [`commands: ${changed.join(', ')}`] : [];
}
