// The protection report of a station as plain data: what can go wrong, what holds it, what does not, and how that is tried.
// `text.ts` and `html.ts` print it.
import { exercisedBySelf, exerciseOf } from '../control/guard/row-kinds.ts';
import { englishOf } from '../language/english.ts';
import { type StepKind, stepsIn } from '../language/told.ts';
import { adviceOn, type Warning } from '../station/advice.ts';
import { type Gap, gapsOf } from '../station/gaps.ts';
import type { Plant } from '../station/plant.ts';
import { type Cause, causesOf, type Loss, lossOf, unplaced } from './causes.ts';
import { eventWords } from './events.ts';
import { type Hazard, hazardsOf } from './hazards.ts';
import { chaptersOf, heldBy } from './holding.ts';
import { askedFor, besides, NOT_CLAIMED } from './outside.ts';
import { type ProofTest, proofPlanOf, scheduleWords, untried } from './proof-plan.ts';
import { type Cuts, cutsOf, type TreeNode, treeOf } from './tree.ts';
import { counted, joined, nameOf } from './words.ts';

export interface ProtectionReport {
  readonly station: { readonly id: string; readonly name: string };
  readonly summary: readonly string[];
  readonly warnings: readonly CommonCauseWarning[];
  readonly hazards: readonly ReportedHazard[];
  readonly coverage: Coverage;
  readonly chapters: readonly { readonly title: string; readonly rows: readonly ReportedRow[] }[];
  readonly proof: {
    readonly schedule: string;
    readonly tests: readonly ProofTest[];
    readonly untried: readonly (readonly [string, string])[];
  };
  readonly causes: readonly ReportedCause[];
  /** Names of devices of which nobody said what they share. */
  readonly unplaced: readonly string[];
  readonly askedFor: readonly (readonly [string, string])[];
  readonly besides: readonly string[];
  readonly notClaimed: readonly string[];
}

export interface ReportedHazard extends Hazard {
  readonly ownRows: readonly string[];
  readonly generalRows: readonly string[];
  readonly tree: TreeNode | null;
  readonly cuts: Cuts;
}

export type Named = Pick<Hazard, 'id' | 'title'>;

export interface ReportedRow {
  readonly key: string;
  readonly about: string;
  readonly words: string;
  /** `shuts down Refill, Transfer`. */
  readonly does: string;
  readonly latch: string;
  readonly reset: string;
  /** What must be so for the time of a bypass; empty where it is never bypassed. */
  readonly bypass: string;
  readonly hardware: string;
  /** What a person does, in its order; empty where it only explains a wait. */
  readonly steps: readonly ReportedStep[];
}

export interface ReportedStep {
  readonly step: StepKind;
  readonly text: string;
}

/** A combination of failures, and all that comes of it. */
export interface ReportedGap {
  readonly id: string;
  readonly hazards: readonly Named[];
  readonly words: string;
  /** What fails at once, in words. */
  readonly when: readonly string[];
  readonly fit: string;
}

export interface Coverage {
  /** A hazard and how many rows hold it. */
  readonly software: readonly {
    readonly id: string;
    readonly title: string;
    readonly own: number;
    readonly general: number;
  }[];
  /** What no software can hold, the fewest failures first. */
  readonly hardware: readonly ReportedGap[];
  readonly nothing: {
    /** Hazards without a row of their own. */
    readonly withoutRows: readonly Named[];
    /** What is missing by the station file's own account. */
    readonly missing: readonly Warning[];
    /** Gaps that one failure opens: nothing holds them while the hardware named is not fitted. */
    readonly single: readonly ReportedGap[];
  };
}

export interface ReportedCause extends Omit<Cause, 'fails'> {
  /** `by` is in words for people. */
  readonly losses: readonly (Named & Loss)[];
}

export interface CommonCauseWarning {
  /** Of the cause. */
  readonly id: string;
  readonly words: string;
  readonly fit: string;
}

export function protectionOf(plant: Plant): ProtectionReport {
  const causes = causesOf(plant);
  // What the file does not say about springs is asked for below, and is no branch of a tree.
  const inTrees = causes.filter(({ kind }) => kind !== 'mains');
  const hazards = hazardsOf(plant).map((hazard): ReportedHazard => {
    const { own, general } = heldBy(plant, hazard);
    const tree = treeOf(plant, hazard, inTrees);
    const cuts = tree === null ? { ones: [], twos: [], more: 0 } : cutsOf(plant, tree);
    return { ...hazard, ownRows: own, generalRows: general, tree, cuts };
  });
  const chapters = chaptersOf(plant).map(({ title, rows }) => ({
    title,
    rows: rows.map((row) => rowOf(plant, row)),
  }));
  const coverage = coverageOf(plant, hazards);
  const reported = causes.map((cause) => reportedCause(plant, cause, hazards));
  const warnings = reported.flatMap(warningOf);
  return {
    station: { id: plant.id, name: plant.name },
    summary: summaryOf(chapters, hazards, coverage, warnings),
    warnings,
    hazards,
    coverage,
    chapters,
    proof: { schedule: scheduleWords(plant), tests: proofPlanOf(plant), untried: untried(plant) },
    causes: reported,
    unplaced: unplaced(plant),
    askedFor: askedFor(plant),
    besides: besides(plant),
    notClaimed: NOT_CLAIMED,
  };
}

type DerivedRow = ReturnType<typeof chaptersOf>[number]['rows'][number];

/** What a row forbids, in words; the exercise of single valves is told only where nothing else is forbidden. */
function targetWords(plant: Plant, forbids: readonly string[]): string {
  const exercises = exercisedBySelf(plant).filter(({ id }) => forbids.includes(exerciseOf(id)));
  const ways = forbids.filter((target) => !exercises.some(({ id }) => exerciseOf(id) === target));
  const every = Object.keys({ ...plant.routes, ...plant.heaters, ...plant.dosers }).length;
  if (ways.length === every) return 'everything';
  if (ways.length === 0) return exercises.map(({ name }) => `the exercise of ${name}`).join(', ');
  const names = ways.map((id) => nameOf(plant, id));
  return [...names, ...(exercises.length > 0 ? ['the exercise of valves there'] : [])].join(', ');
}

function rowOf(plant: Plant, row: DerivedRow): ReportedRow {
  const say = englishOf(plant);
  const trips = row.action === 'trip';
  const needs = row.needs.map((id) => nameOf(plant, id));
  return {
    key: row.key,
    about: say(row.about),
    words: say(row.words),
    does: `${trips ? 'shuts down' : 'blocks'} ${targetWords(plant, row.forbids)}`,
    latch: trips ? 'latched' : 'not latched',
    reset: say(row.reset),
    bypass: row.bypass.may ? say(row.bypass.because) : '',
    hardware: needs.length === 0 ? say(row.hardware) : `${say(row.hardware)} (${needs.join(', ')})`,
    steps: stepsIn(row.response).map(({ step, told }) => ({ step, text: say(told) })),
  };
}

function coverageOf(plant: Plant, hazards: readonly ReportedHazard[]): Coverage {
  const hardware = combined(plant, hazards).toSorted(
    (one, other) => one.when.length - other.when.length || compare(one.id, other.id),
  );
  return {
    software: hazards.map(({ id, title, ownRows, generalRows }) => ({
      id,
      title,
      own: ownRows.length,
      general: generalRows.length,
    })),
    hardware,
    nothing: {
      withoutRows: hazards.filter(({ ownRows }) => ownRows.length === 0),
      missing: adviceOn(plant),
      single: hardware.filter(({ when }) => when.length === 1),
    },
  };
}

const compare = (one: string, other: string): number => (one < other ? -1 : one > other ? 1 : 0);

/** Gaps that the same failures open are told once, with every hazard that follows. */
function combined(plant: Plant, hazards: readonly Hazard[]): ReportedGap[] {
  const groups = new Map<string, Gap[]>();
  for (const gap of gapsOf(plant)) {
    const key = [gap.id, ...gap.when].join(' & ');
    groups.set(key, [...(groups.get(key) ?? []), gap]);
  }
  return [...groups.values()].flatMap((gaps) => {
    const [first] = gaps;
    if (first === undefined) return [];
    const { id, words, fit, when } = first;
    const named = gaps.map((gap) => hazardOf(gap, hazards));
    return [{ id, hazards: named, words, fit, when: when.map((event) => eventWords(plant, event)) }];
  });
}

function hazardOf(gap: Gap, hazards: readonly Hazard[]): Named {
  const found = hazards.find(({ harm, about }) => harm === gap.harm && about === gap.about);
  if (found === undefined)
    throw new Error(`the gap ${gap.id} is about ${gap.harm} at ${gap.about}: no such hazard`);
  return { id: found.id, title: found.title };
}

function reportedCause(plant: Plant, cause: Cause, hazards: readonly Hazard[]): ReportedCause {
  const { fails: _, ...told } = cause;
  return {
    ...told,
    losses: hazards.flatMap((hazard) => {
      const loss = lossOf(plant, cause, hazard);
      if (loss === null) return [];
      const by = loss.by.map((event) => eventWords(plant, event));
      return [{ id: hazard.id, title: hazard.title, left: loss.left, by }];
    }),
  };
}

const SEPARATE =
  'Boards, supplies and adapters of their own for what must not fail together: each switch and what is upstream of it, and each float and the one that stands above it.';
const FIT: Readonly<Record<Cause['kind'], string>> = {
  domain: SEPARATE,
  adapter: SEPARATE,
  message: SEPARATE,
  upstream: SEPARATE,
  broker:
    'Devices that drop out by themselves after a time that is set in the device; or a hard-wired timer, or something upstream that counts its lease.',
  mains:
    'Look at each of these valves: one on each way must be spring-return and closed without power. Then pull the plug and look whether water still runs.',
};

function warningOf({ id, kind, name, losses }: ReportedCause): CommonCauseWarning[] {
  const lost = losses.filter(({ left }) => left === 0);
  if (lost.length === 0) return [];
  const condition = kind === 'mains' ? ' and none of these valves closes by itself' : '';
  const hazards = lost.map(({ id: hazard, title, by }) => `${hazard} ${title} (${by.join(' + ')})`);
  return [
    {
      id,
      words: `${name}: when this one thing fails${condition}, every barrier is lost against ${joined(hazards)}.`,
      fit: FIT[kind],
    },
  ];
}

function summaryOf(
  chapters: ProtectionReport['chapters'],
  hazards: readonly ReportedHazard[],
  { hardware }: Coverage,
  warnings: readonly CommonCauseWarning[],
): string[] {
  const rows = chapters.reduce((sum, chapter) => sum + chapter.rows.length, 0);
  const order = (size: number) => hardware.filter(({ when }) => when.length === size).length;
  const many = hardware.length - order(1) - order(2);
  return [
    `${counted(hazards.length, 'hazard')} follow from the plumbing, and ${counted(rows, 'interlock row')} hold them by software.`,
    `No software can hold ${counted(hardware.length, 'combination')} of failures: ${order(1)} of one failure, ${order(2)} of two, ${many} of three or more. Each stands below with the hardware that would hold it.`,
    warnings.length === 0
      ? 'No single shared thing takes away every barrier of a hazard, as far as the station file tells what is shared.'
      : `${counted(warnings.length, 'shared thing')} can take away every barrier of a hazard: see the warnings.`,
  ];
}
