// Water at different heights, against EPANET 2 (US EPA, through epanet-js 0.9.0): lines that fall, siphons over a crest, and
// one pump behind a manifold that draws from a vat below or above it. Flow, and head where it matters: at the crest of a
// siphon and at the pump's inlet. Drawn from a fixed seed; the 1 % is for EPANET's own friction formula (see `epanet.test.ts`).
import { Project, Workspace } from 'epanet-js';
import { beforeAll, describe, expect, it } from 'vitest';
import { fallingFlowLpm, suctionHeadAvailableM, vapourPressureKpa } from '../../src/engineering/gravity.ts';
import { flowRegime, type Pipe, pipesInSeries, reynoldsNumber } from '../../src/engineering/hydraulics.ts';
import { curveFromPoints, operatingPoint } from '../../src/engineering/pump.ts';
import { seawaterDensity } from '../../src/engineering/seawater.ts';
import { generator } from './generator.ts';

const SEED = 20_261_130;
const OF_EACH = 16;
const VISCOSITY = 1.004e-6;
/** EPANET toolkit's codes for a link's flow and a node's head. */
const EN_FLOW = 8;
const EN_HEAD = 10;

const random = generator(SEED);
const between = (least: number, most: number) => Number((least + random() * (most - least)).toPrecision(4));
const pipe = (): Pipe => ({
  lengthM: between(1, 20),
  diameterMm: between(13, 40),
  roughnessMm: between(0.0015, 0.05),
  minorLossCoefficient: between(1, 12),
});
const isTurbulent = (flowLpm: number, pipes: readonly Pipe[]): boolean =>
  pipes.every(({ diameterMm }) => flowRegime(reynoldsNumber(flowLpm, diameterMm, VISCOSITY)) === 'turbulent');

/** Drawn until there are enough that flow, and not in the no man's land of pipe flow. */
function drawn<T>(one: () => T | null): T[] {
  const found: T[] = [];
  for (let tries = 0; found.length < OF_EACH && tries < 40 * OF_EACH; tries++) {
    const next = one();
    if (next !== null) found.push(next);
  }
  return found;
}

const workspace = new Workspace();

/** @returns the flow of a link, L/min, and the head of a node, m */
function theirs(network: readonly string[], link: string, node: string): { flowLpm: number; headM: number } {
  const project = new Project(workspace);
  const options = [
    '[OPTIONS]',
    ' Units LPM',
    ' Headloss D-W',
    ` Viscosity ${VISCOSITY}`,
    ' Accuracy 0.000001',
    ' Trials 500',
  ];
  workspace.writeFile('network.inp', [...network, ...options, '[END]'].join('\n'));
  project.open('network.inp', 'report.rpt', 'results.bin');
  project.solveH();
  const flowLpm = project.getLinkValue(project.getLinkIndex(link), EN_FLOW);
  const headM = project.getNodeValue(project.getNodeIndex(node), EN_HEAD);
  project.close();
  return { flowLpm, headM };
}

const line = (id: string, from: string, to: string, one: Pipe, isOpen = true): string =>
  ` ${id} ${from} ${to} ${one.lengthM} ${one.diameterMm} ${one.roughnessMm} ${one.minorLossCoefficient} ${isOpen ? 'Open' : 'Closed'}`;

const isNear = (ours: number, solved: number): void =>
  expect(Math.abs(ours / solved - 1), `${ours} beside ${solved}`).toBeLessThan(0.01);

beforeAll(() => workspace.loadModule());

describe('A line that falls', () => {
  const falls = drawn(() => {
    const one = { highM: between(0.3, 3), lowM: between(-5, 0.2), pipes: [pipe(), pipe()] };
    const flowLpm = fallingFlowLpm(one.highM - one.lowM, pipesInSeries(one.pipes, VISCOSITY));
    return isTurbulent(flowLpm, one.pipes) ? { ...one, flowLpm } : null;
  });

  it.each(falls)('from $highM m to $lowM m', ({ highM, lowM, pipes: [first, second], flowLpm }) => {
    const network = [
      '[RESERVOIRS]',
      ` VAT ${highM}`,
      ` END ${lowM}`,
      '[JUNCTIONS]',
      ' JOINT 0 0',
      '[PIPES]',
      line('A', 'VAT', 'JOINT', first as Pipe),
      line('B', 'JOINT', 'END', second as Pipe),
    ];
    isNear(flowLpm, theirs(network, 'A', 'JOINT').flowLpm);
  });

  it('are as many as wanted', () => expect(falls).toHaveLength(OF_EACH));
});

describe('A siphon', () => {
  const siphons = drawn(() => {
    const one = {
      highM: between(0.3, 1.2),
      overM: between(0.2, 2),
      fallM: between(0.2, 4),
      up: pipe(),
      down: pipe(),
    };
    const pipes = [one.up, one.down];
    const flowLpm = fallingFlowLpm(one.fallM, pipesInSeries(pipes, VISCOSITY));
    const crestM = one.highM - pipesInSeries([one.up], VISCOSITY)(flowLpm);
    return isTurbulent(flowLpm, pipes) ? { ...one, flowLpm, crestM } : null;
  });

  it.each(siphons)(
    '$overM m over the water and $fallM m down',
    ({ highM, overM, fallM, up, down, ...ours }) => {
      const network = [
        '[RESERVOIRS]',
        ` VAT ${highM}`,
        ` END ${highM - fallM}`,
        '[JUNCTIONS]',
        ` CREST ${highM + overM} 0`,
        '[PIPES]',
        line('UP', 'VAT', 'CREST', up),
        line('DOWN', 'CREST', 'END', down),
      ];
      const { flowLpm, headM } = theirs(network, 'UP', 'CREST');
      isNear(ours.flowLpm, flowLpm);
      expect(Math.abs(ours.crestM - headM)).toBeLessThan(0.01 * fallM);
    },
  );

  it('are as many as wanted', () => expect(siphons).toHaveLength(OF_EACH));
});

describe('One pump behind a manifold', () => {
  const manifolds = drawn(() => {
    const shutoffM = between(4, 14);
    const lastLpm = between(30, 150);
    const points = [0, 0.25, 0.5, 0.75, 1].map((share) => ({
      flowLpm: Number((lastLpm * share).toPrecision(5)),
      headM: Number((shutoffM * (1 - share ** 2)).toPrecision(5)),
    }));
    const one = {
      points,
      levelsM: [between(0.2, 1), between(0.2, 1)] as const,
      pumpM: between(-0.5, 1.5),
      endsM: [between(1, 2), between(-1, 0.7 * shutoffM)] as const,
      draws: [pipe(), pipe()] as const,
      delivers: [pipe(), pipe()] as const,
      way: random() < 0.5 ? ([0, 1] as const) : ([1, 0] as const),
    };
    const [from, to] = one.way;
    const pipes = [one.draws[from], one.delivers[to]];
    const point = operatingPoint(
      curveFromPoints(points),
      one.endsM[to] - one.levelsM[from],
      pipesInSeries(pipes, VISCOSITY),
    );
    return point.kind === 'flows' && isTurbulent(point.flowLpm, pipes)
      ? { ...one, flowLpm: point.flowLpm }
      : null;
  });

  it.each(manifolds)('lifts to $endsM through the way $way', (one) => {
    const [from, to] = one.way;
    const network = [
      '[RESERVOIRS]',
      ` FRESH ${one.levelsM[0]}`,
      ` MIXING ${one.levelsM[1]}`,
      ` BACK ${one.endsM[0]}`,
      ` SYSTEM ${one.endsM[1]}`,
      '[JUNCTIONS]',
      ` INLET ${one.pumpM} 0`,
      ` OUTLET ${one.pumpM} 0`,
      '[PUMPS]',
      ' PUMP INLET OUTLET HEAD CURVE',
      '[PIPES]',
      line('D0', 'FRESH', 'INLET', one.draws[0], from === 0),
      line('D1', 'MIXING', 'INLET', one.draws[1], from === 1),
      line('T0', 'OUTLET', 'BACK', one.delivers[0], to === 0),
      line('T1', 'OUTLET', 'SYSTEM', one.delivers[1], to === 1),
      '[CURVES]',
      ...one.points.map((point) => ` CURVE ${point.flowLpm} ${point.headM}`),
    ];
    const { flowLpm, headM } = theirs(network, `D${from}`, 'INLET');
    isNear(one.flowLpm, flowLpm);
    // What stands at the pump's inlet, above the vapour pressure of the water.
    const lossM = pipesInSeries([one.draws[from]], VISCOSITY)(one.flowLpm);
    const oursM = suctionHeadAvailableM(one.levelsM[from] - one.pumpM, lossM, 0, 20, 101.325);
    const airM = ((101.325 - vapourPressureKpa(20)) * 1000) / (seawaterDensity(0, 20) * 9.80665);
    isNear(oursM, airM + headM - one.pumpM);
  });

  it('are as many as wanted', () => expect(manifolds).toHaveLength(OF_EACH));
});
