// Relays as they are sold: they do as told, and those that count a lease drop out by themselves when it ends. The count
// runs in the device, in station time, and needs no network.
import type { Actuator, Plant } from '../station/plant.ts';
import type { Faults } from './faults.ts';

export interface Relay {
  /** What it was last told, as long as its lease lasts. */
  on: boolean;
  /** When it drops out, ms of station time; null: not by itself. */
  untilMs: number | null;
  commands: number;
  starts: number;
  /** How often its own lease ended it. */
  dropOuts: number;
}

export interface Relays {
  readonly all: Readonly<Record<string, Relay>>;
  /** Its own contact: closed or not, welded or not. This is what feedback reports. */
  readonly contact: (actuator: string) => boolean;
  /** Whether it passes water or current: its contact and every one upstream. */
  readonly works: (actuator: string) => boolean;
  /** Returns false where the command did not reach the device. */
  readonly command: (actuator: string, on: boolean, leaseMs: number) => boolean;
  /** Ends leases and applies what faults begin at this moment. */
  readonly setClock: (nowMs: number) => void;
  /** The next moment at which one drops out by itself; Infinity where none does. */
  readonly nextChangeMs: () => number;
}

export function relaysOf(plant: Plant, faults: Faults): Relays {
  const all: Record<string, Relay> = {};
  const fitted = Object.values(plant.actuators).map((actuator): readonly [Relay, Actuator] => {
    const relay = { on: false, untilMs: null, commands: 0, starts: 0, dropOuts: 0 };
    all[actuator.id] = relay;
    return [relay, actuator];
  });
  let nowMs = 0;

  const dead = (actuator: Actuator) => isDead(faults, actuator.failureDomain);
  const contact = (id: string): boolean => {
    const relay = all[id];
    const actuator = plant.actuators[id];
    if (relay === undefined || actuator === undefined) return false;
    if (faults.at('stuck-on', id) !== undefined) return true;
    return relay.on && faults.at('stuck-off', id) === undefined && !dead(actuator);
  };
  const works = (id: string): boolean => {
    // A jammed valve stays open through a power cut; a welded pump or heater contact has nothing left to switch.
    const output = faults.outputOf(id);
    const actuator = plant.actuators[output];
    if (actuator === undefined || !contact(output)) return false;
    if (actuator.kind !== 'valve' && dead(actuator)) return false;
    return actuator.upstream === null || works(actuator.upstream);
  };

  return {
    all,
    contact,
    works,
    command: (id, on, leaseMs) => {
      const relay = all[id];
      const actuator = plant.actuators[id];
      if (relay === undefined || actuator === undefined)
        throw new Error(`the station has no actuator '${id}'`);
      if (faults.at('deaf', id) !== undefined || dead(actuator)) return false;
      relay.commands++;
      if (on && !relay.on) relay.starts++;
      relay.on = on;
      relay.untilMs = on && actuator.countsLease && leaseMs > 0 ? nowMs + leaseMs : null;
      return true;
    },
    setClock: (now) => {
      nowMs = now;
      for (const [relay, actuator] of fitted) {
        const { id } = actuator;
        if (dead(actuator)) release(relay);
        else if (faults.at('ignores-lease', id) === undefined) endLease(relay, nowMs);
      }
      for (const { kind, what } of faults.begun()) {
        const relay = kind === 'restarts-on' ? all[what] : undefined;
        if (relay !== undefined) Object.assign(relay, { on: true, untilMs: null });
      }
    },
    nextChangeMs: () => {
      let next = Number.POSITIVE_INFINITY;
      for (const [{ untilMs }] of fitted)
        if (untilMs !== null && untilMs > nowMs && untilMs < next) next = untilMs;
      return next;
    },
  };
}

function release(relay: Relay): void {
  relay.on = false;
  relay.untilMs = null;
}

function endLease(relay: Relay, nowMs: number): void {
  if (relay.untilMs === null || relay.untilMs > nowMs) return;
  release(relay);
  relay.dropOuts++;
}

export function isDead(faults: Faults, failureDomain: string | null): boolean {
  if (faults.at('power-cut', 'all') !== undefined) return true;
  return failureDomain !== null && faults.at('power-cut', failureDomain) !== undefined;
}
