// How much can happen before anybody can know and anything can act: litres, seconds, kelvin. Each row adds to the bound when
// something of a night makes it so; a night in which nothing of the kind is wrong has the bare bound. Beyond it is harm.
import type { Plant, Route } from '../../station/plant.ts';
import { REPEATS_MS, type Trouble } from '../trial/misfortunes.ts';

interface Delay {
  readonly why: string;
  /** Kinds of trouble that bring this delay. */
  readonly with: readonly string[];
  readonly ms: (plant: Plant, route: Route | undefined) => number;
}

/** A step of the campaign while water moves, and the one in which the command works. */
export const REACTION_MS = 2_000;
/** The longest step of the campaign at rest; slow water (an inlet, a loop) is looked at so often. */
export const SLOW_REACTION_MS = 20_000;

const leaseOf = (plant: Plant, route: Route | undefined): number =>
  Math.max(
    0,
    ...[...(route?.through ?? []), ...(route?.upstream ?? [])].map((id) => plant.actuators[id]?.leaseMs ?? 0),
  );
const oldest = (plant: Plant): number =>
  Math.max(
    ...Object.values(plant.sensors).map(({ maxAgeMs }) => maxAgeMs),
    ...Object.values(plant.actuators).map(({ feedback }) => feedback?.maxAgeMs ?? 0),
  );
const rarest = (plant: Plant): number =>
  Math.max(...Object.values(plant.sensors).map(({ republishesMs, maxAgeMs }) => republishesMs ?? maxAgeMs));
const feedbackOf = (plant: Plant): number =>
  Math.max(0, ...Object.values(plant.actuators).map(({ feedback }) => feedback?.withinMs ?? 0));

export const DELAYS: readonly Delay[] = [
  {
    why: 'until a lease ends that nobody can shorten',
    with: [
      'link-lost',
      'link-mute',
      'commands-lost',
      'service-away',
      'memory-lost',
      'file-changed',
      'service-stalls',
      'deaf',
      'journal-full',
    ],
    ms: leaseOf,
  },
  {
    why: 'until a sensor that says nothing is too old to be believed',
    with: ['silent', 'offline', 'power-cut', 'feedback-silent', 'link-mute', 'messages-lost', 'sends'],
    ms: oldest,
  },
  {
    why: 'until a message that was lost is sent again, twice in a row',
    with: ['messages-lost'],
    ms: (plant) => 2 * rarest(plant),
  },
  {
    why: 'until a device that contradicts its command is no longer forgiven',
    with: [
      'stuck-on',
      'stuck-off',
      'restarts-on',
      'foreign-on',
      'ignores-lease',
      'deaf',
      'feedback-says',
      'commands-lost',
    ],
    ms: (plant) => feedbackOf(plant) + REACTION_MS,
  },
];

/** The sum of the delays that this night's troubles bring. */
export function delayMs(plant: Plant, troubles: readonly Trouble[], route?: Route): number {
  return DELAYS.filter(({ with: kinds }) => troubles.some(({ kind }) => kinds.includes(kind))).reduce(
    (sum, { ms }) => sum + ms(plant, route),
    0,
  );
}

/** A tray shows wet from some decilitres on; less than that is nobody's business. */
const TRAY_L = 0.3;

/** Litres that leave by a hose that has come off before its route is closed. */
export function hoseL(plant: Plant, troubles: readonly Trouble[], route: Route): number {
  const reactionMs = isSlow(plant, route) ? SLOW_REACTION_MS : REACTION_MS;
  return TRAY_L + litres(route, reactionMs + route.runDownMs + delayMs(plant, troubles, route));
}

/** Seconds that a pump may run without water: until its meter has said so, where it has one. */
export function dryS(plant: Plant, troubles: readonly Trouble[], pump: string): number {
  if (troubles.length === 0) return 1;
  const routes = Object.values(plant.routes).filter(({ through }) => through.includes(pump));
  const worstMs = Math.max(
    0,
    ...routes.map((route) => meterMs(plant, route) + delayMs(plant, troubles, route)),
  );
  return 1 + (worstMs + 2 * REACTION_MS) / 1000;
}

/**
 * A total that stands still is sent again only after its period; then its flow counts after some seconds more. A counter of whole
 * pulses is told from one that stands still only after two of them are overdue at the least flow.
 */
export function meterMs(plant: Plant, route: Route): number {
  const meter = route.meter === null ? undefined : plant.sensors[route.meter];
  if (meter === undefined) return SLOW_REACTION_MS;
  const pulseL = meter.measures === 'total' && meter.inPulses ? meter.countL : 0;
  const pulsesMs = (2 * 60_000 * pulseL) / route.flowLeastLpm;
  return Math.max(route.primingMs, meter.republishesMs ?? meter.maxAgeMs, pulsesMs) + LOW_FLOW_MS;
}
const LOW_FLOW_MS = 5_000;

/** Seconds that a heater may be on without water or in undissolved salt. */
export function heaterS(plant: Plant, troubles: readonly Trouble[]): number {
  return troubles.length === 0 ? 0 : (SLOW_REACTION_MS + delayMs(plant, troubles)) / 1000;
}

/** Kelvin above the heater's limit: what it still warms the least water that covers it until a frozen thermometer shows. */
export function aboveLimitK(plant: Plant, heaterId: string): number {
  const heater = plant.heaters[heaterId];
  if (heater === undefined) return 0;
  const kelvinPerMs = heater.powerW / (heater.coveredL * J_PER_L_K) / 1000;
  return 1 + kelvinPerMs * WINDOWS * heater.lagMs;
}
/** Litres of seawater take about 4.1 kJ for a kelvin (any table). */
const J_PER_L_K = 4_100;
/** A window that is judged, after one that was disturbed. */
const WINDOWS = 2;

/** Litres outside the tolerance that may be delivered: what is under way when the water changes. */
export function wrongL(plant: Plant, troubles: readonly Trouble[], route: Route): number {
  if (troubles.length === 0) return 0;
  const once = 2 * REACTION_MS + route.runDownMs + delayMs(plant, troubles, route);
  return litres(route, once + switchedAgain(troubles, route) * (2 * REACTION_MS + route.runDownMs));
}

/** How often somebody else switches it on after the first time: each is answered, and none can be kept from coming. */
function switchedAgain(troubles: readonly Trouble[], { through }: Route): number {
  return troubles
    .filter(({ kind, what }) => kind === 'foreign-on' && through.includes(what))
    .reduce((sum, { fromMs, toMs }) => sum + Math.floor((toMs - fromMs) / REPEATS_MS), 0);
}
export const AGAIN = 'each time anew that somebody else switches it on (foreign-on)';

/**
 * By how much salinity may be off the target: its tolerance, as a sound probe can tell it; and where an instrument errs,
 * what can't be told from moist salt and uncertain litres, or from the error of a second instrument.
 */
export function salinityOff({ process }: Plant, troubles: readonly Trouble[]): number {
  const { target, tolerance } = process.salinity;
  const errs = troubles.some(({ kind }) => INSTRUMENT.includes(kind));
  return tolerance + (errs ? Math.max(NOT_TOLD_APART * target, SECOND_INSTRUMENT) : SOUND_PROBE);
}
/** A sound probe errs by 0.1 %, and 0.1 K at the thermometer that it is compensated by are 0.2 %: 0.1 near 35. */
const SOUND_PROBE = 0.1;
const INSTRUMENT = [
  'reads-low',
  'says',
  'frozen',
  'measures-off',
  'types-target',
  'swaps-digits',
  'uncompensated',
  'compensates-to',
  'salt-share',
  'salt-twice',
  'salt-never',
  'sends',
];
const NOT_TOLD_APART = 0.07;
const SECOND_INSTRUMENT = 1;

/**
 * Commands to one actuator in a minute: renewals, a burst of repeated `off`, a few changes, and on and off each time that a
 * link comes and goes, which takes as long as it takes to lose its proof.
 */
export function commandsPerMinute(plant: Plant, actuator: string): number {
  const leaseMs = plant.actuators[actuator]?.leaseMs ?? 60_000;
  const flaps = Math.ceil(60_000 / plant.link.provenWithinMs);
  return Math.ceil((3 * 60_000) / leaseMs) + OFFS + CHANGES + 2 * flaps;
}
const OFFS = 10;
const CHANGES = 2;

/** How long somebody else's command keeps this service's hands off. */
export const HANDS_OFF_MS = 50_000;

export function litres(route: Route, ms: number): number {
  return (route.flowMostLpm * ms) / 60_000;
}

/** Moves so little in ten seconds that the campaign looks at it only so often. */
export function isSlow(plant: Plant, route: Route): boolean {
  const capacities = [route.from, route.to].map(
    (id) => plant.vessels[id]?.capacityL ?? Number.POSITIVE_INFINITY,
  );
  return route.loop || litres(route, 10_000) < SLOW_SHARE * Math.min(...capacities);
}
const SLOW_SHARE = 0.0003;
