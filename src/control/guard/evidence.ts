// 1. Evidence: what each sensor and each device's feedback says, how old that is, and whether it is believable.
//
// House rules: a reading becomes fresh only by a live message since the link came up; silence, nonsense and chatter are
// never "off", "dry" or "the last value". What would end a run is believed at once (after `believe.stop`, usually
// nothing); what would permit one must stand for `believe.start`. No other file looks into SensorState: they ask
// `contact` and `reading`, whose answers can't be used without deciding what stale and faulty mean.
import { OutOfRange } from '../../engineering/range.ts';
import { practicalSalinity } from '../../engineering/seawater.ts';
import { isContact } from '../../station/kinds.ts';
import type { Actuator, ConductivitySensor, Plant, Sensor } from '../../station/plant.ts';
import { invariant, known } from './invariant.ts';
import {
  AGE_CAP_MS,
  CHATTER_CLEAR,
  CHATTER_LEAK_MS,
  CHATTER_LIMIT,
  CLOCK_MS,
  FOREIGN_MS,
  LATE_MS,
} from './limits.ts';
import { mayBeQuiet } from './quiet.ts';
import type { DeviceState, GuardState, SalinityState, SensorState } from './state.ts';
import type { Input } from './types.ts';
import { watched } from './watched.ts';

export type Evidence<T> =
  | { readonly kind: 'fresh'; readonly value: T }
  | { readonly kind: 'stale'; readonly last: T | null; readonly ageMs: number }
  | { readonly kind: 'faulty'; readonly reason: string };

/** What a float, leak or top-off contact is believed to say; true = wet or running. */
export function contact(plant: Plant, state: GuardState, id: string): Evidence<boolean> {
  const judged = judge(plant, state, id);
  if (judged.kind !== 'fresh') return judged as Evidence<boolean>;
  const { believed } = known(state.sensors, id);
  return believed === null
    ? { kind: 'stale', last: null, ageMs: known(state.sensors, id).ageMs }
    : { kind: 'fresh', value: believed };
}

function judge(plant: Plant, state: GuardState, id: string): Evidence<number | boolean> {
  const sensor = known(state.sensors, id);
  if (sensor.fault !== null) return { kind: 'faulty', reason: sensor.fault };
  if (sensor.value === null || !isSound(sensor, known(plant.sensors, id).maxAgeMs))
    return { kind: 'stale', last: sensor.value, ageMs: sensor.ageMs };
  return { kind: 'fresh', value: sensor.value };
}

/** Without a fault, spoken live, and not too long ago. */
const isSound = (sensor: SensorState, maxAgeMs: number): boolean =>
  sensor.fault === null && sensor.live && sensor.ageMs <= maxAgeMs;

// What follows is asked hundreds of times in a step: answered out of the state, without an Evidence for each question.

/** What it says, contact or number, without waiting for a contact to stand; null where that is stale or faulty. */
function freshValue(plant: Plant, state: GuardState, id: string): number | boolean | null {
  const sensor = known(state.sensors, id);
  return isSound(sensor, known(plant.sensors, id).maxAgeMs) ? sensor.value : null;
}

/** A contact's raw word, without waiting for it to stand: where the water is, not what may be permitted. */
export const rawContact = (plant: Plant, state: GuardState, id: string): boolean | null =>
  freshValue(plant, state, id) as boolean | null;

/** The number if it is fresh, else null. */
export const fresh = (plant: Plant, state: GuardState, id: string | null): number | null =>
  id === null ? null : (freshValue(plant, state, id) as number | null);

/** True where a contact freshly says so; anything else is false. */
export const says = (plant: Plant, state: GuardState, id: string | undefined, value: boolean): boolean =>
  saying(plant, id, value)(state);

/** The same question about one contact, to be asked of many states. */
export function saying(plant: Plant, id: string | undefined, value: boolean): (state: GuardState) => boolean {
  if (id === undefined) return () => false;
  const { maxAgeMs } = known(plant.sensors, id);
  return (state) => {
    const sensor = known(state.sensors, id);
    return sensor.believed === value && sensor.value !== null && isSound(sensor, maxAgeMs);
  };
}

/** Is this sensor good enough to act on? */
export const isFresh = (plant: Plant, state: GuardState, id: string): boolean => !blind(plant, id)(state);

/** The contrary, of one sensor, to be asked of many states. */
export function blind(plant: Plant, id: string): (state: GuardState) => boolean {
  const sensor = known(plant.sensors, id);
  const { maxAgeMs } = sensor;
  const mustStand = isContact(sensor);
  return (state) => {
    const seen = known(state.sensors, id);
    return seen.value === null || !isSound(seen, maxAgeMs) || (mustStand && seen.believed === null);
  };
}

/** There is no fresh feedback of this device, and there should be; to be asked of many states. */
export const deafTo =
  (actuator: Actuator): ((state: GuardState) => boolean) =>
  ({ devices }) => {
    const device = known(devices, actuator.id);
    return freshFeedback(actuator, device) === null && !mayBeQuiet(actuator, device);
  };

/** Fresh feedback of a device: on, off, or null for nothing to go by. */
export const feedbackOf = (plant: Plant, state: GuardState, id: string): boolean | null =>
  freshFeedback(known(plant.actuators, id), known(state.devices, id));

export function freshFeedback({ feedback }: Actuator, device: DeviceState): boolean | null {
  if (feedback === null || device.feedbackFault !== null || !device.feedbackLive) return null;
  return device.feedbackAgeMs > feedback.maxAgeMs ? null : device.feedback;
}

/**
 * The last valid salinity of a vessel, by probe or by a person's measurement; null when none serves any more. What a person
 * measured since the probe last gave a valid reading counts before that.
 */
export function salinityOf(plant: Plant, state: GuardState, vesselId: string): number | null {
  const { probe: read, probeAgeMs, measured, measuredAgeMs } = known(state.salinity, vesselId);
  const probe = probeOf(plant, vesselId);
  const isRead = probe !== null && read !== null && probeAgeMs <= probe.validForMs;
  const isMeasured = measured !== null && measuredAgeMs <= plant.process.batch.measurementServesMs;
  if (isRead && !(isMeasured && measuredAgeMs < probeAgeMs)) return read;
  return isMeasured ? measured : null;
}

export function probeOf(plant: Plant, vesselId: string): ConductivitySensor | null {
  const id = known(plant.vessels, vesselId).conductivity;
  const sensor = id === null ? null : known(plant.sensors, id);
  return sensor?.measures === 'conductivity' ? sensor : null;
}

/** The word that would end a run: a high float wet, a low float dry, a wet tray, a top-off at work. */
export const stopWord = (sensor: Sensor): boolean =>
  !(sensor.measures === 'float' && sensor.position === 'low');

const older = (ageMs: number, elapsedMs: number) => Math.min(ageMs + elapsedMs, AGE_CAP_MS);

/** Time passes for every input. */
export function age(plant: Plant, draft: GuardState, elapsedMs: number): void {
  invariant(elapsedMs >= 0 && Number.isFinite(elapsedMs), 'time goes forward', { elapsedMs });
  const { sensors, devices } = draft;
  const watchedMs = watched(plant, elapsedMs);
  for (const id in sensors) {
    const sensor = known(sensors, id);
    sensor.ageMs = older(sensor.ageMs, elapsedMs);
    sensor.standsMs = older(sensor.standsMs, watchedMs);
    if (sensor.chatter > 0) {
      sensor.chatter = Math.max(0, sensor.chatter - elapsedMs / CHATTER_LEAK_MS);
      if (isRestless(sensor) && sensor.chatter < CHATTER_CLEAR) sensor.fault = null;
    }
    if (sensor.value !== null && sensor.believed !== sensor.value) believe(known(plant.sensors, id), sensor);
  }
  for (const id in devices) {
    const device = known(devices, id);
    device.feedbackAgeMs = older(device.feedbackAgeMs, elapsedMs);
    device.foreignMs = Math.max(0, device.foreignMs - elapsedMs);
  }
  for (const id in draft.salinity) {
    const water = known(draft.salinity, id);
    water.probeAgeMs = older(water.probeAgeMs, elapsedMs);
    water.measuredAgeMs = older(water.measuredAgeMs, elapsedMs);
  }
  const { link, clock } = draft;
  link.echoAgeMs = older(link.echoAgeMs, elapsedMs);
  link.tickAgeMs = older(link.tickAgeMs, elapsedMs);
  if (link.up) link.upMs = older(link.upMs, elapsedMs);
  link.lateMs = link.tickAgeMs > plant.link.tickWithinMs ? LATE_MS : Math.max(0, link.lateMs - elapsedMs);
  clock.ageMs = older(clock.ageMs, elapsedMs);
  clock.trusted = clock.trusted && clock.ageMs <= CLOCK_MS;
}

/** A contact that has stood long enough is believed. */
function believe(sensor: Sensor, seen: SensorState): void {
  if (!isContact(sensor) || seen.value === null || seen.believed === seen.value) return;
  const needsMs = seen.value === stopWord(sensor) ? sensor.believeStopMs : sensor.believeStartMs;
  if (seen.standsMs >= needsMs) seen.believed = seen.value as boolean;
}

/** One input enters the picture. Requests are the phases' business, not evidence. */
export function take(plant: Plant, draft: GuardState, input: Input): void {
  switch (input.type) {
    case 'reading':
      takeReading(known(plant.sensors, input.sensor), known(draft.sensors, input.sensor), input);
      return;
    case 'bad-reading': {
      const sensor = known(draft.sensors, input.sensor);
      if (sensor.fault !== 'out-of-service') sensor.fault = input.reason;
      return;
    }
    case 'feedback':
      takeFeedback(known(draft.devices, input.actuator), input);
      return;
    case 'bad-feedback':
      known(draft.devices, input.actuator).feedbackFault = input.reason;
      return;
    case 'foreign-command': {
      const device = known(draft.devices, input.actuator);
      device.foreignMs = FOREIGN_MS;
      device.foreignOn = input.on !== false;
      device.offsSent = 0;
      device.provenOff = false;
      return;
    }
    case 'empty-command': {
      const device = known(draft.devices, input.actuator);
      // Some devices toggle on it (F05). Feedback tells; without any, `off` is said again, and proven anew.
      const isSeen = known(plant.actuators, input.actuator).feedback !== null;
      if (!isSeen && !device.on) Object.assign(device, { offsSent: 0, provenOff: false });
      return;
    }
    case 'link':
      if (input.up) linkUp(draft);
      else linkDown(draft);
      return;
    case 'echo':
      draft.link.echoAgeMs = 0;
      return;
    case 'clock':
      draft.clock = { minuteOfDay: input.minuteOfDay, day: input.day, trusted: input.trusted, ageMs: 0 };
      return;
    case 'journal':
      draft.link.journalWritable = input.writable;
      return;
    case 'sinks':
    case 'request':
      return;
  }
}

/** A contact that flutters, a total that jumps: no single reading ends that, only quiet does. */
const isRestless = ({ fault }: SensorState): boolean => fault === 'chatter' || fault === 'jumped';

function takeReading(
  sensor: Sensor,
  seen: SensorState,
  input: Extract<Input, { readonly type: 'reading' }>,
): void {
  if (seen.fault === 'out-of-service') return;
  // A retained value is history: shown where nothing better is known, never fresher than what came live.
  if (!input.live) {
    if (!seen.live) seen.value = input.value;
    return;
  }
  if (seen.value !== input.value) {
    if (isContact(sensor) && seen.live) seen.chatter += 1;
    seen.standsMs = 0;
  }
  seen.value = input.value;
  seen.live = true;
  // Never younger than its own stamp says, where it has one.
  seen.ageMs = input.ageMs ?? 0;
  if (!isRestless(seen)) seen.fault = null;
  if (seen.chatter > CHATTER_LIMIT) seen.fault = 'chatter';
  believe(sensor, seen);
}

function takeFeedback(device: DeviceState, input: Extract<Input, { readonly type: 'feedback' }>): void {
  if (!input.live) return;
  device.feedback = input.on;
  device.feedbackLive = true;
  device.feedbackAgeMs = input.ageMs ?? 0;
  device.feedbackFault = null;
}

function linkUp(draft: GuardState): void {
  Object.assign(draft.link, { up: true, upMs: 0 });
  // First output after any connect is `off` to everything, proven anew.
  for (const id in draft.devices) Object.assign(known(draft.devices, id), { provenOff: false, offsSent: 0 });
}

function linkDown(draft: GuardState): void {
  Object.assign(draft.link, { up: false, upMs: 0, echoAgeMs: AGE_CAP_MS });
  for (const id in draft.sensors) {
    const sensor = known(draft.sensors, id);
    Object.assign(sensor, { live: false, believed: null });
  }
  for (const id in draft.devices)
    Object.assign(known(draft.devices, id), { feedbackLive: false, provenOff: false });
}

/**
 * The probe's salinity, while its reading is valid; and for how long it has been steady. A probe in still water reads
 * wrong, so `validAfter` holds it back until its route has run.
 */
export function measureSalinity(plant: Plant, draft: GuardState, elapsedMs: number): void {
  for (const vesselId in draft.salinity) {
    const probe = probeOf(plant, vesselId);
    if (probe === null) continue;
    const water = known(draft.salinity, vesselId);
    const salinity = validProbe(plant, draft, probe);
    water.beyondMs = salinity === 'beyond' ? older(water.beyondMs, elapsedMs) : 0;
    if (salinity === null || salinity === 'beyond') {
      water.anchor = null;
      water.steadyMs = 0;
      continue;
    }
    water.probe = salinity;
    water.probeAgeMs = 0;
    keepSteady(water, salinity, plant.process.batch.steadyWithin, watched(plant, elapsedMs));
  }
}

function keepSteady(water: SalinityState, salinity: number, within: number, elapsedMs: number): void {
  if (water.anchor !== null && Math.abs(salinity - water.anchor) <= within) {
    water.steadyMs = older(water.steadyMs, elapsedMs);
    return;
  }
  water.anchor = salinity;
  water.steadyMs = 0;
}

/** `beyond` where PSS-78 does not reach (above salinity 42, hotter than 35 degC): the reading is no number then. */
function validProbe(plant: Plant, draft: GuardState, probe: ConductivitySensor): number | 'beyond' | null {
  const { validAfter } = probe;
  if (validAfter !== null) {
    const route = known(draft.routes, validAfter.route);
    if (route.running !== 'yes' || route.runMs < validAfter.runsForMs) return null;
  }
  const conductivity = fresh(plant, draft, probe.id);
  const temperature = probe.compensatedToC ?? fresh(plant, draft, probe.temperatureFrom);
  if (conductivity === null || temperature === null) return null;
  try {
    return practicalSalinity(conductivity, temperature);
  } catch (error) {
    if (error instanceof OutOfRange) return 'beyond';
    throw error;
  }
}
