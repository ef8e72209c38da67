// The fewest faults with which a night still goes wrong in the same way: faults are left out one by one, as long as one of
// the findings comes back. Few nights have more than six, so trying them one at a time is enough.
import type { Plant } from '../../station/plant.ts';
import type { Trouble } from './misfortunes.ts';
import { type Judged, keyOfFinding, type NightOptions, type NightResult, runNight } from './night.ts';

export interface Shrunk {
  readonly troubles: readonly Trouble[];
  readonly finding: Judged;
  readonly nights: number;
}

/** @returns the smallest night found that has this finding */
export function shrunk(
  plant: Plant,
  { seed, troubles }: NightResult,
  finding: Judged,
  options: NightOptions = {},
): Shrunk {
  const key = keyOfFinding(finding);
  const needsCycle = finding.check === 'cycle' || finding.check === 'core';
  let least = { troubles, finding };
  let nights = 0;
  const goesWrong = (fewer: readonly Trouble[]): Judged | undefined => {
    nights += 1;
    const until = needsCycle ? {} : { until: new Set([key]) };
    return runNight(plant, seed, fewer, { ...options, ...until }).findings.find(
      (one) => keyOfFinding(one) === key,
    );
  };
  for (let at = troubles.length - 1; at >= 0; at--) {
    const fewer = least.troubles.filter((trouble) => trouble !== troubles[at]);
    if (fewer.length === least.troubles.length) continue;
    const again = goesWrong(fewer);
    if (again !== undefined) least = { troubles: fewer, finding: again };
  }
  return { ...least, nights };
}
