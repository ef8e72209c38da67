// One night: a station as its seed has it, faults while it runs, judges that watch; then the faults stop, a person comes,
// and what was begun must come to its end: a ready batch and a delivery.

import type { Effect } from '../../control/guard/types.ts';
import { englishOf } from '../../language/english.ts';
import { chance, keyOf } from '../../simulate/chance.ts';
import type { Plant } from '../../station/plant.ts';
import { CHECKS } from '../checks/all.ts';
import { type Causes, causesOf } from '../checks/causes.ts';
import type { Check, Finding, Seen, Sent } from '../checks/check.ts';
import { type Coupled, couple } from '../coupled.ts';
import { type Events, eventsOf } from './events.ts';
import { type Hostile, hostileProcess } from './hostile.ts';
import { menderOf } from './mender.ts';
import { isFault, type Trouble } from './misfortunes.ts';
import { type Pace, paceOf, REST_MS } from './pace.ts';

/** Ten hours: a whole batch from transfer to delivery on a station that begins with water. */
export const NIGHT_MS = 10 * 3_600_000;

export interface NightResult {
  readonly seed: number;
  readonly troubles: readonly Trouble[];
  readonly findings: readonly Judged[];
  /** Station time from the end of the faults to a delivery; null: not reached, or not tried. */
  readonly cycleMs: number | null;
  readonly stationMs: number;
  readonly steps: number;
  readonly deliveredL: number;
  /** Kinds of rows that forbade a hostile process something that it wanted. */
  readonly held: readonly string[];
}

export interface Judged extends Finding {
  /** Which gap in the hardware explains it; null: none, so the software is at fault. */
  readonly gap: string | null;
  readonly fit: string | null;
}

export interface NightOptions {
  /** Also wait for the cycle to complete. Default true. */
  readonly liveness?: boolean;
  /** Ends at the first finding of these judges, by `check/about`. */
  readonly until?: ReadonlySet<string>;
  /** How long the faults last. Default `NIGHT_MS`. */
  readonly lastsMs?: number;
  /** The guard alone, below a process that wants at random: see `hostile.ts`. Then only harm is judged. */
  readonly hostile?: boolean;
  /** Sees the plant before anything runs on it. */
  readonly prepare?: (plant: Plant) => void;
  /** Looks on after every step; it decides nothing. */
  readonly onStep?: (coupled: Coupled) => void;
}

export function runNight(
  real: Plant,
  seed: number,
  troubles: readonly Trouble[],
  { hostile = false, liveness = !hostile, until, lastsMs = NIGHT_MS, prepare, onStep }: NightOptions = {},
): NightResult {
  const plant = stationOf(real, seed);
  prepare?.(plant);
  const misbehaves = hostile ? hostileProcess(plant, seed) : null;
  const watch = watchOf(plant, seed, untilMorning(troubles, lastsMs), misbehaves, onStep);
  const { coupled } = watch;
  let thrown: string | null = null;
  let cycleMs: number | null = null;
  try {
    watch.pass(
      lastsMs,
      () => until !== undefined && watch.found().some((finding) => until.has(keyOfFinding(finding))),
    );
    if (liveness && until === undefined) cycleMs = completes(watch);
  } catch (error) {
    thrown = `${(error as Error).name}: ${(error as Error).message}`;
  }
  const findings = [
    ...watch.found().filter(({ harm }) => harm !== null || misbehaves === null),
    ...(thrown === null ? [] : [{ check: 'core', harm: null, about: 'step', words: thrown }]),
    ...(liveness && until === undefined && thrown === null && cycleMs === null ? [lost(coupled)] : []),
  ];
  return {
    seed,
    troubles,
    findings: findings.map((finding) => judged(watch, finding)),
    held: [...(misbehaves?.held ?? [])],
    cycleMs,
    stationMs: coupled.nowMs(),
    steps: watch.steps(),
    deliveredL: coupled.twin.world.ledger.deliveredL,
  };
}

/** What has no end of its own ends with the night: in the morning somebody mends it. */
const untilMorning = (troubles: readonly Trouble[], lastsMs: number): readonly Trouble[] =>
  troubles
    .filter(({ fromMs }) => fromMs < lastsMs)
    .map((trouble) => ({ ...trouble, toMs: Math.min(trouble.toMs, lastsMs) }));

export const keyOfFinding = ({ check, about }: Finding): string => `${check}/${about}`;

function lost({ plant, state }: Coupled): Finding {
  const { batch, trips, alarms } = state();
  const told = Object.entries(alarms).flatMap(([alarm, { active }]) => (active ? [alarm] : []));
  const words = `no delivery came about after the faults were mended: batch ${batch.procedure}, ${batch.stage} (${englishOf(plant)(batch.words)}); tripped: ${listed(Object.keys(trips))}; told: ${listed(told)}`;
  return { check: 'cycle', harm: null, about: 'the cycle', words };
}

const listed = (names: readonly string[]): string => (names.length > 0 ? names.join(', ') : 'nothing');

function judged({ causes }: Watch, finding: Finding): Judged {
  const { harm, about, allowed = 0 } = finding;
  const gap = harm === null ? undefined : causes.gapOf(harm, about, allowed);
  return { ...finding, gap: gap?.id ?? null, fit: gap?.fit ?? null };
}

/** Where the water stands when the night begins is drawn, so that nights begin in every part of the cycle. */
function stationOf(real: Plant, seed: number): Plant {
  const luck = (name: string) => chance(seed, keyOf(name));
  const vessels = Object.entries(real.vessels).map(([id, vessel]) => {
    const { initial, minimumL, role } = vessel;
    const { contentsL: batchL } = real.process.batch;
    const fullL = role === 'fresh' ? (real.process.refill?.stopAtL ?? initial.contentsL) : batchL;
    const usual = luck(`usual ${id}`) < 0.5 || (role !== 'fresh' && role !== 'mixing');
    const left = role === 'mixing' && luck('leftover') < 0.4;
    const salinity = left ? real.process.salinity.target : initial.salinity;
    const temperatureC =
      role === 'mixing' && luck('warm') < 0.5
        ? (real.process.temperature?.targetC ?? initial.temperatureC)
        : initial.temperatureC;
    const contentsL = usual ? initial.contentsL : minimumL + luck(`contents ${id}`) * (fullL - minimumL);
    return [id, { ...vessel, initial: { contentsL, salinity, temperatureC } }];
  });
  return { ...real, vessels: Object.fromEntries(vessels) };
}

interface Watch {
  readonly coupled: Coupled;
  readonly causes: Causes;
  readonly pass: (forMs: number, isOver: () => boolean) => boolean;
  readonly found: () => readonly Finding[];
  readonly steps: () => number;
}

function watchOf(
  plant: Plant,
  seed: number,
  troubles: readonly Trouble[],
  hostile: Hostile | null,
  onStep?: NightOptions['onStep'],
): Watch {
  const checks: readonly Check[] = CHECKS.map((make) => make());
  const sent: Sent[] = [];
  const alarms: { readonly alarm: string; readonly words: string }[] = [];
  const say = englishOf(plant);
  const isOn = new Map<string, boolean>();
  let steps = 0;
  let lastMs = 0;
  const luck = luckOf(seed);
  // The coupling asks for its pace and its events only once it steps.
  const late: { pace?: Pace; events?: Events } = {};
  const coupled = couple(plant, {
    seed,
    ...(hostile === null ? {} : { through: hostile.step }),
    faults: troubles.filter(isFault),
    // A step at rest is one piece of physics: what is straight or exponential is integrated exactly.
    twin: { startMinute: Math.floor(1440 * chance(seed, keyOf('start'))), gridMs: REST_MS },
    stepMs: () => late.pace?.stepMs() ?? 1000,
    hears: (inputs) => late.events?.hears(inputs, luck) ?? inputs,
    arrives: (effect: Effect) => late.events?.arrives(effect, luck) ?? true,
    onEffect: ({ effect }) => {
      if (effect.do === 'alarm' && effect.state === 'unacknowledged')
        alarms.push({ alarm: effect.alarm, words: say(effect.words) });
      if (effect.do !== 'command') return;
      sent.push({ actuator: effect.actuator, on: effect.on, leaseMs: effect.leaseMs });
    },
  });
  late.pace = paceOf(plant, () => coupled.twin);
  late.events = eventsOf(coupled, troubles);
  const { events, pace } = late;
  const causes = causesOf(plant, coupled.twin);
  const see = (): void => {
    steps += 1;
    const nowMs = coupled.nowMs();
    for (const { actuator, on } of sent) {
      if (isOn.get(actuator) !== on) pace.commanded();
      isOn.set(actuator, on);
    }
    const seen: Seen = {
      plant,
      twin: coupled.twin,
      troubles,
      nowMs,
      elapsedMs: nowMs - lastMs,
      sent: sent.splice(0),
      foreign: events.foreign(),
      alarms: alarms.splice(0),
      causes,
    };
    lastMs = nowMs;
    causes.step(seen);
    for (const check of checks) check.see(seen);
    onStep?.(coupled);
  };
  return {
    coupled,
    causes,
    pass: (forMs, isOver) => {
      const endMs = coupled.nowMs() + forMs;
      while (coupled.nowMs() < endMs) {
        const nextMs = Math.min(endMs, events.nextMs());
        const over = coupled.run(nextMs - coupled.nowMs(), () => {
          see();
          hostile?.look(coupled, troubles);
          return isOver();
        });
        if (over) return true;
        events.happen();
        // A service that stood still, or was away, has let time pass: that is a step of its own.
        if (coupled.nowMs() > lastMs) see();
      }
      return false;
    },
    found: () => checks.flatMap((check) => check.findings()),
    steps: () => steps,
  };
}

/** A stream of lots that only this night draws from. */
function luckOf(seed: number): () => number {
  const key = keyOf('messages');
  let occasion = 0;
  return () => chance(seed, key, occasion++);
}

/** After the faults: a person who is asked, until every system had a delivery. @returns how long it took; null: too long */
function completes({ coupled, pass }: Watch): number | null {
  const startMs = coupled.nowMs();
  const mender = menderOf(coupled);
  const done = deliveriesOf(coupled);
  const reached = pass(patienceMs(coupled.plant), () => {
    mender.look();
    return deliveriesOf(coupled).every((deliveries, at) => deliveries > (done[at] ?? 0));
  });
  return reached ? coupled.nowMs() - startMs : null;
}

/** Of each system that is exchanged, by whichever way. */
const deliveriesOf = ({ plant, twin }: Coupled): readonly number[] =>
  Object.keys(plant.process.exchange).map((system) =>
    twin.works.lines
      .filter(({ route, toSystem }) => toSystem && route.to === system)
      .reduce((sum, { route }) => sum + (twin.world.ledger.runs[route.id]?.completed ?? 0), 0),
  );

/** Two batches from empty vats: the vats filled at the least flow, dissolved and heated, and two nights of quiet hours. */
function patienceMs(plant: Plant): number {
  const { batch } = plant.process;
  const flows = Object.values(plant.routes).filter(
    (route) => plant.vessels[route.from]?.role === 'purified-water',
  );
  const leastLpm = Math.min(...flows.map(({ flowLeastLpm }) => flowLeastLpm));
  const fillMs = Number.isFinite(leastLpm) ? (batch.contentsL / leastLpm) * 60_000 : 0;
  const batchMs = fillMs + (1 + batch.trims) * (batch.dissolveMs + batch.settleMs) + HEATING_MS;
  return 2 * batchMs + QUIET_MS;
}
const HEATING_MS = 8 * 3_600_000;
const QUIET_MS = 24 * 3_600_000;
