// The canonical form of the explorer: exact, and folded without forgetting anything. Random walks go side by side, one from
// the state as the core left it, one from its canonical form; what the core does must be the same for ever.
import { describe, expect, test } from 'vitest';
import { initial } from '../../src/control/process/initial.ts';
import { STAGES } from '../../src/control/process/stages.ts';
import type { State } from '../../src/control/process/state.ts';
import type { Plant } from '../../src/station/plant.ts';
import { abstracted } from '../../src/verify/prove/abstraction.ts';
import { canonical, restartCounters } from '../../src/verify/prove/canonical.ts';
import { defectsOf, nameOf } from '../../src/verify/prove/defects.ts';
import { foldOf } from '../../src/verify/prove/fingerprint.ts';
import { modelOf } from '../../src/verify/prove/model.ts';
import { movesOf, troublesOf } from '../../src/verify/prove/moves.ts';
import { type Place, type Ticked, tick } from '../../src/verify/prove/tick.ts';
import { waterOf } from '../../src/verify/prove/water.ts';
import { plantAt } from '../tools/coupled.ts';

const STATIONS = ['marram-point', 'one-vat', 'unequal-vats'];
const WALKS = 60;
const TICKS = 70;

/** The same whole numbers below `n` in every run: Lehmer's generator with the multiplier of Park and Miller. */
function drawing(): (n: number) => number {
  let last = 20240611;
  return (n) => {
    last = (last * 48_271) % 2_147_483_647;
    return last % n;
  };
}

/** What the core did and will answer for; words and alarms are for people, and how often a lamp is told to be off for nobody. */
const did = (plant: Plant, { effects, state, harms, thrown }: Ticked) => ({
  commands: effects.filter(
    (effect) => effect.do === 'command' && plant.actuators[effect.actuator]?.kind !== 'signal',
  ),
  trips: Object.keys(state.trips).sort(),
  units: [state.refill, state.batch, ...Object.values(state.exchange)].map(({ procedure, cause }) => [
    procedure,
    cause,
  ]),
  stage: state.batch.stage,
  tasks: Object.values(state.tasks).map((task) => task?.task ?? null),
  forbidden: Object.keys(state.verdicts).sort(),
  harms,
  thrown,
});

describe.each(STATIONS)('%s', (station) => {
  test('from a state and from its canonical form the core does the same', () => {
    const model = modelOf(plantAt(`schemas/examples/${station}.json`));
    const all = defectsOf(model);
    const draw = drawing();
    for (let walk = 0; walk < WALKS; walk++) {
      const defect = all[draw(all.length)];
      if (defect === undefined) throw new Error('no fault');
      const troubles = troublesOf(model, [defect]);
      const level = model.vessels.map(() => 1 + draw(4));
      const water = waterOf(model, level, 0);
      let plain: Place = { state: initial(model.plant), water };
      let exact: Place = { state: canonical(model.plant, initial(model.plant)), water };
      const begins = draw(40);
      const ends = begins + draw(30);
      for (let at = 0; at < TICKS; at++) {
        const active = !defect.once && at >= begins && at < ends ? 1 : 0;
        const moves = [...movesOf(model, troubles, plain, active, defect.once && at === begins ? 1 : 0)];
        const move = moves[draw(moves.length)];
        if (move === undefined) throw new Error('no move');
        const choice = troubles.choiceOf(move);
        const one = tick(model, plain, choice, restartCounters);
        const other = tick(model, exact, choice, canonical);
        const where = `walk ${walk}, ${nameOf(defect)}, tick ${at}`;
        expect(did(model.plant, other), where).toEqual(did(model.plant, one));
        plain = one;
        exact = other;
      }
    }
  });
});

/** Every number, flag and word of a state, with a way to change it. */
function* leavesOf(value: unknown, path: readonly string[] = []): Generator<readonly string[]> {
  if (typeof value === 'object' && value !== null) {
    for (const [key, inner] of Object.entries(value)) yield* leavesOf(inner, [...path, key]);
  } else yield path;
}

function changed(value: unknown): unknown {
  if (typeof value === 'number') return value + 60_000.25;
  // What is kept of a batch hangs on its stage: another one that exists.
  if (typeof value === 'string' && value in STAGES) return value === 'heat' ? 'ready' : 'heat';
  if (typeof value === 'boolean') return !value;
  return value === null ? 7 : `${String(value)}!`;
}

function withChange<T>(from: T, path: readonly string[]): T {
  const copy = structuredClone(from);
  let at = copy as Record<string, unknown>;
  for (const key of path.slice(0, -1)) at = at[key] as Record<string, unknown>;
  const last = path.at(-1) ?? '';
  at[last] = changed(at[last]);
  return copy;
}

describe('the fingerprint', () => {
  const model = modelOf(plantAt('schemas/examples/marram-point.json'));
  const water = waterOf(
    model,
    model.vessels.map(() => 4),
    0,
  );

  test('changes with every field of the state that the canonical form does not set to one value', () => {
    const fold = foldOf();
    const printOf = (state: State, of = water): string => {
      const print = { high: 0, low: 0 };
      fold(state, of, 0, print);
      return `${print.high} ${print.low}`;
    };
    const canonicalOf = (state: State): State => canonical(model.plant, structuredClone(state));
    // In the middle of things, so that most fields mean something.
    let place: Place = { state: initial(model.plant), water };
    const troubles = troublesOf(model, []);
    const choice = troubles.choiceOf({ active: 0, once: 0, way: 0, helps: null });
    for (let at = 0; at < 12; at++) place = tick(model, place, choice, restartCounters);
    const base = canonicalOf(place.state);
    let asked = 0;
    for (const path of leavesOf(base)) {
      const other = canonicalOf(withChange(base, path));
      // A task stands under the id of its vessel, which is in the fingerprint.
      if (JSON.stringify(other) === JSON.stringify(base) || path.at(-1) === 'vessel') continue;
      asked += 1;
      expect(printOf(other), path.join('.')).not.toBe(printOf(base));
    }
    expect(asked).toBeGreaterThan(200);
    for (const path of leavesOf(water)) {
      if (path[0] === 'flow') continue;
      expect(printOf(base, withChange(water, path)), path.join('.')).not.toBe(printOf(base));
    }
  });

  test('is the same for the same state, and for every order in which trips were latched', () => {
    const state = abstracted(model.plant, initial(model.plant));
    const fold = foldOf();
    const [one, other] = [
      { high: 0, low: 0 },
      { high: 0, low: 0 },
    ];
    fold(canonical(model.plant, { ...state, trips: { 'I-11/a': 5, 'I-02/b': 9 } }), water, 0, one);
    fold(canonical(model.plant, { ...state, trips: { 'I-02/b': 1, 'I-11/a': 2 } }), water, 0, other);
    expect(one).toEqual(other);
  });
});
