// Two published recipes for artificial seawater, kept for two lessons.
//
// The first: hydrated salts bring their own water. What Kester's recipe puts on the balance is 17 % more than the salt
// that ends up dissolved, so a mix made of hydrates has a yield of 0.85 and not 1.
// The second: Kester weighs for a kilogram of solution, ASTM D1141 for a litre. The sums, 35.17 g/kg and 36.03 g/L, are
// the same sea; taken for one another they are 2.4 % apart.

export interface Ingredient {
  readonly salt: string;
  /** Dry salt that dissolves, without water of crystallisation. */
  readonly anhydrousG: number;
  /** What goes on the balance. */
  readonly weighedG: number;
}

const MOL_PER_KG_MG = 0.05327;
const MOL_PER_KG_CA = 0.01033;
const MOL_PER_KG_SR = 0.00009;

/**
 * For 1 kg of solution of salinity 35: Kester, Duedall, Connors & Pytkowicz 1967, Limnology and Oceanography 12,
 * 176-179, table 1. Molar masses: IUPAC conventional atomic weights.
 */
export const KESTER_1967: readonly Ingredient[] = [
  { salt: 'NaCl', anhydrousG: 23.926, weighedG: 23.926 },
  { salt: 'Na2SO4', anhydrousG: 4.008, weighedG: 4.008 },
  { salt: 'KCl', anhydrousG: 0.677, weighedG: 0.677 },
  { salt: 'NaHCO3', anhydrousG: 0.196, weighedG: 0.196 },
  { salt: 'KBr', anhydrousG: 0.098, weighedG: 0.098 },
  { salt: 'H3BO3', anhydrousG: 0.026, weighedG: 0.026 },
  { salt: 'NaF', anhydrousG: 0.003, weighedG: 0.003 },
  { salt: 'MgCl2.6H2O', anhydrousG: MOL_PER_KG_MG * 95.211, weighedG: MOL_PER_KG_MG * 203.303 },
  { salt: 'CaCl2.2H2O', anhydrousG: MOL_PER_KG_CA * 110.984, weighedG: MOL_PER_KG_CA * 147.015 },
  { salt: 'SrCl2.6H2O', anhydrousG: MOL_PER_KG_SR * 158.526, weighedG: MOL_PER_KG_SR * 266.618 },
];

/** For 1 L of substitute ocean water: ASTM D1141-98 (reapproved 2021), from memory. All masses anhydrous. */
export const ASTM_D1141_G_PER_L: readonly Ingredient[] = (
  [
    ['NaCl', 24.53],
    ['MgCl2', 5.2],
    ['Na2SO4', 4.09],
    ['CaCl2', 1.16],
    ['KCl', 0.695],
    ['NaHCO3', 0.201],
    ['KBr', 0.101],
    ['H3BO3', 0.027],
    ['SrCl2', 0.025],
    ['NaF', 0.003],
  ] as const
).map(([salt, grams]) => ({ salt, anhydrousG: grams, weighedG: grams }));

/** Salt that dissolves over salt that is weighed: the yield of a mix of these ingredients. */
export function recipeYield(recipe: readonly Ingredient[]): number {
  return total(recipe, 'anhydrousG') / total(recipe, 'weighedG');
}

/** Sum of a recipe in grams, dry or as weighed. */
export function total(recipe: readonly Ingredient[], column: 'anhydrousG' | 'weighedG'): number {
  return recipe.reduce((sum, ingredient) => sum + ingredient[column], 0);
}
