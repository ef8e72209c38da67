// By what a harm came about, kept while it happens: which route or heater, by order or against orders, and what had failed at
// that moment. Judges enter what they count; in the end each finding is held against the gaps of the station.
//
// Water that came into the mixing vat against orders is followed as a dye would be: what it spoils is delivered later, by
// order, and it is still that water's doing.
import type { Line } from '../../simulate/lines.ts';
import type { Twin } from '../../simulate/twin.ts';
import { litresOf, salinityOf } from '../../simulate/world.ts';
import { type Gap, gapFor, type Harm, type Way } from '../../station/gaps.ts';
import type { Plant } from '../../station/plant.ts';
import { failedAt } from '../trial/failed.ts';
import type { Trouble } from '../trial/misfortunes.ts';
import { REACTION_MS } from './bounds.ts';
import type { Sent } from './check.ts';

/** Litres that took a way in one step. */
export interface Passed extends Way {
  readonly line: Line;
  readonly litres: number;
}

export interface Causes {
  /** What moved in the step that is being judged. */
  readonly passed: () => readonly Passed[];
  /** Whether a way had been told to be open, or a heater to heat, in this step. */
  readonly isOrdered: (through: readonly string[]) => boolean;
  /** Enters so much of a harm: litres, seconds, kelvin; shared out by the litres of each way, where they are known. */
  readonly enter: (
    harm: Harm,
    about: string,
    amount: number,
    ways: readonly (Way & { readonly litres?: number })[],
  ) => void;
  /** What is off about the water in the mixing vat and would not be without the water that came against orders: by which way. */
  readonly spoiledBy: (isRight: (salinity: number, temperatureC: number) => boolean) => readonly Way[];
  /** The gap that explains all of a harm but what is allowed anyway; undefined: something of it no gap explains. */
  readonly gapOf: (harm: Harm, about: string, allowed: number) => Gap | undefined;
}

interface Step {
  readonly nowMs: number;
  readonly elapsedMs: number;
  readonly sent: readonly Sent[];
  readonly troubles: readonly Trouble[];
}

interface Told {
  readonly untilMs: number;
  readonly offMs: number;
}

interface Dye {
  readonly way: Way;
  readonly failed: ReadonlySet<string>;
  kg: number;
  kgC: number;
}

interface Part {
  readonly way: Way;
  readonly failed: ReadonlySet<string>;
  amount: number;
}

export function causesOf(plant: Plant, twin: Twin): Causes & { readonly step: (step: Step) => void } {
  const told = new Map<string, Told>();
  const before = new Map<string, number>();
  const parts = new Map<string, Map<string, Part>>();
  const dyes = new Map<string, Dye>();
  const mixing = twin.world.bodies[plant.mixingId];
  let passed: Passed[] = [];
  let nowMs = 0;
  let elapsedMs = 0;
  let troubles: readonly Trouble[] = [];

  const isTold = (id: string, runDownMs: number): boolean => {
    const last = told.get(id);
    return (
      last !== undefined && nowMs - elapsedMs < Math.min(last.untilMs, last.offMs) + runDownMs + REACTION_MS
    );
  };
  const chain = (id: string): readonly string[] => {
    const upstream = plant.actuators[id]?.upstream ?? null;
    return upstream === null ? [id] : [id, ...chain(upstream)];
  };
  const isOrdered = (through: readonly string[], runDownMs = 0): boolean =>
    through.flatMap(chain).every((id) => isTold(id, runDownMs));
  const failed = () => failedAt(plant, troubles, nowMs, elapsedMs);

  const dye = (): void => {
    if (mixing === undefined) return;
    const kg = mixing.waterKg + mixing.saltKg;
    const out = passed.filter(({ line }) => line.route.from === plant.mixingId && !line.route.loop);
    const share = out.reduce((sum, { litres }) => sum + litres, 0) / Math.max(litresOf(mixing), 1);
    for (const [key, one] of dyes) {
      one.kg *= Math.max(0, 1 - share);
      one.kgC *= Math.max(0, 1 - share);
      if (one.kg < NOTICED_SHARE * kg) dyes.delete(key);
    }
    for (const { line, litres, ...way } of passed) {
      if (way.ordered || line.route.to !== plant.mixingId || line.route.loop) continue;
      const fromC = twin.world.bodies[line.route.from]?.temperatureC ?? mixing.temperatureC;
      const one = dyes.get(way.by) ?? {
        way: { by: way.by, ordered: false },
        failed: failed(),
        kg: 0,
        kgC: 0,
      };
      one.kg += litres;
      one.kgC += litres * fromC;
      dyes.set(way.by, one);
    }
  };

  return {
    step: (step) => {
      ({ nowMs, elapsedMs, troubles } = step);
      passed = [];
      for (const line of twin.works.lines) {
        const { id, through, runDownMs } = line.route;
        const moved = twin.world.ledger.moved[id]?.litres ?? 0;
        const litres = moved - (before.get(id) ?? 0);
        before.set(id, moved);
        if (litres > 0) passed.push({ line, litres, by: id, ordered: isOrdered(through, runDownMs) });
      }
      dye();
      // What was told in this step moves water from the next one on.
      for (const { actuator, on, leaseMs } of step.sent) {
        const counts = plant.actuators[actuator]?.countsLease ?? false;
        const known = told.get(actuator) ?? {
          untilMs: Number.NEGATIVE_INFINITY,
          offMs: Number.NEGATIVE_INFINITY,
        };
        if (on)
          told.set(actuator, {
            untilMs: counts ? nowMs + leaseMs : Number.POSITIVE_INFINITY,
            offMs: Number.POSITIVE_INFINITY,
          });
        else if (known.offMs === Number.POSITIVE_INFINITY) told.set(actuator, { ...known, offMs: nowMs });
      }
    },
    passed: () => passed,
    isOrdered: (through) => isOrdered(through),
    enter: (harm, about, amount, ways) => {
      const key = `${harm}/${about}`;
      const known = parts.get(key) ?? new Map<string, Part>();
      const all = ways.reduce((sum, { litres = 1 }) => sum + litres, 0);
      // What came by no way of the file is as good as ordered: nothing explains it.
      for (const { by, ordered, litres = 1 } of all > 0 ? ways : [NO_WAY]) {
        const lost = harm === 'wrong water' ? union(failed(), dyes.get(by)?.failed) : failed();
        const kind = [by, ordered, ...lost].join(' ');
        const part = known.get(kind) ?? { way: { by, ordered }, failed: lost, amount: 0 };
        part.amount += amount * (all > 0 ? litres / all : 1);
        known.set(kind, part);
      }
      parts.set(key, known);
    },
    spoiledBy: (isRight) => {
      if (mixing === undefined || dyes.size === 0) return [];
      const own = { ...mixing };
      const kg = mixing.waterKg + mixing.saltKg;
      let ownC = kg * mixing.temperatureC;
      let ownKg = kg;
      for (const one of dyes.values()) {
        own.waterKg -= one.kg;
        ownKg -= one.kg;
        ownC -= one.kgC;
      }
      if (ownKg <= 0) return [];
      return isRight(salinityOf(own), ownC / ownKg) ? [...dyes.values()].map(({ way }) => way) : [];
    },
    gapOf: (harm, about, allowed) => {
      let left = -allowed;
      let found: Gap | undefined;
      for (const { amount, way, failed: lost } of parts.get(`${harm}/${about}`)?.values() ?? []) {
        const gap = gapFor(plant, harm, about, way, lost);
        found ??= gap;
        if (gap === undefined) left += amount;
      }
      return left <= ROUNDING ? found : undefined;
    },
  };
}

/** Less than this share of the vat is noticed by no instrument, and excuses nothing. */
const NOTICED_SHARE = 0.002;
const ROUNDING = 1e-6;
const NO_WAY: Way & { readonly litres?: number } = { by: '', ordered: true };

const union = (one: ReadonlySet<string>, other: ReadonlySet<string> | undefined): ReadonlySet<string> =>
  other === undefined ? one : new Set([...one, ...other]);
