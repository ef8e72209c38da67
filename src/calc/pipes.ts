// Pipes and fittings.
import {
  END_COEFFICIENTS,
  type Fitting,
  fittingLossCoefficient,
  fullyTurbulentFactor,
  MULTIPLIERS,
  type PipeEnd,
} from '../engineering/fittings.ts';
import {
  darcyFrictionFactor,
  flowRegime,
  flowSpeedMPerS,
  HAZEN_WILLIAMS,
  hazenWilliamsHeadLossM,
  KINEMATIC_VISCOSITY,
  MINOR_LOSS,
  PIPE_DIAMETER,
  PIPE_LENGTH,
  type Pipe,
  pipeHeadLossM,
  RELATIVE_ROUGHNESS,
  REYNOLDS,
  ROUGHNESS,
  reynoldsNumber,
} from '../engineering/hydraulics.ts';
import { FLOW } from '../engineering/range.ts';
import { type Entry, entry, input } from './entry.ts';

const COLEBROOK = 'Colebrook 1939, J. Inst. Civ. Eng. 11, 133; 64/Re below Re 2000';
export const DARCY = `Darcy-Weisbach; ${COLEBROOK}`;
const CRANE = 'Crane Technical Paper 410 (tees and inward entrance from memory)';

const diameter = input.length(PIPE_DIAMETER, 'inside the pipe, not nominal');
/** The inputs that describe a pipe and what flows in it. */
export const PIPE = {
  pipeLength: input.length(PIPE_LENGTH, 'of the pipe'),
  pipeDiameter: diameter,
  roughness: input.length(ROUGHNESS, 'of the pipe; smooth plastic 0.0015 mm'),
  minorLossCoefficient: input.number(MINOR_LOSS, 'sum of K of bends, valves, entrance and exit'),
  kinematicViscosity: {
    dimension: 'kinematic-viscosity',
    unit: 'm2/s',
    range: KINEMATIC_VISCOSITY,
    about: 'from kinematic-viscosity; water at 20 degC 1.004e-6 m2/s',
  },
} as const;

export type PipeValues = { readonly [Name in keyof typeof PIPE]: number };

export function pipeOf(v: PipeValues): Pipe {
  return {
    lengthM: v.pipeLength,
    diameterMm: v.pipeDiameter,
    roughnessMm: v.roughness,
    minorLossCoefficient: v.minorLossCoefficient,
  };
}

export const PIPES: Readonly<Record<string, Entry>> = {
  'flow-speed': entry({
    about: 'Mean speed in a full pipe',
    inputs: { flow: input.flow(FLOW, 'in the pipe'), pipeDiameter: diameter },
    dimension: 'speed',
    unit: 'm/s',
    source: 'continuity',
    compute: (v) => flowSpeedMPerS(v.flow, v.pipeDiameter),
  }),
  'reynolds-number': entry({
    about: 'Reynolds number in a pipe',
    inputs: {
      flow: input.flow(FLOW, 'in the pipe'),
      pipeDiameter: diameter,
      kinematicViscosity: PIPE.kinematicViscosity,
    },
    dimension: 'number',
    unit: '1',
    source: 'definition',
    compute: (v) => reynoldsNumber(v.flow, v.pipeDiameter, v.kinematicViscosity),
  }),
  'darcy-friction-factor': entry({
    about: 'Friction factor; between Re 2000 and 4000 the turbulent side is taken, and said',
    inputs: {
      reynoldsNumber: input.number(REYNOLDS, 'of the flow'),
      relativeRoughness: input.number(RELATIVE_ROUGHNESS, 'roughness over inside diameter'),
    },
    dimension: 'number',
    unit: '1',
    source: COLEBROOK,
    compute: (v) => {
      const value = darcyFrictionFactor(v.reynoldsNumber, v.relativeRoughness);
      const regime = flowRegime(v.reynoldsNumber);
      const side = regime === 'transitional' ? ': no formula holds here, the turbulent side is taken' : '';
      return { value, note: `${regime} flow${side}` };
    },
  }),
  'pipe-head-loss': entry({
    about: 'Head lost in a pipe and its fittings, in metres of the liquid moved',
    inputs: { flow: input.flow(FLOW, 'in the pipe'), ...PIPE },
    dimension: 'length',
    unit: 'm',
    source: DARCY,
    compute: (v) =>
      pipeHeadLossM(
        v.flow,
        v.pipeLength,
        v.pipeDiameter,
        v.roughness,
        v.minorLossCoefficient,
        v.kinematicViscosity,
      ),
  }),
  'hazen-williams-head-loss': entry({
    about: 'Head lost to friction by Hazen-Williams; for water in pipes above 50 mm',
    inputs: {
      flow: input.flow(FLOW, 'in the pipe'),
      pipeLength: PIPE.pipeLength,
      pipeDiameter: diameter,
      coefficient: input.number(HAZEN_WILLIAMS, 'C; plastic 140 to 150'),
    },
    dimension: 'length',
    unit: 'm',
    source: 'EPANET 2 Users Manual (Rossman 2000), table 3.1',
    compute: (v) => hazenWilliamsHeadLossM(v.flow, v.pipeLength, v.pipeDiameter, v.coefficient),
  }),
  'fully-turbulent-factor': entry({
    about: "Crane's f_T: friction factor of commercial steel of that size in fully rough flow",
    inputs: { pipeDiameter: input.length({ ...PIPE_DIAMETER, least: 5 }, 'inside the pipe') },
    dimension: 'number',
    unit: '1',
    source: CRANE,
    compute: (v) => fullyTurbulentFactor(v.pipeDiameter),
  }),
  'fitting-loss-coefficient': entry({
    about: "K of a fitting of the pipe's own size; good to a quarter at best for plastic",
    inputs: {
      fitting: {
        choices: [...Object.keys(MULTIPLIERS), ...Object.keys(END_COEFFICIENTS)],
        about: 'what it is',
      },
      pipeDiameter: input.length({ ...PIPE_DIAMETER, least: 5 }, 'inside the pipe'),
    },
    dimension: 'number',
    unit: '1',
    source: CRANE,
    compute: (v) => fittingLossCoefficient(v.fitting as Fitting | PipeEnd, v.pipeDiameter),
  }),
};
