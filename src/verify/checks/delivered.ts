// What reaches a system is within tolerance: salinity as it truly is in the vat, temperature too.
import { salinityOf } from '../../simulate/world.ts';
import { salinityOff, wrongL } from './bounds.ts';
import type { Check } from './check.ts';
import { notebook } from './check.ts';

export function delivered(): Check {
  const { note, findings } = notebook();
  const before = new Map<string, number>();
  const wrong = new Map<string, { litres: number; worst: string; off: number }>();
  return {
    name: 'delivered',
    promise:
      'no system gets water outside the tolerance of salinity and temperature, as sound instruments tell them',
    see: ({ plant, twin, troubles }) => {
      for (const { route, toSystem } of twin.works.lines) {
        if (!toSystem) continue;
        const source = twin.world.bodies[route.from];
        const moved = twin.world.ledger.moved[route.id]?.litres ?? 0;
        const passed = moved - (before.get(route.id) ?? 0);
        before.set(route.id, moved);
        if (passed <= 0 || source === undefined) continue;
        const { target } = plant.process.salinity;
        const aims = plant.process.temperature;
        const salinity = salinityOf(source);
        const off = Math.max(0, Math.abs(salinity - target) - salinityOff(plant, troubles));
        const tooCold = aims !== null && source.temperatureC < aims.leastC - THERMOMETER_K;
        const tooWarm = aims !== null && source.temperatureC > aims.mostC + THERMOMETER_K;
        if (off === 0 && !tooCold && !tooWarm) continue;
        const sum = wrong.get(route.id) ?? { litres: 0, worst: '', off: 0 };
        sum.litres += passed;
        if (off >= sum.off)
          sum.worst = `at salinity ${salinity.toFixed(1)} and ${source.temperatureC.toFixed(1)} degC`;
        sum.off = Math.max(sum.off, off);
        wrong.set(route.id, sum);
        if (sum.litres <= wrongL(plant, troubles, route) + ROUNDING_L) continue;
        const words = `${sum.litres.toFixed(1)} L came to ${plant.vessels[route.to]?.name ?? route.to} by ${route.name} ${sum.worst}`;
        note({ check: 'delivered', harm: 'wrong water', about: route.to, words });
      }
    },
    findings,
  };
}

/** A thermometer errs by this much, and no more is asked of it. */
const THERMOMETER_K = 0.5;
const ROUNDING_L = 0.01;
