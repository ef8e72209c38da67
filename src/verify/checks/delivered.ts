// What reaches a system is within tolerance: salinity as it truly is in the vat, temperature too.
import { salinityOf } from '../../simulate/world.ts';
import { salinityOff, wrongL } from './bounds.ts';
import type { Check } from './check.ts';
import { notebook } from './check.ts';

export function delivered(): Check {
  const { note, findings } = notebook();
  const wrong = new Map<string, { litres: number; worst: string; off: number }>();
  return {
    name: 'delivered',
    promise:
      'no system gets water outside the tolerance of salinity and temperature, as sound instruments tell them',
    see: ({ plant, twin, troubles, causes }) => {
      const { target } = plant.process.salinity;
      const aims = plant.process.temperature;
      const offOf = (salinity: number): number =>
        Math.max(0, Math.abs(salinity - target) - salinityOff(plant, troubles));
      const isWarmEnough = (temperatureC: number): boolean =>
        aims === null ||
        (temperatureC >= aims.leastC - THERMOMETER_K && temperatureC <= aims.mostC + THERMOMETER_K);
      for (const { line, litres: passed, ...way } of causes.passed()) {
        const { route, toSystem } = line;
        const source = twin.world.bodies[route.from];
        if (!toSystem || source === undefined) continue;
        const salinity = salinityOf(source);
        const off = offOf(salinity);
        if (off === 0 && isWarmEnough(source.temperatureC)) continue;
        const sum = wrong.get(route.id) ?? { litres: 0, worst: '', off: 0 };
        sum.litres += passed;
        const spoiled = way.ordered && route.from === plant.mixingId;
        const by = spoiled ? causes.spoiledBy((own, ownC) => offOf(own) === 0 && isWarmEnough(ownC)) : [];
        causes.enter('wrong water', route.to, passed, by.length > 0 ? by : [way]);
        if (off >= sum.off)
          sum.worst = `at salinity ${salinity.toFixed(1)} and ${source.temperatureC.toFixed(1)} degC`;
        sum.off = Math.max(sum.off, off);
        wrong.set(route.id, sum);
        const allowed = wrongL(plant, troubles, route) + ROUNDING_L;
        if (sum.litres <= allowed) continue;
        const words = `${sum.litres.toFixed(1)} L came to ${plant.vessels[route.to]?.name ?? route.to} by ${route.name} ${sum.worst}`;
        note({ check: 'delivered', harm: 'wrong water', about: route.to, allowed, words });
      }
    },
    findings,
  };
}

/** A thermometer errs by this much, and no more is asked of it. */
const THERMOMETER_K = 0.5;
const ROUNDING_L = 0.01;
