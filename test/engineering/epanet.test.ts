// Our pump-and-pipe solution against EPANET 2, the public-domain solver of the US EPA (epanet-js 0.9.0): networks drawn
// from a fixed seed, so that a failure names one that can be drawn again.
//
// EPANET takes the friction factor from Swamee & Jain (up to 3 % off Colebrook-White at the smooth end) and gravity as
// 32.2 ft/s2; on flow the two together are worth up to 0.6 % here, hence the tolerance of 1 %. Between Re 2000 and 4000 it
// has a cubic of its own where we take the turbulent side: networks that end there are drawn anew.
import { Project, Workspace } from 'epanet-js';
import { beforeAll, describe, expect, it } from 'vitest';
import {
  flowRegime,
  type HeadLoss,
  hazenWilliamsHeadLossM,
  type Pipe,
  pipesInSeries,
  reynoldsNumber,
  velocityHeadM,
} from '../../src/engineering/hydraulics.ts';
import {
  type CurvePoint,
  curveFromOnePoint,
  curveFromPoints,
  curveFromThreePoints,
  type OperatingPoint,
  operatingPoint,
  type PumpCurve,
} from '../../src/engineering/pump.ts';
import { generator } from './generator.ts';

const SEED = 20_240_611;
const NETWORKS = 40;
const VISCOSITY = 1.004e-6;
/** EPANET toolkit's codes for a link's flow and a node's head; the package's types do not export their names. */
const EN_FLOW = 8;
const EN_HEAD = 10;

interface Network {
  readonly number: number;
  readonly formula: 'D-W' | 'H-W';
  readonly form: 'points' | 'one point' | 'three points';
  readonly curvePoints: readonly CurvePoint[];
  readonly staticHeadM: number;
  readonly pipes: readonly (Pipe & { readonly coefficient: number })[];
}

function draw(random: () => number, number: number): Network {
  const between = (least: number, most: number) => Number((least + random() * (most - least)).toPrecision(4));
  const shutoffM = between(2, 14);
  const lastLpm = between(30, 260);
  const form = (['points', 'one point', 'three points'] as const)[number % 3] as Network['form'];
  const shape = (share: number) => ({
    flowLpm: Number((lastLpm * share).toPrecision(5)),
    headM: Number((shutoffM * (1 - share ** 2)).toPrecision(5)),
  });
  const curvePoints = {
    points: [0, 0.25, 0.5, 0.75, 1].map(shape),
    'one point': [shape(0.5)],
    'three points': [0, 0.5, 0.9].map(shape),
  }[form];
  const pipes = Array.from({ length: 1 + (number % 2) }, () => ({
    lengthM: between(2, 30),
    diameterMm: between(16, 50),
    roughnessMm: between(0.0015, 0.05),
    minorLossCoefficient: between(1, 16),
    coefficient: Math.round(between(120, 150)),
  }));
  const formula = number % 5 === 4 ? 'H-W' : 'D-W';
  return { number, formula, form, curvePoints, staticHeadM: between(0, 0.8 * shutoffM), pipes };
}

function curveOf({ form, curvePoints }: Network): PumpCurve {
  const [first, second, third] = curvePoints as [CurvePoint, CurvePoint, CurvePoint];
  if (form === 'one point') return curveFromOnePoint(first);
  return form === 'points' ? curveFromPoints(curvePoints) : curveFromThreePoints(first, second, third);
}

function lossOf({ formula, pipes }: Network): HeadLoss {
  if (formula === 'D-W') return pipesInSeries(pipes, VISCOSITY);
  return (flow) =>
    pipes.reduce((sum, pipe) => {
      const friction = hazenWilliamsHeadLossM(flow, pipe.lengthM, pipe.diameterMm, pipe.coefficient);
      return sum + friction + pipe.minorLossCoefficient * velocityHeadM(flow, pipe.diameterMm);
    }, 0);
}

function ours(network: Network): OperatingPoint {
  return operatingPoint(curveOf(network), network.staticHeadM, lossOf(network));
}

/** A network worth comparing: it flows, and not in the no man's land of pipe flow. */
function isComparable(network: Network): boolean {
  const point = ours(network);
  if (point.kind !== 'flows') return false;
  return network.pipes.every(
    (pipe) => flowRegime(reynoldsNumber(point.flowLpm, pipe.diameterMm, VISCOSITY)) === 'turbulent',
  );
}

function inputFile({ formula, curvePoints, staticHeadM, pipes }: Network): string {
  const joints = pipes.map((_, index) => `J${index}`);
  const rough = (pipe: Network['pipes'][number]) => (formula === 'D-W' ? pipe.roughnessMm : pipe.coefficient);
  return [
    '[RESERVOIRS]',
    ' SOURCE 0',
    ` TARGET ${staticHeadM}`,
    '[JUNCTIONS]',
    ...joints.map((joint) => ` ${joint} 0 0`),
    '[PUMPS]',
    ' PUMP SOURCE J0 HEAD CURVE',
    '[PIPES]',
    ...pipes.map(
      (pipe, index) =>
        ` P${index} J${index} ${joints[index + 1] ?? 'TARGET'} ${pipe.lengthM} ${pipe.diameterMm} ${rough(pipe)} ${pipe.minorLossCoefficient} Open`,
    ),
    '[CURVES]',
    ...curvePoints.map((point) => ` CURVE ${point.flowLpm} ${point.headM}`),
    '[OPTIONS]',
    ' Units LPM',
    ` Headloss ${formula}`,
    ` Viscosity ${VISCOSITY}`,
    ' Accuracy 0.000001',
    ' Trials 500',
    '[END]',
  ].join('\n');
}

const workspace = new Workspace();

function theirs(network: Network): { flowLpm: number; headM: number } {
  const project = new Project(workspace);
  workspace.writeFile('network.inp', inputFile(network));
  project.open('network.inp', 'report.rpt', 'results.bin');
  project.solveH();
  const flowLpm = project.getLinkValue(project.getLinkIndex('P0'), EN_FLOW);
  const headM = project.getNodeValue(project.getNodeIndex('J0'), EN_HEAD);
  project.close();
  return { flowLpm, headM };
}

function drawNetworks(): Network[] {
  const random = generator(SEED);
  const networks: Network[] = [];
  for (let tries = 0; networks.length < NETWORKS && tries < 20 * NETWORKS; tries++) {
    const network = draw(random, networks.length);
    if (isComparable(network)) networks.push(network);
  }
  return networks;
}

describe('EPANET 2 (US EPA, through epanet-js 0.9.0)', () => {
  const networks = drawNetworks();

  beforeAll(() => workspace.loadModule());

  it(`has ${NETWORKS} networks to solve, of both loss formulas and all three forms of curve`, () => {
    expect(networks).toHaveLength(NETWORKS);
    expect(new Set(networks.map(({ formula, form }) => `${formula} ${form}`)).size).toBe(6);
  });

  for (const network of networks) {
    const { number, formula, form, pipes } = network;
    it(`finds the flow and head that we find for network ${number} of seed ${SEED} (${formula}, ${form}, ${pipes.length} pipes) within 1 %`, () => {
      const point = ours(network);
      if (point.kind !== 'flows') throw new Error(point.kind);
      const solved = theirs(network);
      expect(Math.abs(point.flowLpm / solved.flowLpm - 1)).toBeLessThan(0.01);
      expect(Math.abs(point.headM / solved.headM - 1)).toBeLessThan(0.01);
    });
  }

  it('moves no water either where we say that the pump cannot reach', () => {
    const base = networks[0] as Network;
    const tooHigh = { ...base, staticHeadM: 20 };
    expect(ours(tooHigh).kind).toBe('cannot reach');
    // A closed pump still leaks a thousandth of a litre in EPANET's arithmetic.
    expect(Math.abs(theirs(tooHigh).flowLpm)).toBeLessThan(0.01);
  });
});
