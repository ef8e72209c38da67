// The person of the coarse world, who helps where the station asks for it and nowhere else: does what a task or an alarm
// asks, looks at what tripped, sets going what waits for a person. Whether they come at all in a given tick is the
// explorer's choice; that an alarm waits for some minutes before it is told is left out, they may as well come later.
import type { Request } from '../../control/guard/types.ts';
import type { State } from '../../control/process/state.ts';
import { aboutOf, type Hand, handsFor, systemAt } from '../hands.ts';
import { looked } from '../looked.ts';
import type { Broken } from './broken.ts';
import { FULL, MARKS } from './coarse-plant.ts';
import type { Model } from './model.ts';
import { salinityIn } from './spoken.ts';
import type { Water } from './water.ts';

const TOO_LOW = Math.floor(MARKS.low);
const LEFTOVER = 1;
/** Salt beyond three doses is no other accident than three doses. */
const MOST_LOOSE = 3 * FULL;
/** Beyond what practical salinity reaches, and thinned by whoever measures it. */
const FAR_TOO_SALT = 110;

/** `helps`: mends and restarts; `gives up`: pours the batch away as well, and begins anew. */
export type Help = 'helps' | 'gives up';

/** What a person who comes now could do, if there is anything to do at all. */
export function helpsFor({ batch }: State): readonly Help[] {
  const stuck = batch.procedure === 'held' && batch.cause === 'process';
  return stuck ? ['helps', 'gives up'] : ['helps'];
}

/** Does by hand what there is to do, and returns what is asked of the service. Empty and no change: nothing to do. */
export function help(model: Model, state: State, water: Water, broken: Broken, kind: Help): Request[] {
  if (broken.nobody) return [];
  const tripped = Object.keys(state.trips).length > 0;
  const spoilt = kind === 'gives up' || isSpoilt(model, state, water);
  const resets = tripped && !isStillBroken(model, broken);
  const told = toldBy(model, state);
  levels(model, water, told);
  const isAsked = (hand: Hand): boolean => told.some((key) => handsFor(model.plant, key).includes(hand));
  if (isAsked('mop')) water.floor = false;
  if (isAsked('cool')) water.mixC = Math.min(water.mixC, model.warm);
  if (spoilt) Object.assign(water, { salt: 0, loose: 0 });
  if (spoilt) water.level[model.mixing] = Math.min(LEFTOVER, water.level[model.mixing] ?? 0);
  return [
    ...(resets ? looked(state, 'the helper', 'levelled, mopped and mended') : []),
    ...(spoilt ? [{ ask: 'abort', unit: 'batch' } as const] : []),
    ...steering(model, state, isAsked('begin-ledger'), spoilt),
    // Whoever can not report that the salt is in does not pour it.
    ...(broken.link === 'up' ? errand(model, state, water, broken) : []),
  ];
}

/**
 * Nobody who looks resets a trip beside a hose that hangs loose, or with a thermometer that a second one contradicts: the
 * words of the trip ask for just that look.
 */
function isStillBroken({ sensors }: Model, broken: Broken): boolean {
  const thermometerLies = sensors.some((sensor, at) => {
    const lies = broken.speech[at] === 'lies';
    return lies && sensor.measures === 'temperature';
  });
  return thermometerLies || broken.hose.includes(true) || broken.leaks.includes(true);
}

/** The rows that are active or latched, and that ask something of somebody's hands. */
const toldBy = ({ plant }: Model, { trips, verdicts }: State): readonly string[] =>
  [...new Set([...Object.keys(trips), ...Object.values(verdicts).flat()])].filter(
    (key) => handsFor(plant, key).length > 0,
  );

/** Levels are put right where the words of an alarm ask for it: an overflow float, a system too full or too low, a ledger. */
function levels({ plant, vessels, mixing }: Model, water: Water, told: readonly string[]): void {
  const put = (vesselId: string | undefined, isAmiss: (held: number) => boolean): void => {
    const at = vessels.findIndex(({ id }) => id === vesselId);
    const held = water.level[at] ?? FULL;
    if (at < 0 || !isAmiss(held)) return;
    if (at === mixing) water.salt = Math.round((water.salt * FULL) / held);
    water.level[at] = FULL;
  };
  for (const key of told) {
    const about = aboutOf(plant, key);
    const system = systemAt(plant, about);
    for (const hand of handsFor(plant, key)) {
      if (hand === 'lower-below-overflow') put(about, (held) => held > FULL);
      if (hand === 'lower') put(system, (held) => held > FULL);
      if (hand === 'bring') put(system, (held) => held < FULL);
      if (hand === 'level') put(system, (held) => held !== FULL);
    }
  }
}

/** A batch that lost so much water that it can't even be stirred makes no headway: it is overdue, and given up. */
function isSpoilt(model: Model, { batch }: State, water: Water): boolean {
  const begun = batch.stage !== 'idle' && batch.stage !== 'transfer';
  const underWay = begun && (batch.procedure === 'running' || batch.procedure === 'held');
  return underWay && (water.level[model.mixing] ?? 0) <= TOO_LOW;
}

function steering({ plant }: Model, state: State, drifted: boolean, spoilt: boolean): Request[] {
  const { starts } = plant.policy;
  const units = [
    ['refill', state.refill, starts.refill],
    ...(spoilt ? [] : [['batch', state.batch, starts.batch] as const]),
    ...Object.values(state.exchange).map((work) => ['exchange', work, starts.exchange] as const),
  ] as const;
  const requests = units.flatMap(([unit, { procedure }, starter]): Request[] => {
    if (unit === 'refill' && plant.process.refill === null) return [];
    if (unit === 'exchange' && drifted && procedure !== 'stopped') return [{ ask: 'stop', unit }];
    if (procedure === 'held') return [{ ask: 'restart', unit }];
    if (procedure === 'stopped' || procedure === 'aborted') return [{ ask: 'reset', unit }];
    return procedure === 'idle' && starter === 'person' ? [{ ask: 'start', unit }] : [];
  });
  return requests.filter((one, at) => requests.findIndex((other) => same(one, other)) === at);
}

const same = (one: Request, other: Request): boolean => JSON.stringify(one) === JSON.stringify(other);

/** Salt to weigh, or a salinity to measure. */
function errand(model: Model, state: State, water: Water, broken: Broken): Request[] {
  const task = state.tasks[model.plant.mixingId] ?? null;
  if (task?.task === 'add-salt') {
    const massKg = task.massKg ?? 0;
    const doses = broken.salt === 'never' ? 0 : broken.salt === 'twice' ? 2 : 1;
    water.loose = Math.min(MOST_LOOSE, water.loose + doses * Math.round(massKg / model.kgPerUnit));
    return [{ ask: 'salt-added', massKg }];
  }
  if (task?.task === 'measure-salinity') return [measured(model, state, water, broken)];
  return [];
}

/** With the instrument at hand; where its word is doubted, with another one, of which nothing is known to be wrong. */
function measured(model: Model, { batch }: State, water: Water, broken: Broken): Request {
  const truth = Math.min(FAR_TOO_SALT, salinityIn(model, water));
  const shown: Readonly<Record<string, number>> = { target: model.target, 'too-salt': FAR_TOO_SALT };
  const isSecond = batch.doubtedBy === AT_HAND;
  const salinity = isSecond ? truth : (shown[broken.measures] ?? truth);
  const instrument = isSecond ? 'another one' : AT_HAND;
  return { ask: 'salinity-measured', vessel: model.plant.mixingId, salinity, instrument };
}
const AT_HAND = 'the one at hand';
