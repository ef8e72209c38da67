// The supply pump against its curve: does it reach the system, at what flow, and what may a flow meter show.
import { flowRegime, flowSpeedMPerS, reynoldsNumber } from '../../engineering/hydraulics.ts';
import { kinematicViscosityM2PerS } from '../../engineering/properties.ts';
import { lastFlowLpm, type PumpCurve, pumpHeadM, shutoffHeadM } from '../../engineering/pump.ts';
import { cautionIf } from '../cautions.ts';
import { coldestC, type Design } from '../design.ts';
import type { LinePlan } from '../lines.ts';
import { type Caution, type Chart, figure, type Section, section } from '../report.ts';
import { lpm, metres } from '../words.ts';

/** Above this a pipe is loud and hammers. Common practice, no source. */
const FAST_M_PER_S = 2;

export function pumps(design: Design): Section {
  const { supply, transfer, site } = design;
  const { flowLpm, expected } = supply;
  return section({
    id: 'pumps',
    title: 'Supply pump',
    says: [reachWords(supply), ...(flowLpm === null ? [] : speedWords(design, flowLpm)), spareWords(design)],
    figures: [
      figure('flow', 'Flow at the middle level', flowLpm, 'L/min', 2, 'it does not reach'),
      figure(
        'head',
        'Head there',
        supply.point.kind === 'flows' ? supply.point.headM : null,
        'm',
        2,
        'outside its curve',
      ),
      figure('leastLift', 'Lift, mixing vat full', supply.leastLiftM, 'm', 2),
      figure('mostLift', 'Lift, mixing vat at its low float', supply.mostLiftM, 'm', 2),
      figure('shutoff', 'Highest head of the pump', shutoffOf(supply), 'm', 2, 'no pump'),
      figure(
        'least',
        'Least flow, pump worn by a tenth',
        expected?.leastLpm ?? null,
        'L/min',
        2,
        'it does not reach',
      ),
      figure(
        'most',
        'Most flow, pump new',
        expected?.mostLpm ?? null,
        'L/min',
        2,
        'not to be told from the curve',
      ),
    ],
    charts: supply.line.curve === null ? [] : [curveChart(supply, supply.line.curve)],
    cautions: [
      ...lineCautions('supply pump', supply, 'the system'),
      ...lineCautions('transfer pump', transfer, 'the mixing vat'),
      ...cautionIf(
        site.system.returnPumpModel !== null && site.system.returnPumpModel !== site.supply.model,
        'P-20',
        () =>
          `The return pump of the system (${site.system.returnPumpModel}) and the supply pump (${site.supply.model ?? 'model not stated'}) are two models.`,
      ),
    ],
    sources: [
      'Darcy-Weisbach with Colebrook-White (Colebrook 1939); fittings K = n f_T (Crane TP-410), good to a quarter for plastic.',
      'The curve is read between its points by straight lines, never beyond the last.',
      'A tenth of head lost to wear: common practice; no source.',
    ],
  });
}

/** Null without a pump. */
function shutoffOf({ line }: LinePlan): number | null {
  return line.curve === null ? null : shutoffHeadM(line.curve);
}

function reachWords({ point, worst, outletM, mostLiftM, line }: LinePlan): string {
  const most = metres(mostLiftM);
  if (line.curve === null) {
    return point.kind === 'flows' && worst.kind === 'flows'
      ? `No pump: the water falls to the system, ${lpm(point.flowLpm)} at the middle level of the mixing vat and ${lpm(worst.flowLpm)} at its end.`
      : `No pump, and the water does not fall to the system: its pipe ends ${metres(outletM)} above the floor of the vats, ${most} above the water at the end of a batch.`;
  }
  if (worst.kind === 'cannot reach') {
    return `This pump can't reach the system: at the end of a batch it must lift ${most}, and its highest head is ${metres(worst.shutoffHeadM)}. No water moves, and the pump heats what it holds.`;
  }
  if (point.kind === 'flows') {
    return `The pump reaches the system: ${lpm(point.flowLpm)} against ${metres(point.headM)}, at the middle level of the mixing vat. The water leaves its pipe ${metres(outletM)} above the floor of the vats.`;
  }
  return 'The pump runs beyond the end of its curve: it moves at least what the curve ends with, and nobody knows how much more.';
}

function speedWords(design: Design, flowLpm: number): string[] {
  const { site } = design;
  const viscosity = kinematicViscosityM2PerS(site.system.salinity, coldestC(site));
  const narrowest = Math.min(...site.supply.pipes.map(({ diameterMm }) => diameterMm));
  const speed = flowSpeedMPerS(flowLpm, narrowest);
  const regime = flowRegime(reynoldsNumber(flowLpm, narrowest, viscosity));
  const doubt =
    regime === 'transitional'
      ? ' Between laminar and turbulent no formula holds; the turbulent side, with more loss, was taken.'
      : '';
  return [
    `In the narrowest pipe (${narrowest} mm inside) the water moves at ${speed.toFixed(2)} m/s, ${regime}.${doubt}`,
  ];
}

function spareWords({ site, supply }: Design): string {
  const own = site.system.returnPumpModel;
  const { model } = site.supply;
  if (supply.line.curve === null) return 'Spare part: this line has no pump that could fail.';
  if (own === null) {
    return "Spare part: state the model of the system's own return pump. If the supply pump is of the same model, one spare serves both.";
  }
  if (own !== model)
    return `Spare part: the system's own return pump is another model (${own}). A supply pump of that model could stand in for it, if its curve suits.`;
  return supply.flowLpm === null
    ? `Spare part: the system's own return pump is of the same model (${own}), but here it does not reach the system: it is no spare for this line.`
    : `Spare part: the supply pump is of the same model as the system's own return pump (${own}), and reaches the system here at ${lpm(supply.flowLpm)}. Whether it does what the return pump does, only that pump's own pipes say.`;
}

export function lineCautions(name: string, line: LinePlan, target: string): Caution[] {
  const { worst, point, flowLpm } = line;
  const narrowest = Math.min(...line.line.pipes.map(({ diameterMm }) => diameterMm));
  return [
    ...cautionIf(
      worst.kind === 'cannot reach',
      'P-08',
      () =>
        `The ${name} can't reach ${target}: it must lift ${metres(line.mostLiftM)} when its vat is low, and its highest head is ${metres(shutoffOf(line) ?? 0)}.`,
    ),
    ...cautionIf(
      point.kind === 'beyond the curve',
      'P-09',
      () =>
        `The ${name} runs beyond its curve: it has head to spare at ${lpm(flowLpm ?? 0)}, where its curve ends.`,
    ),
    ...cautionIf(
      flowLpm !== null && flowSpeedMPerS(flowLpm, narrowest) > FAST_M_PER_S,
      'P-22',
      () =>
        `The pipe of the ${name} is narrow: ${flowSpeedMPerS(flowLpm ?? 0, narrowest).toFixed(1)} m/s in ${narrowest} mm.`,
    ),
  ];
}

const POINTS = 40;

function curveChart(supply: LinePlan, curve: PumpCurve): Chart {
  const last = lastFlowLpm(curve);
  const flows = Array.from({ length: POINTS + 1 }, (_, index) =>
    // Rounding must not step over the curve's end.
    Math.min(last, (last * index) / POINTS),
  );
  const ceiling = 1.25 * Math.max(shutoffHeadM(curve), supply.mostLiftM);
  const system = (liftM: number) =>
    flows.map((flow) => [flow, liftM + supply.loss(flow)] as const).filter(([, head]) => head <= ceiling);
  const { point } = supply;
  const operating =
    point.kind === 'flows'
      ? [
          {
            name: 'Operating point',
            stroke: 'points' as const,
            points: [[point.flowLpm, point.headM] as const],
          },
        ]
      : [];
  return {
    id: 'supply-pump',
    title: 'Pump curve and system curves',
    words:
      point.kind === 'flows'
        ? `The pump's head falls from ${metres(shutoffHeadM(curve))} at no flow to ${metres(pumpHeadM(curve, last))} at ${lpm(last)}. What the pipe asks for rises from the lift with the flow. They meet at ${lpm(point.flowLpm)} and ${metres(point.headM)}.`
        : `The pump's head falls from ${metres(shutoffHeadM(curve))} at no flow to ${metres(pumpHeadM(curve, last))} at ${lpm(last)}. What the pipe asks for, from ${metres(supply.leastLiftM)} to ${metres(supply.mostLiftM)} of lift, does not meet it.`,
    x: { name: 'Flow', unit: 'L/min', least: 0 },
    y: { name: 'Head', unit: 'm', least: Math.min(0, Math.floor(supply.leastLiftM)) },
    series: [
      { name: 'Pump', stroke: 'solid', points: flows.map((flow) => [flow, pumpHeadM(curve, flow)] as const) },
      { name: 'Pipe, vat full', stroke: 'dotted', points: system(supply.leastLiftM) },
      { name: 'Pipe, vat low', stroke: 'dashed', points: system(supply.mostLiftM) },
      ...operating,
    ],
  };
}
