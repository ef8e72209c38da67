// Which function answers which quantity of wider.json, in that list's own names and units.
//
// The list speaks its sources' languages: absolute salinities, IPTS-68, feet and litres per second. Each row here turns
// that into our units, calls our function, and turns the result back. A quantity without a row must be in UNMAPPED with
// a reason; the test fails on any other.
import {
  linearlyCompensated,
  naturalWaterFactor,
  seawaterCompensated,
} from '../../src/engineering/compensation.ts';
import {
  afterExchange,
  changesNeeded,
  concentrationAfterMgPerL,
  driftedContents,
  soluteRemainingBatch,
  soluteRemainingContinuous,
  volumesNeeded,
} from '../../src/engineering/exchange.ts';
import {
  END_COEFFICIENTS,
  fittingLossCoefficient,
  fullyTurbulentFactor,
  MULTIPLIERS,
} from '../../src/engineering/fittings.ts';
import {
  heatCapacityJPerK,
  heatToWarmKwh,
  steadyTemperatureC,
  timeConstantHours,
  warmingTime,
} from '../../src/engineering/heat.ts';
import {
  darcyFrictionFactor,
  type HeadLoss,
  hazenWilliamsHeadLossM,
  pipeHeadLossM,
  pipesInSeries,
  reynoldsNumber,
  SMOOTH_PIPE_MM,
  velocityHeadM,
} from '../../src/engineering/hydraulics.ts';
import {
  dynamicViscosityPaS,
  kinematicViscosityM2PerS,
  osmoticPressureKpa,
  seawaterSpecificHeat,
  thermalExpansionPerK,
} from '../../src/engineering/properties.ts';
import {
  type CurvePoint,
  curveFromOnePoint,
  curveFromThreePoints,
  type OperatingPoint,
  operatingPoint,
  shutoffHeadM,
} from '../../src/engineering/pump.ts';
import {
  diluteOsmoticPressureKpa,
  netDrivingPressureKpa,
  permeateTemperatureDivisor,
  purifierOutput,
  recovery,
} from '../../src/engineering/purification.ts';
import { ASTM_D1141_G_PER_L, KESTER_1967, total } from '../../src/engineering/recipes.ts';
import {
  blendedPracticalSalinity,
  freshWaterToDiluteL,
  saltMassForFinalVolumeKg,
  saltMassKg,
  waterForFinalVolumeL,
} from '../../src/engineering/salting.ts';
import {
  conductivityMsPerCm,
  ipts68,
  practicalSalinity,
  practicalSalinityFromReferenceSalinity,
  practicalSalinityFromRelativeDensity,
  referenceSalinityGPerKg,
  relativeDensity,
  STANDARD_CONDUCTIVITY_MS_PER_CM,
  saltConcentrationMgPerL,
  seawaterDensity,
} from '../../src/engineering/seawater.ts';
import {
  constantFlowMinutes,
  drainThroughOpeningS,
  drainThroughPipeS,
} from '../../src/engineering/transfer.ts';
import {
  contentsBoxL,
  contentsLyingCylinderL,
  contentsUprightCylinderL,
  DWELLING_LIVE_LOAD_LBF_PER_FT2,
  filledMassKg,
  floorPressureKpa,
  levelLyingCylinderMm,
} from '../../src/engineering/vessels.ts';
import { readQuantity } from '../../src/units/quantity.ts';
import type { WiderCase } from './cases.ts';

type Answer = (oneCase: WiderCase) => number;

/** A number among the inputs. */
function n({ id, inputs }: WiderCase, name: string): number {
  const value = inputs[name]?.value;
  if (typeof value !== 'number') throw new Error(`${id} has no number '${name}'`);
  return value;
}

function raw<T>({ inputs }: WiderCase, name: string): T {
  return inputs[name]?.value as T;
}

/** The temperature on today's scale, whichever the source speaks. */
function t90(c: WiderCase): number {
  return c.inputs.t68 === undefined ? n(c, 't') : n(c, 't68') / ipts68(1);
}

/** Absolute salinity of standard seawater is its reference salinity. */
const sp = (gPerKg: number) => practicalSalinityFromReferenceSalinity(gPerKg);
const sr = (practical: number) => referenceSalinityGPerKg(practical);
/** Without the range of PSS-78: for formulas that hold further. */
const spBeyond = (gPerKg: number) => gPerKg / referenceSalinityGPerKg(1);

const GALLONS = readQuantity('1 gal', 'volume');
const FEET_MM = readQuantity('1 ft', 'length');
const FEET_M = FEET_MM / 1000;

interface Conduit {
  readonly L_m: number;
  readonly D_mm: number;
  readonly roughness_mm?: number;
  readonly C_HW?: number;
  readonly sum_K: number;
}

function conduitLoss(conduit: Conduit, viscosity: number): HeadLoss {
  const { L_m, D_mm, roughness_mm, C_HW, sum_K } = conduit;
  if (C_HW !== undefined) {
    return (flow) => hazenWilliamsHeadLossM(flow, L_m, D_mm, C_HW) + sum_K * velocityHeadM(flow, D_mm);
  }
  const pipe = {
    lengthM: L_m,
    diameterMm: D_mm,
    roughnessMm: roughness_mm ?? 0,
    minorLossCoefficient: sum_K,
  };
  return pipesInSeries([pipe], viscosity);
}

function pumped(c: WiderCase): Extract<OperatingPoint, { kind: 'flows' }> {
  const points = raw<[number, number][]>(c, 'pump_curve').map(
    ([lps, headM]): CurvePoint => ({ flowLpm: lps * 60, headM }),
  );
  const [first, second, third] = points as [CurvePoint, CurvePoint, CurvePoint];
  const curve = points.length === 1 ? curveFromOnePoint(first) : curveFromThreePoints(first, second, third);
  const losses = ['suction_pipe', 'discharge_pipe']
    .filter((name) => c.inputs[name] !== undefined)
    .map((name) => conduitLoss(raw<Conduit>(c, name), n(c, 'nu')));
  const loss: HeadLoss = (flow) => losses.reduce((sum, each) => sum + each(flow), 0);
  const point = operatingPoint(curve, n(c, 'static_lift'), loss);
  if (point.kind !== 'flows') throw new Error(`${c.id}: ${point.kind}`);
  return point;
}

/** Crane example 7-15: four elbows, a gate valve, a 2.5 in globe lift check in the 3 in line, and the exit. */
function craneTotalHeadM(c: WiderCase): number {
  const diameterMm = n(c, 'D') * 25.4;
  const checkMm = 2.469 * 25.4;
  const flow = n(c, 'Q') * GALLONS;
  const density = (n(c, 'rho') * 0.45359237) / FEET_M ** 3;
  const fittings =
    4 * fittingLossCoefficient('elbow 90', diameterMm) +
    fittingLossCoefficient('gate valve', diameterMm) +
    fittingLossCoefficient('lift check, globe', checkMm) * (diameterMm / checkMm) ** 4 +
    fittingLossCoefficient('exit', diameterMm);
  const viscosity = (n(c, 'mu') * 1e-3) / density;
  const pipeLength = n(c, 'L') * FEET_M;
  const roughness = n(c, 'roughness') * 25.4;
  const loss = pipeHeadLossM(flow, pipeLength, diameterMm, roughness, fittings, viscosity);
  return n(c, 'static_head') * FEET_M + loss;
}

function darcyWeisbach(c: WiderCase): number {
  if (c.inputs.V === undefined) {
    return pipeHeadLossM(n(c, 'Q') * 60, n(c, 'L'), n(c, 'D'), n(c, 'roughness'), 0, n(c, 'nu'));
  }
  const diameterMm = n(c, 'D') * FEET_MM;
  const areaM2 = Math.PI * (diameterMm / 2000) ** 2;
  const flow = n(c, 'V') * FEET_M * areaM2 * 60_000;
  const viscosity = n(c, 'nu') * FEET_M ** 2;
  const length = n(c, 'L') * FEET_M;
  return pipeHeadLossM(flow, length, diameterMm, n(c, 'roughness') * FEET_MM, 0, viscosity) / FEET_M;
}

function drainPipe(c: WiderCase): number {
  const pipe = {
    lengthM: n(c, 'L'),
    diameterMm: n(c, 'D'),
    roughnessMm: n(c, 'roughness'),
    minorLossCoefficient: n(c, 'sum_K_excluding_velocity_head'),
  };
  return drainThroughPipeS(n(c, 'A_tank'), pipe, n(c, 'h1'), n(c, 'h2'), n(c, 'nu'));
}

function drainOpening(c: WiderCase): number {
  const planM2 = Math.PI * ((n(c, 'D_tank') * FEET_M) / 2) ** 2;
  const openingM2 = n(c, 'A_orifice') * 0.0254 ** 2;
  return drainThroughOpeningS(planM2, openingM2, n(c, 'h1') * FEET_M, n(c, 'h2') * FEET_M, n(c, 'Cd'));
}

function reached(warming: ReturnType<typeof warmingTime>): number {
  if (warming.kind !== 'reached') throw new Error('never reached');
  return warming.hours;
}

function heatCapacity(c: WiderCase): number {
  return n(c, 'm') * n(c, 'cp');
}

function drift(c: WiderCase): { volumeL: number; salinity: number } {
  const salinity = c.inputs.S0 === undefined ? 35 : n(c, 'S0');
  const incoming = c.inputs.S_in === undefined ? 35 : n(c, 'S_in');
  const [inflow, outflow] = [n(c, 'Q_in'), n(c, 'Q_out')];
  const drifted = driftedContents(n(c, 'V0'), salinity, inflow, incoming, outflow, n(c, 't'), 1e6);
  if (drifted.kind !== 'contents') throw new Error(drifted.kind);
  return drifted;
}

function floor(c: WiderCase): number {
  const depthMm = n(c, 'water_depth') * 1000;
  const salinity = sp(n(c, 'SA'));
  const [length, width] = raw<string>(c, 'shape') === 'rect' ? raw<[number, number]>(c, 'LxW') : [0, 0];
  const diameterMm = length === 0 ? n(c, 'D') * 1000 : 0;
  const volumeL =
    length === 0
      ? contentsUprightCylinderL(diameterMm, depthMm)
      : contentsBoxL(length * 1000, width * 1000, depthMm);
  const areaM2 = (volumeL * 1000) / depthMm / 1000;
  return floorPressureKpa(filledMassKg(volumeL, salinity, n(c, 't'), n(c, 'empty_mass')), areaM2);
}

const CRANE_NAMES: Readonly<Record<string, keyof typeof MULTIPLIERS>> = {
  'gate valve, full open': 'gate valve',
  'ball valve, full bore': 'ball valve, full bore',
  'standard 90 deg elbow, threaded': 'elbow 90',
  '45 deg elbow, threaded': 'elbow 45',
  'tee, flow through run': 'tee, through run',
  'tee, flow through branch': 'tee, through branch',
  'swing check, conventional': 'swing check',
  'globe valve, straight': 'globe valve',
};

function ingredient(recipe: typeof KESTER_1967, c: WiderCase) {
  const name = raw<string>(c, 'salt').split(' ')[0];
  const found = recipe.find(({ salt }) => salt === name);
  if (found === undefined) throw new Error(`no ${name} in the recipe`);
  return found;
}

export const MAP: Readonly<Record<string, Answer>> = {
  practical_salinity_from_conductivity: (c) => practicalSalinity(n(c, 'C'), t90(c)),
  conductivity_ratio_from_practical_salinity: (c) =>
    conductivityMsPerCm(n(c, 'SP'), t90(c)) / STANDARD_CONDUCTIVITY_MS_PER_CM,
  practical_salinity_from_Rt: (c) =>
    practicalSalinity(n(c, 'Rt') * conductivityMsPerCm(35, n(c, 't')), n(c, 't')),
  conductivity_from_practical_salinity: (c) => conductivityMsPerCm(n(c, 'SP'), n(c, 't')),
  density_one_atm_EOS80: (c) => seawaterDensity(n(c, 'S'), t90(c)),
  density_TEOS10: (c) => seawaterDensity(spBeyond(n(c, 'SA')), n(c, 't')),
  thermal_expansion_TEOS10: (c) => thermalExpansionPerK(sp(n(c, 'SA')), n(c, 't')),
  isobaric_heat_capacity_TEOS10: (c) => seawaterSpecificHeat(spBeyond(n(c, 'SA')), n(c, 't')),
  relative_density_seawater: (c) => relativeDensity(n(c, 'SP'), n(c, 't_sample'), n(c, 't_reference_water')),
  practical_salinity_from_relative_density: (c) =>
    practicalSalinityFromRelativeDensity(
      n(c, 'relative_density'),
      n(c, 't_sample'),
      n(c, 't_reference_water'),
    ),
  water_dynamic_viscosity: (c) => dynamicViscosityPaS(0, n(c, 't')),
  reference_salinity_from_practical_salinity: (c) => sr(n(c, 'SP')),
  practical_salinity_from_reference_salinity: (c) => sp(n(c, 'SR')),
  salt_concentration_mass_per_volume: (c) => saltConcentrationMgPerL(n(c, 'SP'), n(c, 't')),
  nonlinear_natural_water_temperature_factor_f25: (c) => naturalWaterFactor(n(c, 't')),
  conductivity_at_25C_linear_compensation: (c) =>
    linearlyCompensated(n(c, 'C_t'), n(c, 't'), n(c, 'alpha') / 100),
  conductivity_at_25C_same_salinity_seawater: (c) => seawaterCompensated(n(c, 'C_t'), n(c, 't')),
  recipe_mass_per_kg_S35: (c) => ingredient(KESTER_1967, c).weighedG,
  total_anhydrous_salt_per_kg: () => total(KESTER_1967, 'anhydrousG'),
  total_weighed_salt_per_kg_with_hydrates: () => total(KESTER_1967, 'weighedG'),
  substitute_ocean_water_salt_concentration: (c) => ingredient(ASTM_D1141_G_PER_L, c).anhydrousG,
  substitute_ocean_water_total_salt: () => total(ASTM_D1141_G_PER_L, 'anhydrousG'),
  dry_salt_mass_to_raise_salinity: (c) =>
    saltMassKg(n(c, 'V1'), sp(n(c, 'S1')), sp(n(c, 'S2')), n(c, 't'), n(c, 'f')),
  dry_salt_mass_for_final_volume_from_pure_water: (c) =>
    saltMassForFinalVolumeKg(n(c, 'V2'), sp(n(c, 'S2')), n(c, 't'), n(c, 'f')),
  pure_water_volume_for_final_volume: (c) =>
    waterForFinalVolumeL(n(c, 'V2'), sp(n(c, 'S2')), n(c, 't'), n(c, 'f')),
  salinity_of_blend: (c) =>
    sr(blendedPracticalSalinity(n(c, 'V1'), sp(n(c, 'S1')), n(c, 'V2'), sp(n(c, 'S2')), n(c, 't'))),
  pure_water_mass_to_lower_salinity: (c) => {
    const litres = freshWaterToDiluteL(n(c, 'V1'), sp(n(c, 'S1')), sp(n(c, 'S2')), n(c, 't'));
    return (litres * seawaterDensity(0, n(c, 't'))) / 1000;
  },
  ro_temperature_correction_divisor: (c) => permeateTemperatureDivisor(n(c, 't')),
  ro_temperature_correction_example: (c) => {
    // The page gives another membrane's divisor: its K, and then our output.
    const kelvin = 1 / (n(c, 't') + 273.15) - 1 / 298.15;
    const output = purifierOutput(
      n(c, 'rated_flow'),
      400,
      400,
      n(c, 't'),
      Math.log(n(c, 'TCF_table')) / kelvin,
    );
    if (output.kind !== 'flows') throw new Error(output.kind);
    return output.outputLpm;
  },
  osmotic_pressure_seawater: (c) => osmoticPressureKpa(spBeyond(n(c, 'SA')), n(c, 't')),
  osmotic_pressure_NaCl_ASTM_D4516: (c) => diluteOsmoticPressureKpa(n(c, 'C'), n(c, 't')),
  osmotic_pressure_rule_of_thumb: (c) => diluteOsmoticPressureKpa(n(c, 'TDS'), 25),
  ro_net_driving_pressure: (c) =>
    netDrivingPressureKpa(
      n(c, 'P_feed'),
      n(c, 'dP_feed_brine'),
      n(c, 'P_permeate'),
      n(c, 'C_feed'),
      n(c, 'C_permeate'),
      n(c, 'recovery'),
      n(c, 't'),
    ),
  ro_permeate_flow: (c) => {
    const constant = n(c, 't') <= 25 ? n(c, 'K_below25') : n(c, 'K_above25');
    const output = purifierOutput(n(c, 'Q_rated'), n(c, 'NDP_rated'), n(c, 'NDP'), n(c, 't'), constant);
    if (output.kind !== 'flows') throw new Error(output.kind);
    return output.outputLpm;
  },
  ro_recovery: (c) => 100 * recovery(n(c, 'Q_permeate'), n(c, 'Q_feed')),
  darcy_friction_factor: (c) => darcyFrictionFactor(n(c, 'Re'), n(c, 'relative_roughness')),
  darcy_friction_factor_smooth_pipe: (c) => {
    const reynolds = reynoldsNumber(n(c, 'Q'), n(c, 'D'), kinematicViscosityM2PerS(0, n(c, 't')));
    return darcyFrictionFactor(reynolds, SMOOTH_PIPE_MM / n(c, 'D'));
  },
  total_pump_head: (c) => craneTotalHeadM(c) / FEET_M,
  head_loss_darcy_weisbach: darcyWeisbach,
  crane_fully_turbulent_friction_factor_fT: (c) => fullyTurbulentFactor(n(c, 'D')),
  crane_K_multiplier: (c) => MULTIPLIERS[CRANE_NAMES[raw<string>(c, 'fitting')] as keyof typeof MULTIPLIERS],
  minor_loss_K: (c) => {
    if (raw<string>(c, 'fitting') !== 'pipe entrance, inward projecting') throw new Error('another end');
    return END_COEFFICIENTS['entrance, inward projecting'];
  },
  head_loss_hazen_williams: (c) => hazenWilliamsHeadLossM(n(c, 'Q') * 60, n(c, 'L'), n(c, 'D'), n(c, 'C')),
  pump_operating_point_flow: (c) => pumped(c).flowLpm / 60,
  pump_operating_point_head: (c) => pumped(c).headM,
  shutoff_head_from_single_point: (c) =>
    shutoffHeadM(curveFromOnePoint({ flowLpm: n(c, 'Q0') * 60, headM: n(c, 'H0') })),
  time_to_lower_level_free_orifice: drainOpening,
  time_to_lower_level_through_pipe: drainPipe,
  time_to_transfer_volume_constant_flow: (c) => 60 * constantFlowMinutes(n(c, 'V'), n(c, 'Q')),
  heat_to_warm_water: (c) => heatToWarmKwh(n(c, 'V'), sp(n(c, 'SA')), n(c, 't1'), n(c, 't2')),
  time_to_warm_no_loss: (c) => {
    const capacity = heatCapacityJPerK(n(c, 'V'), sp(n(c, 'SA')), n(c, 't1'), n(c, 't2'));
    return 60 * reached(warmingTime(capacity, n(c, 't1'), n(c, 't2'), n(c, 'P'), 0, 20));
  },
  time_to_target_with_heat_loss: (c) =>
    3600 *
    reached(
      warmingTime(heatCapacity(c), n(c, 'T0'), n(c, 'T_target'), n(c, 'P'), n(c, 'UA'), n(c, 'T_ambient')),
    ),
  time_constant: (c) => 3600 * timeConstantHours(heatCapacity(c), n(c, 'UA')),
  steady_temperature_with_heater: (c) => steadyTemperatureC(n(c, 'P'), n(c, 'UA'), n(c, 'T_ambient')),
  remaining_fraction_batch: (c) => soluteRemainingBatch(n(c, 'n'), n(c, 'v') / n(c, 'V')),
  remaining_fraction_continuous: (c) => soluteRemainingContinuous(n(c, 'v') / n(c, 'V')),
  well_mixed_concentration_buildup: (c) => {
    const perDay = 24;
    const production = (n(c, 'q') / n(c, 'V')) * perDay;
    return concentrationAfterMgPerL(0, 0, production, n(c, 'n') * perDay, n(c, 't') / 1440);
  },
  salinity_after_simultaneous_in_out: (c) => drift(c).salinity,
  volume_after_simultaneous_in_out: (c) => drift(c).volumeL,
  salinity_after_batch_changes: (c) =>
    afterExchange(n(c, 'S0'), n(c, 'S_new'), soluteRemainingBatch(n(c, 'n'), n(c, 'v') / n(c, 'V'))),
  exchange_needed_for_remaining_fraction: (c) => {
    const mode = raw<string>(c, 'mode');
    if (mode === 'continuous') return volumesNeeded(n(c, 'fraction')) * n(c, 'V');
    return changesNeeded(n(c, 'fraction'), Number(mode.replace('batch v=', '')) / n(c, 'V'));
  },
  unit_conversion_psf_to_kPa: (c) => readQuantity(`${n(c, 'load')} lbf/ft2`, 'pressure'),
  reference_live_load_dwelling_non_sleeping_rooms: () => DWELLING_LIVE_LOAD_LBF_PER_FT2,
  floor_pressure_under_vessel_footprint: floor,
  contents_horizontal_cylinder_flat_ends: (c) =>
    contentsLyingCylinderL(n(c, 'D') * 1000, n(c, 'L') * 1000, n(c, 'h') * 1000),
  fraction_full_horizontal_cylinder: (c) =>
    contentsLyingCylinderL(1000, 1000, n(c, 'h_over_D') * 1000) / contentsLyingCylinderL(1000, 1000, 1000),
  contents_vertical_cylinder: (c) => contentsUprightCylinderL(n(c, 'D') * 1000, n(c, 'h') * 1000),
  contents_rectangular: (c) => contentsBoxL(n(c, 'L') * 1000, n(c, 'W') * 1000, n(c, 'h') * 1000),
  level_from_contents_horizontal_cylinder: (c) =>
    levelLyingCylinderMm(n(c, 'D') * 1000, n(c, 'L') * 1000, n(c, 'V')) / 1000,
};

/** Quantities of the list that no function of ours answers, and why. */
export const UNMAPPED: Readonly<Record<string, string>> = {
  practical_salinity_from_conductivity_ratio: 'at 2000 dbar: the pressure term of PSS-78 has no use in a vat',
  osmotic_pressure_NaCl_ideal_vant_hoff:
    "van 't Hoff's law is 3 to 7 % too high for sodium chloride; the form of ASTM D4516 is used",
  ro_temperature_correction_ASTM_default:
    "the standard's fallback 1.03^(t-25) is not used: the membrane's constant K is, with the thin-film default",
  reference_imposed_load_category_A_floors_range:
    'the figures are known from memory only, so no function prints them; the caution cites IRC table R301.5',
};

/** Cases beyond the range of the formula we use: ours refuses where theirs goes on. */
export const REFUSED: Readonly<Record<string, string>> = {
  'rhogrid-114': '45 g/kg is outside 0 to 42 of Millero & Poisson 1981',
  'rhogrid-116': '45 g/kg is outside 0 to 42 of Millero & Poisson 1981',
};

/**
 * Cases whose printed value is itself rounded by as much as the tolerance allows: held to every printed digit instead.
 */
export const PRINTED_DIGITS: Readonly<Record<string, number>> = {
  // 15/45 is 33.33333...; the case prints 33.3333 and allows 0.0000333333, a hair less than what was cut off.
  'rec-319': 6,
};
