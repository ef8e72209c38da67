// What else seawater is: how it holds heat, swells, flows, and pulls water through a membrane.
//
// Heat capacity, expansion and osmotic pressure are derivatives of one function, the Gibbs energy of seawater at one
// atmosphere: IAPWS R13-08 (2008) for the salt, IAPWS SR7-09 (2009) for the water, together TEOS-10. Its coefficients
// stand below, those of the terms that matter at one atmosphere; x is the square root of the reduced salinity and y the
// reduced temperature, and a row of SALT belongs to one power of x.
import { ICE_POINT_K } from './constants.ts';
import { derivative, polynomial } from './numeric.ts';
import { hold, type Range } from './range.ts';
import { DENSITY_TEMPERATURE, PRACTICAL_SALINITY, seawaterDensity } from './seawater.ts';

/** IAPWS R13-08 holds to 120 g/kg at one atmosphere; SR7-09 holds to 40 degC. */
export const GIBBS_SALINITY: Range = { least: 0, most: 119, unit: '1' };
export const GIBBS_TEMPERATURE: Range = { least: -2, most: 40, unit: 'degC' };
/** Sharqawy, Lienhard & Zubair 2010 hold from 0 to 180 degC and to 150 g/kg; nobody's vat is above 60. */
export const VISCOSITY_TEMPERATURE: Range = { least: 0, most: 60, unit: 'degC' };

const WATER = [
  101.342743139674, 5.90578347909402, -12357.785933039, 736.741204151612, -148.185936433658, 58.0259125842571,
  -18.9843846514172, 3.05081646487967,
];
const WATER_VOLUME = [
  100015.695367145, -270.983805184062, 1455.0364540468, -672.50778314507, 397.968445406972, -194.618310617595,
  63.5113936641785, -9.63108119393062,
];
const SALT = [
  [
    1416.27648484197, 168.072408311545, 880.031352997204, -225.267649263401, 91.4260447751259,
    -21.6603240875311, 2.13016970847183,
  ],
  [-2432.14662381794, -493.407510141682, -43.0664675978042, -10.0227370861875, 0.875600661808945],
  [
    2025.80115603697, 543.835333000098, -68.5572509204491, 49.3667694856254, -17.1397577419788,
    2.49697009569508,
  ],
  [-1091.66841042967, -196.028306689776],
  [374.60123787784, 36.7571622995805],
  [-48.5891069025409],
];
/** The term in x^2 ln x, which makes the first grain of salt dissolve so eagerly. */
const SALT_LOGARITHM = [5812.81456626732, 851.226734946706];
const SALT_VOLUME = [
  [-3310.49154044839, 729.116529735046, -860.764303783977, 694.244814133268, -297.728741987187],
  [199.459603073901, -175.292041186547, 383.058066002476, -460.319931801257, 234.565187611355],
  [-54.7919133532887, -22.6683558512829],
  [36.0284195611086],
];
const WATER_CURVATURE = secondDerivative(WATER);
const SALT_CURVATURE = SALT.map(secondDerivative);
const REDUCING_TEMPERATURE_K = 40;

/** The square root of practical salinity over 40: the reduced salinity of R13-08 is exactly that. */
function reducedRoot(salinity: number): number {
  return Math.sqrt(salinity / 40);
}

function secondDerivative(coefficients: readonly number[]): number[] {
  return coefficients.map((c, power) => power * (power - 1) * c).slice(2);
}

function holdGibbs(salinity: number, temperatureC: number): void {
  hold('practical salinity', salinity, GIBBS_SALINITY);
  hold('temperature', temperatureC, GIBBS_TEMPERATURE);
}

/**
 * Specific heat of seawater at one atmosphere: cp = -T d2g/dT2. Within 5 J/(kg K) of the older polynomial of Millero,
 * Perron & Desnoyers 1973 that UNESCO 44 prints.
 * @param salinity practical salinity, 0 to 119
 * @param temperatureC -2 to 40 degC
 * @returns J/(kg K)
 * @throws OutOfRange
 */
export function seawaterSpecificHeat(salinity: number, temperatureC: number): number {
  holdGibbs(salinity, temperatureC);
  const x = reducedRoot(salinity);
  const y = temperatureC / REDUCING_TEMPERATURE_K;
  let salt = 0;
  for (let row = SALT_CURVATURE.length - 1; row >= 0; row--) {
    salt = salt * x + polynomial(SALT_CURVATURE[row] as number[], y);
  }
  const curvature = (polynomial(WATER_CURVATURE, y) + x * x * salt) / REDUCING_TEMPERATURE_K ** 2;
  return -(temperatureC + ICE_POINT_K) * curvature;
}

/**
 * Thermal expansion of seawater at one atmosphere: (1/v) dv/dT.
 * @param salinity practical salinity, 0 to 42 (the density's range)
 * @param temperatureC -2 to 40 degC
 * @returns 1/K
 * @throws OutOfRange
 */
export function thermalExpansionPerK(salinity: number, temperatureC: number): number {
  hold('temperature', temperatureC, DENSITY_TEMPERATURE);
  const x = reducedRoot(salinity);
  const y = temperatureC / REDUCING_TEMPERATURE_K;
  let salt = 0;
  for (let row = SALT_VOLUME.length - 1; row >= 0; row--) {
    salt = salt * x + derivative(SALT_VOLUME[row] as number[], y);
  }
  // The reducing pressure is 1e8 Pa.
  const volumePerK = ((derivative(WATER_VOLUME, y) + x * x * salt) * 1e-8) / REDUCING_TEMPERATURE_K;
  return volumePerK * seawaterDensity(salinity, temperatureC);
}

/** What was salted twice, or stands at the bottom of a vat: as far as the equation of state of R13-08 reaches. */
export const BRINE_SALINITY: Range = { ...GIBBS_SALINITY };

/**
 * Density beyond practical salinity's 42, where Millero & Poisson end: the inverse of the specific volume dg/dp of
 * IAPWS R13-08 and SR7-09 at one atmosphere. Up to 42 it is seawaterDensity itself; the two meet within 0.02 kg/m3.
 * @param salinity practical salinity, beyond 42 as reference salinity over 1.00472, 0 to 119
 * @param temperatureC -2 to 40 degC
 * @returns kg/m3
 * @throws OutOfRange
 */
export function brineDensity(salinity: number, temperatureC: number): number {
  if (salinity <= PRACTICAL_SALINITY.most) return seawaterDensity(salinity, temperatureC);
  holdGibbs(salinity, temperatureC);
  const x = reducedRoot(salinity);
  const y = temperatureC / REDUCING_TEMPERATURE_K;
  let salt = 0;
  for (let row = SALT_VOLUME.length - 1; row >= 0; row--)
    salt = salt * x + polynomial(SALT_VOLUME[row] as number[], y);
  // The reducing pressure is 1e8 Pa.
  return 1e8 / (polynomial(WATER_VOLUME, y) + x * x * salt);
}

/**
 * Osmotic pressure of seawater against pure water: how hard the salt pulls. From the chemical potential of the water,
 * pi = -rho0 (g - S dg/dS) of the salt's part, at one atmosphere; the compression of the water under its own osmotic
 * pressure is left out, which costs 0.2 % at 45 g/kg.
 * @param salinity practical salinity, 0 to 119
 * @param temperatureC -2 to 40 degC
 * @returns kPa
 * @throws OutOfRange
 */
export function osmoticPressureKpa(salinity: number, temperatureC: number): number {
  holdGibbs(salinity, temperatureC);
  const x = reducedRoot(salinity);
  const y = temperatureC / REDUCING_TEMPERATURE_K;
  // For g = s f(x) with s = x^2, g - s dg/ds is -(s x / 2) df/dx; for g = s ln x it is -s / 2.
  let slope = 0;
  for (let row = SALT.length - 1; row > 0; row--)
    slope = slope * x + row * polynomial(SALT[row] as number[], y);
  const potential = -(x * x * (polynomial(SALT_LOGARITHM, y) + x * slope)) / 2;
  return (-potential * seawaterDensity(0, temperatureC)) / 1000;
}

/**
 * Dynamic viscosity: Sharqawy, Lienhard & Zubair 2010, Desalination and Water Treatment 16, 354-380, eqs. 22-23
 * (from memory; the pure-water part is checked against IAPWS R12-08).
 * @param salinity practical salinity, 0 to 119
 * @param temperatureC 0 to 60 degC
 * @returns Pa s
 * @throws OutOfRange
 */
export function dynamicViscosityPaS(salinity: number, temperatureC: number): number {
  hold('practical salinity', salinity, GIBBS_SALINITY);
  hold('temperature', temperatureC, VISCOSITY_TEMPERATURE);
  const t = temperatureC;
  const salt = (salinity * 35.16504) / 35_000;
  const water = 4.2844e-5 + 1 / (0.157 * (t + 64.993) ** 2 - 91.296);
  const linear = 1.541 + 1.998e-2 * t - 9.52e-5 * t * t;
  const square = 7.974 - 7.561e-2 * t + 4.724e-4 * t * t;
  return water * (1 + salt * (linear + salt * square));
}

/**
 * Kinematic viscosity, for the Reynolds number.
 * @param salinity practical salinity, 0 to 42
 * @param temperatureC 0 to 40 degC
 * @returns m2/s
 * @throws OutOfRange
 */
export function kinematicViscosityM2PerS(salinity: number, temperatureC: number): number {
  return dynamicViscosityPaS(salinity, temperatureC) / seawaterDensity(salinity, temperatureC);
}
