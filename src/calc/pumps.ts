// Pumps, and the time water takes.
import { pipesInSeries } from '../engineering/hydraulics.ts';
import {
  curveFromPoints,
  type ExpectedFlow,
  expectedFlow,
  type OperatingPoint,
  operatingPoint,
  type PumpCurve,
  STATIC_HEAD,
} from '../engineering/pump.ts';
import { SHARE, SOME_FLOW, VOLUME } from '../engineering/range.ts';
import {
  constantFlowMinutes,
  DISCHARGE,
  DRAIN_HEAD,
  drainThroughOpeningS,
  drainThroughPipeS,
  gravityFlowLpm,
  LEAST_PIPE_HEAD_M,
  OPENING_AREA,
  PLAN_AREA,
  type Transfer,
  transferTime,
} from '../engineering/transfer.ts';
import {
  brief,
  type Entry,
  entry,
  input,
  type Outcome,
  type QuantityInput,
  type TableInput,
} from './entry.ts';
import { DARCY, PIPE, type PipeValues, pipeOf } from './pipes.ts';

const pumpCurve = {
  columns: { flow: { dimension: 'flow', unit: 'L/min' }, head: { dimension: 'length', unit: 'm' } },
  about: "the pump's points from no flow on, joined by straight lines",
} as const satisfies TableInput;
const staticHead = input.length(STATIC_HEAD, "height of the water's end above its start");
const area = (about: string): QuantityInput => ({ dimension: 'area', unit: 'm2', range: PLAN_AREA, about });
const pipeHead = { ...DRAIN_HEAD, least: LEAST_PIPE_HEAD_M };

type CurveRows = readonly { readonly flow: number; readonly head: number }[];

function curveOf(rows: CurveRows): PumpCurve {
  return curveFromPoints(rows.map((row) => ({ flowLpm: row.flow, headM: row.head })));
}

/** Why no flow or time can be given: these are answers, not errors. */
function none(
  answer: Exclude<OperatingPoint | ExpectedFlow | Transfer, { kind: 'flows' | 'between' | 'moved' }>,
): Outcome {
  switch (answer.kind) {
    case 'cannot reach': {
      const [lift, height] = [brief(answer.shutoffHeadM), brief(answer.staticHeadM)];
      return {
        value: null,
        note: `the pump cannot reach: it lifts ${lift} m at most, and the height is ${height} m`,
      };
    }
    case 'beyond the curve': {
      const last = brief(answer.lastFlowLpm);
      return {
        value: null,
        note: `more than ${last} L/min, where the pump's curve ends: give points for more`,
      };
    }
    case 'stalls': {
      const moved = brief(answer.movedL);
      return { value: null, note: `the pump stalls after ${moved} L: the levels are too far apart` };
    }
  }
}

function meet(
  v: PipeValues & { readonly pumpCurve: CurveRows; readonly staticHead: number },
): OperatingPoint {
  const loss = pipesInSeries([pipeOf(v)], v.kinematicViscosity);
  return operatingPoint(curveOf(v.pumpCurve), v.staticHead, loss);
}

const interlock = {
  pumpCurve,
  leastStaticHead: input.length(STATIC_HEAD, 'lowest height while it runs: source full, target empty'),
  mostStaticHead: input.length(STATIC_HEAD, 'greatest height while it runs: source empty, target full'),
  ...PIPE,
  wear: {
    ...input.ratio(SHARE, 'share of head lost to wear and fouling; common practice, no source'),
    default: 0.1,
  },
} as const;

type InterlockValues = PipeValues & {
  readonly pumpCurve: CurveRows;
  readonly leastStaticHead: number;
  readonly mostStaticHead: number;
  readonly wear: number;
};

function expected(v: InterlockValues, side: 'leastLpm' | 'mostLpm'): Outcome {
  const loss = pipesInSeries([pipeOf(v)], v.kinematicViscosity);
  const answer = expectedFlow(curveOf(v.pumpCurve), v.leastStaticHead, v.mostStaticHead, loss, v.wear);
  return answer.kind === 'between' ? answer[side] : none(answer);
}

export const PUMPS: Readonly<Record<string, Entry>> = {
  'pump-operating-flow': entry({
    about: 'Flow at which a pump meets its pipe',
    inputs: { pumpCurve, staticHead, ...PIPE },
    dimension: 'flow',
    unit: 'L/min',
    source: DARCY,
    compute: (v) => {
      const point = meet(v);
      return point.kind === 'flows' ? point.flowLpm : none(point);
    },
  }),
  'pump-operating-head': entry({
    about: 'Head at which a pump meets its pipe',
    inputs: { pumpCurve, staticHead, ...PIPE },
    dimension: 'length',
    unit: 'm',
    source: DARCY,
    compute: (v) => {
      const point = meet(v);
      return point.kind === 'flows' ? point.headM : none(point);
    },
  }),
  'least-expected-flow': entry({
    about: 'Flow below which a running pump has a fault: a worn pump against the greatest height',
    inputs: interlock,
    dimension: 'flow',
    unit: 'L/min',
    source: DARCY,
    compute: (v) => expected(v, 'leastLpm'),
  }),
  'most-expected-flow': entry({
    about: 'Flow above which a pipe is off: a new pump against the lowest height',
    inputs: interlock,
    dimension: 'flow',
    unit: 'L/min',
    source: DARCY,
    compute: (v) => expected(v, 'mostLpm'),
  }),
  'constant-flow-time': entry({
    about: 'Time to move a volume at an unchanging flow',
    inputs: {
      volume: input.volume(VOLUME, 'to move'),
      flow: input.flow(SOME_FLOW, 'unchanging'),
    },
    dimension: 'duration',
    unit: 'min',
    source: 'definition',
    compute: (v) => constantFlowMinutes(v.volume, v.flow),
  }),
  'transfer-time': entry({
    about: 'Time for a pump to move a volume while the source falls and the target rises',
    inputs: {
      volume: input.volume(VOLUME, 'to move'),
      pumpCurve,
      staticHead: input.length(STATIC_HEAD, "target's level above the source's at the start"),
      sourceArea: area('plan area of the source'),
      targetArea: area('plan area of the target'),
      ...PIPE,
    },
    dimension: 'duration',
    unit: 'min',
    source: `${DARCY}; integrated over the levels`,
    compute: (v) => {
      const loss = pipesInSeries([pipeOf(v)], v.kinematicViscosity);
      const curve = curveOf(v.pumpCurve);
      const answer = transferTime(v.volume, curve, v.staticHead, loss, v.sourceArea, v.targetArea);
      return answer.kind === 'moved' ? answer.minutes : none(answer);
    },
  }),
  'gravity-flow': entry({
    about: 'Flow through a pipe by the height of the water alone',
    inputs: { head: input.length(pipeHead, "height of the water above the pipe's end"), ...PIPE },
    dimension: 'flow',
    unit: 'L/min',
    source: DARCY,
    compute: (v) => gravityFlowLpm(v.head, pipeOf(v), v.kinematicViscosity),
  }),
  'drain-time-opening': entry({
    about: 'Time for an upright vessel to drain through an opening',
    inputs: {
      planArea: area('plan area of the vessel'),
      openingArea: { dimension: 'area', unit: 'm2', range: OPENING_AREA, about: 'of the opening' },
      from: input.length(DRAIN_HEAD, 'height of the water above the opening at the start'),
      to: input.length(DRAIN_HEAD, 'and at the end'),
      dischargeCoefficient: input.number(DISCHARGE, '0.6 for a sharp edge, near 1 for a rounded one'),
    },
    dimension: 'duration',
    unit: 's',
    source: 'Torricelli; FE Reference Handbook',
    compute: (v) => drainThroughOpeningS(v.planArea, v.openingArea, v.from, v.to, v.dischargeCoefficient),
  }),
  'drain-time-pipe': entry({
    about: 'Time for an upright vessel to drain through a pipe',
    inputs: {
      planArea: area('plan area of the vessel'),
      from: input.length(pipeHead, "height of the water above the pipe's end at the start"),
      to: input.length(pipeHead, 'and at the end'),
      ...PIPE,
    },
    dimension: 'duration',
    unit: 's',
    source: `${DARCY}; integrated over the level`,
    compute: (v) => drainThroughPipeS(v.planArea, pipeOf(v), v.from, v.to, v.kinematicViscosity),
  }),
};
