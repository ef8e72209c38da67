// Seawater for this plant, from the published formulas and from nothing of the product: practical salinity of 1978 and the
// density of 1980 at the pressure of the air (UNESCO Technical Papers in Marine Science 44, 1983), temperatures in IPTS-68.

const A = [0.008, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081] as const;
const B = [0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144] as const;
const C = [0.6766097, 2.00564e-2, 1.104259e-4, -6.9698e-7, 1.0031e-9] as const;
const WATER = [999.842594, 6.793952e-2, -9.09529e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9] as const;
const SALT = [8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9] as const;
const SALT_1_5 = [-5.72466e-3, 1.0227e-4, -1.6546e-6] as const;
const SALT_2 = 4.8314e-4;
/** Conductivity of salinity 35 at 15 degC, mS/cm. */
const STANDARD = 42.914;
/** Grams of salt in a kilogram of the reference seawater of salinity 35 (TEOS-10). */
const REFERENCE_G_PER_KG = 35.16504;

const poly = (coefficients: readonly number[], x: number): number =>
  coefficients.reduceRight((sum, coefficient) => sum * x + coefficient, 0);

const t68 = (celsius: number): number => 1.00024 * celsius;

export function salinityOf(mSPerCm: number, celsius: number): number {
  const t = t68(celsius);
  const root = Math.sqrt(Math.max(0, mSPerCm / STANDARD / poly(C, t)));
  const warm = (t - 15) / (1 + 0.0162 * (t - 15));
  return poly(A, root) + warm * poly(B, root);
}

/** The other way round, by halving. */
export function conductivityOf(salinity: number, celsius: number): number {
  if (salinity < 0.05) return 0.003 + 1.9 * salinity;
  let [low, high] = [0, 120];
  for (let halving = 0; halving < 40; halving++) {
    const middle = (low + high) / 2;
    if (salinityOf(middle, celsius) < salinity) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** kg/L */
export function densityOf(salinity: number, celsius: number): number {
  const t = t68(celsius);
  const s = Math.max(0, salinity);
  return (poly(WATER, t) + poly(SALT, t) * s + poly(SALT_1_5, t) * s ** 1.5 + SALT_2 * s * s) / 1000;
}

/** Salt and water by mass, as practical salinity. */
export const salinityByMass = (saltKg: number, waterKg: number): number =>
  saltKg + waterKg < 1e-9 ? 0 : ((1000 * saltKg) / (saltKg + waterKg)) * (35 / REFERENCE_G_PER_KG);

/** Kilograms of salt in so many kilograms of solution. */
export const saltIn = (solutionKg: number, salinity: number): number =>
  (solutionKg * salinity * REFERENCE_G_PER_KG) / 35_000;
