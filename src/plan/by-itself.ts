// What water does in this station when nothing is switched on: a line that runs downhill, one whose end dips into water
// that stands higher than its vat, a drain that pulls the system empty. What closes it is drafted into the station.
import { fallingFlowLpm, pipeContentsL } from '../engineering/gravity.ts';
import type { LinePlan } from './lines.ts';
import type { Marks } from './marks.ts';
import type { Site, Vat } from './site.ts';
import { contentsL, levelMm, rimM } from './vat-level.ts';

/** A level that is not measured better than this stands as high as the other. */
const LEVEL_DOUBT_M = 0.01;

/** One way in which a line runs although its pump rests. */
export interface Run {
  readonly fallM: number;
  /** At the beginning; a pump at rest in the line brakes it a little. Null where no pipe is stated. */
  readonly flowLpm: number | null;
  /** What is lost after each stop if nobody notices; null where the surface of the system would have to be known. */
  readonly litres: number | null;
}

/** What closes a line at rest. */
export type Closer =
  /** Nothing runs. */
  | 'not needed'
  /** The site says that it is fitted. */
  | 'siphon break'
  | 'valve'
  /** Not fitted yet: the plan puts a normally closed valve into the station. */
  | 'valve to be added';

export interface Rest {
  readonly downhill: Run | null;
  readonly back: Run | null;
  readonly closer: Closer;
  /** What the pipe holds, and gives back through its pump where nothing closes it. */
  readonly inPipeL: number;
}

/** @param into the vat at the line's end; null for a system */
export function atRest(
  site: Site,
  plan: LinePlan,
  marks: Marks,
  into: { vat: Vat; marks: Marks } | null,
): Rest {
  const { line } = plan;
  const runs = line.curve === null ? null : downhill(plan, marks);
  const back = line.endsUnderWater ? backwards(site, plan, marks, into) : null;
  return {
    downhill: runs,
    back,
    closer: closerOf(runs !== null || back !== null, line),
    inPipeL: line.pipes.reduce((sum, { lengthM, diameterMm }) => sum + pipeContentsL(lengthM, diameterMm), 0),
  };
}

function closerOf(
  runs: boolean,
  has: { readonly siphonBreak: boolean; readonly closedAtRest: boolean },
): Closer {
  if (has.closedAtRest) return 'valve';
  if (has.siphonBreak) return 'siphon break';
  return runs ? 'valve to be added' : 'not needed';
}

/** From the high float down to the pipe's end or its intake, whichever is higher. */
function downhill({ line, leastLiftM, loss, from, standMm, outletM }: LinePlan, marks: Marks): Run | null {
  const fallM = -leastLiftM;
  if (fallM <= LEVEL_DOUBT_M) return null;
  const endsAtMm = Math.max(1000 * outletM - standMm, line.inletMm);
  return {
    fallM,
    flowLpm: fallingFlowLpm(fallM, loss),
    litres: Math.max(0, marks.highL - contentsL(from, endsAtMm)),
  };
}

function backwards(
  site: Site,
  plan: LinePlan,
  marks: Marks,
  into: { vat: Vat; marks: Marks } | null,
): Run | null {
  const { from, standMm, line, loss } = plan;
  const lowM = (standMm + levelMm(from, marks.lowL)) / 1000;
  const standM = site.vats.mixingStandMm / 1000;
  const highM =
    into === null ? site.system.levelM?.most : standM + levelMm(into.vat, into.marks.highL) / 1000;
  if (highM === undefined || highM - lowM <= LEVEL_DOUBT_M) return null;
  const endM = line.outletM ?? standM + (into === null ? 0 : rimM(into.vat));
  const litres =
    into === null
      ? null
      : Math.max(0, into.marks.highL - contentsL(into.vat, 1000 * (Math.max(endM, lowM) - standM)));
  return { fallM: highM - lowM, flowLpm: fallingFlowLpm(highM - lowM, loss), litres };
}

export interface DrainRest {
  /** Null: it does not run, or nobody has said how high things are. */
  readonly run: Run | null;
  /** Both heights are stated. */
  readonly isKnown: boolean;
  readonly closer: Closer;
}

/** A hose from the system to a floor drain is a siphon that waits for its first stroke. */
export function drainAtRest({ system, drain }: Site): DrainRest {
  const { levelM } = system;
  const isKnown = levelM !== null && drain.outletM !== null;
  const fallM = isKnown ? levelM.most - (drain.outletM ?? 0) : 0;
  const run = fallM > LEVEL_DOUBT_M ? { fallM, flowLpm: null, litres: null } : null;
  return { run, isKnown, closer: closerOf(run !== null, drain) };
}

/** A valve of this line is part of the station: fitted, or to be added. */
export const hasValve = (closer: Closer): boolean => closer === 'valve' || closer === 'valve to be added';
