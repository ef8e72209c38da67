// How far the level of a system may have drifted, where nothing there says how high the water stands: each step adds to the
// error of its ledger, and only somebody who looks takes it away.
import { type LevelDoubt, levelDoubtOf } from '../../station/level-doubt.ts';
import type { Plant } from '../../station/plant.ts';
import { perPlant } from './per-plant.ts';
import type { GuardState } from './state.ts';

/** The two routes of each system's exchange. */
export const sidesOf = perPlant((plant) => {
  const routes = Object.values(plant.routes);
  const ofSystem = (id: string) => ({
    drain: routes.find((r) => r.purpose === 'drain' && r.from === id),
    supply: routes.find((r) => r.purpose === 'supply' && r.to === id),
  });
  return Object.fromEntries(Object.keys(plant.process.exchange).map((id) => [id, ofSystem(id)]));
});

/** The systems whose level is known by the ledger alone, on one side or on both. */
export const ledgersOf = perPlant((plant): Readonly<Record<string, LevelDoubt>> => {
  const doubts = Object.keys(plant.process.exchange).flatMap((id) => levelDoubtOf(plant, id) ?? []);
  return Object.fromEntries(doubts.map((doubt) => [doubt.systemId, doubt]));
});

/**
 * The level may be off by more than its bound. Before a step the error of the whole step counts as well, so that a step that
 * is begun also ends; while water moves each side is judged by what would make it worse.
 */
export function isUncertain(
  plant: Plant,
  { exchange }: GuardState,
  systemId: string,
  side: 'drain' | 'supply',
): boolean {
  const ledger = ledgersOf(plant)[systemId];
  const work = exchange[systemId];
  if (ledger === undefined || work === undefined) return false;
  const { differenceL, differenceErrorL, stepL, step } = work;
  if (side === 'supply') return differenceErrorL - differenceL > ledger.boundL;
  const afterStepL = differenceErrorL + ledger.stepErrorL + Math.abs(differenceL - stepL);
  return step === 'rest' && afterStepL > ledger.boundL;
}
