// The station's plumbing by index: what the coarse water and the devices look at a few million times.
import { type Line, linesOf } from '../../simulate/lines.ts';
import { conductivityFromSalinity } from '../../simulate/seawater.ts';
import type { Actuator, Heater, Plant, Sensor } from '../../station/plant.ts';
import { coarsePlantOf, productKgPerUnit, TICK_MS, temperaturesOf } from './coarse-plant.ts';

export const NOWHERE = -1;

/** A way that water can take: a listed route, or one that no file names and that open valves make all the same. */
export interface Pipe {
  readonly id: string;
  readonly listed: boolean;
  /** Bounded vessels by index; NOWHERE for the inlet and the waste. */
  readonly from: number;
  readonly to: number;
  readonly toId: string;
  readonly loop: boolean;
  readonly fromInlet: boolean;
  readonly fromMixing: boolean;
  readonly toMixing: boolean;
  readonly toSystem: boolean;
  readonly through: readonly number[];
  readonly divertedBy: readonly number[];
  readonly pumps: readonly number[];
  /** Neither its heights nor a break nor a valve rule out that it runs on when its pump rests. */
  readonly siphons: boolean;
  /** Meters that see this water, by sensor. */
  readonly meters: readonly number[];
}

export interface Switch {
  readonly id: string;
  readonly actuator: Actuator;
  readonly upstream: number;
  readonly hasFeedback: boolean;
}

export interface Warmer {
  readonly id: string;
  readonly heater: Heater;
  readonly relay: number;
  readonly vessel: number;
}

export interface Model {
  readonly real: Plant;
  readonly plant: Plant;
  readonly vessels: readonly { readonly id: string; readonly capacity: number }[];
  readonly mixing: number;
  readonly pipes: readonly Pipe[];
  readonly switches: readonly Switch[];
  readonly warmers: readonly Warmer[];
  readonly dosers: readonly { readonly id: string; readonly relay: number; readonly vessel: number }[];
  readonly sensors: readonly Sensor[];
  readonly kgPerUnit: number;
  readonly target: number;
  readonly cold: number;
  readonly warm: number;
  /** Conductivity at 25 degC of a salinity that the coarse vat can have. */
  readonly conductivityOf: (salinity: number) => number;
  /** In so many steps the core takes each tick, and hears meters, levels and floats in between. */
  readonly pieces: number;
}

export function modelOf(real: Plant, pieces = 1): Model {
  const plant = coarsePlantOf(real, TICK_MS / pieces);
  const bounded = Object.values(plant.vessels).filter(({ capacityL }) => Number.isFinite(capacityL));
  const vesselAt = (id: string) => bounded.findIndex((vessel) => vessel.id === id);
  const switches = Object.values(plant.actuators);
  const switchAt = (id: string) => switches.findIndex((actuator) => actuator.id === id);
  // The seed only draws amounts, and a coarse unit has none.
  const pipes = linesOf(plant, 1).map((line) => pipeOf(plant, line, vesselAt, switchAt));
  const known = new Map<number, number>();
  const { cold, warm } = temperaturesOf(real);
  return {
    real,
    plant,
    vessels: bounded.map(({ id, capacityL }) => ({ id, capacity: capacityL })),
    mixing: vesselAt(plant.mixingId),
    pipes,
    switches: switches.map((actuator) => ({
      id: actuator.id,
      actuator,
      upstream: actuator.upstream === null ? NOWHERE : switchAt(actuator.upstream),
      hasFeedback: actuator.feedback !== null,
    })),
    warmers: Object.values(plant.heaters).map((heater) => ({
      id: heater.id,
      heater,
      relay: switchAt(heater.actuator),
      vessel: vesselAt(heater.vessel),
    })),
    dosers: Object.values(plant.dosers).map(({ id, actuator, vessel }) => ({
      id,
      relay: switchAt(actuator),
      vessel: vesselAt(vessel),
    })),
    sensors: Object.values(plant.sensors),
    kgPerUnit: productKgPerUnit(real),
    target: real.process.salinity.target,
    cold,
    warm,
    conductivityOf: (salinity) => {
      let value = known.get(salinity);
      if (value === undefined) {
        value = conductivityFromSalinity(salinity, 25);
        known.set(salinity, value);
      }
      return value;
    },
    pieces,
  };
}

function pipeOf(
  plant: Plant,
  { route, divertedBy, meteredAs, pumps, fromInlet, toSystem }: Line,
  vesselAt: (id: string) => number,
  switchAt: (id: string) => number,
): Pipe {
  const sensors = Object.keys(plant.sensors);
  const meters = meteredAs.flatMap((id) => plant.routes[id]?.meter ?? []);
  return {
    id: route.id,
    listed: route.id in plant.routes,
    from: vesselAt(route.from),
    to: vesselAt(route.to),
    toId: route.to,
    loop: route.loop,
    fromInlet,
    fromMixing: route.from === plant.mixingId,
    toMixing: route.to === plant.mixingId && !route.loop,
    toSystem,
    through: route.through.map(switchAt),
    divertedBy: divertedBy.map(switchAt),
    pumps: pumps.map(switchAt),
    siphons: route.siphons !== 'never',
    meters: meters.map((id) => sensors.indexOf(id)),
  };
}
