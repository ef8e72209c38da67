// Must the batch be heated, and how long may that take? The formula is the engineering room's.

import { heatingTime } from '../../engineering/heat.ts';
import type { Plant } from '../../station/plant.ts';
import { known } from '../guard/invariant.ts';
import { HEAT_TIME_GRACE } from '../guard/limits.ts';
import { hundredths, type Message, message, tenths } from '../guard/message.ts';
import { systemShiftK } from '../guard/right-water.ts';
import { temperatureC } from './mixing.ts';
import type { State } from './state.ts';

const HOUR_MS = 3_600_000;

export interface Heating {
  readonly kind: 'warm' | 'cold' | 'unknown';
  readonly words: Message;
}

/**
 * Must the batch be heated? Not when the exchange is so slow that the system's temperature moves less than its tolerance
 * (computed, and shown). `budget`: also work out how long it may take.
 */
export function heatingNeeded(plant: Plant, draft: State, budget: boolean): Heating {
  const work = draft.batch;
  const aims = plant.process.temperature;
  if (aims === null) return { kind: 'warm', words: message('no-temperature-target') };
  const celsius = temperatureC(plant, draft);
  if (celsius === null) return { kind: 'unknown', words: message('waiting-for-temperature') };
  const shifts = Object.keys(plant.process.exchange).map((id) => systemShiftK(plant, draft, id, celsius));
  work.systemShiftK = shifts.reduce((most, k) => (Math.abs(k) > Math.abs(most) ? k : most), 0);
  const started = work.heatBudgetMs > 0;
  // Once begun, heating goes on to the target; the tolerance decides only whether to begin.
  if (celsius >= aims.targetC - (started ? aims.toleranceK / 4 : aims.toleranceK))
    return { kind: 'warm', words: message('warm-enough', { temperatureC: tenths(celsius) }) };
  const slow = Math.abs(work.systemShiftK) <= aims.systemMayMoveK && celsius >= aims.leastC;
  if (slow && !started)
    return {
      kind: 'warm',
      words: message('not-heated', {
        temperatureC: tenths(celsius),
        differenceK: hundredths(work.systemShiftK),
      }),
    };
  if (budget) work.heatBudgetMs = heatBudgetMs(plant, draft, celsius);
  return {
    kind: 'cold',
    words: message('heating-to', { temperatureC: tenths(celsius), targetC: aims.targetC }),
  };
}

function heatBudgetMs(plant: Plant, draft: State, celsius: number): number {
  const heater = Object.values(plant.heaters).find((h) => h.vessel === plant.mixingId);
  const aims = plant.process.temperature;
  if (heater === undefined || aims === null) return 0;
  const litres = Math.max(known(draft.vessels, plant.mixingId).mostL, 1);
  const salinity = plant.process.salinity.target;
  const time = heatingTime(litres, salinity, celsius, aims.targetC, heater.powerW, heater.lossWPerK, celsius);
  const hours = time.kind === 'reached' ? time.hours : 0;
  return hours * HOUR_MS * HEAT_TIME_GRACE + heater.lagMs;
}
