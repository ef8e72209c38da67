// When devices speak: at once when something changes, and again after a while so that silence means something. The twin in
// memory and the one on MQTT share this, so both hear the same things at the same moments.
import type { Feedback, Sensor } from '../station/plant.ts';
import type { Faults } from './faults.ts';
import { isDead, type Relays } from './relays.ts';
import { distorted, type Eye, eyeOf } from './sensors.ts';
import type { Waterworks } from './waterworks.ts';
import type { World } from './world.ts';

export type Report =
  | { readonly of: 'sensor'; readonly sensor: Sensor; readonly value: number | boolean }
  /** A fault's own payload text. */
  | { readonly of: 'raw'; readonly sensor: Sensor; readonly text: string }
  | { readonly of: 'feedback'; readonly actuator: string; readonly feedback: Feedback; readonly on: boolean }
  | {
      readonly of: 'availability';
      readonly device: string;
      readonly kind: 'sensor' | 'actuator';
      readonly online: boolean;
    };

export interface Reports {
  /** What is said now. */
  readonly due: () => readonly Report[];
  /** What a sensor would say if asked now, faults included; undefined where it is silent. */
  readonly present: (sensor: string) => number | boolean | undefined;
  /** Applies what faults begin at this moment: a counter that starts again from 0. */
  readonly setClock: () => void;
}

interface Spoken {
  value: number | boolean | string;
  atMs: number;
}

export function reportsOf(works: Waterworks, world: World, faults: Faults, relays: Relays): Reports {
  const { plant } = works;
  const eyes = Object.values(plant.sensors).map((sensor) => eyeOf(works, world, faults, sensor));
  const spoken = new Map<string, Spoken>();
  const frozen = new Map<string, number | boolean>();
  const online = new Map<string, boolean>();

  const saying = (eye: Eye): number | boolean => {
    const seen = eye.look();
    const { id } = eye.sensor;
    if (faults.at('frozen', id) === undefined) frozen.delete(id);
    else if (!frozen.has(id)) frozen.set(id, seen);
    return distorted(eye, faults, works.seed, world.nowMs, seen, frozen.get(id));
  };

  const isDue = (
    key: string,
    value: number | boolean | string,
    resolution: number,
    everyMs: number,
  ): boolean => {
    const last = spoken.get(key);
    if (last !== undefined && world.nowMs - last.atMs < everyMs && !differs(last.value, value, resolution))
      return false;
    spoken.set(key, { value, atMs: world.nowMs });
    return true;
  };

  const announce = (kind: 'sensor' | 'actuator', id: string, isUp: boolean, out: Report[]): void => {
    const key = `${kind} ${id}`;
    if (online.get(key) === isUp) return;
    online.set(key, isUp);
    out.push({ of: 'availability', device: id, kind, online: isUp });
  };

  const hear = (eye: Eye, out: Report[]): void => {
    const { sensor } = eye;
    // Looked at even when silent: a float's hysteresis and a meter's wheel go on without a network.
    const value = saying(eye);
    const isUp = faults.at('offline', sensor.id) === undefined && !isDead(faults, sensor.failureDomain);
    if (sensor.availability !== null) announce('sensor', sensor.id, isUp, out);
    if (!isUp || faults.at('silent', sensor.id) !== undefined || faults.at('silent', 'all') !== undefined) {
      spoken.delete(sensor.id);
      return;
    }
    const everyMs = sensor.republishesMs ?? sensor.maxAgeMs / 3;
    const raw = faults.at('sends', sensor.id);
    if (raw !== undefined) {
      if (isDue(sensor.id, `raw ${raw.value}`, 0, everyMs)) out.push({ of: 'raw', sensor, text: raw.value });
    } else if (isDue(sensor.id, value, eye.resolution, everyMs)) out.push({ of: 'sensor', sensor, value });
  };

  const report = (id: string, out: Report[]): void => {
    const actuator = plant.actuators[id];
    const feedback = actuator?.feedback ?? null;
    if (actuator === undefined || feedback === null) return;
    const isUp = !isDead(faults, actuator.failureDomain);
    if (feedback.availability !== null) announce('actuator', id, isUp, out);
    const key = `feedback ${id}`;
    if (!isUp || faults.at('feedback-silent', id) !== undefined || faults.at('silent', 'all') !== undefined) {
      spoken.delete(key);
      return;
    }
    const said = faults.at('feedback-says', id);
    const on = said === undefined ? relays.contact(id) : said.value === 'on';
    if (isDue(key, on, 0, feedback.republishesMs ?? feedback.maxAgeMs / 3)) {
      out.push({ of: 'feedback', actuator: id, feedback, on });
    }
  };

  return {
    due: () => {
      const out: Report[] = [];
      for (const eye of eyes) hear(eye, out);
      for (const id in plant.actuators) report(id, out);
      return out;
    },
    setClock: () => {
      for (const { kind, what } of faults.begun()) {
        if (kind === 'resets') eyes.find(({ sensor }) => sensor.id === what)?.reset();
      }
    },
    present: (id) => {
      const eye = eyes.find(({ sensor }) => sensor.id === id);
      return eye === undefined ? undefined : saying(eye);
    },
  };
}

function differs(
  before: number | boolean | string,
  now: number | boolean | string,
  resolution: number,
): boolean {
  if (typeof before !== 'number' || typeof now !== 'number') return before !== now;
  return Math.abs(now - before) >= Math.max(resolution, Number.MIN_VALUE);
}
