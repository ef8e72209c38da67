// Salinity, conductivity, density, heat, viscosity.
import {
  LINEAR_COEFFICIENT,
  LINEAR_TEMPERATURE,
  linearlyCompensated,
  linearlyUncompensated,
  NATURAL_WATER_TEMPERATURE,
  naturalWaterCompensated,
  practicalSalinityFromLinear,
  seawaterCompensated,
  seawaterUncompensated,
  USUAL_COEFFICIENT_PER_K,
} from '../engineering/compensation.ts';
import {
  dynamicViscosityPaS,
  GIBBS_SALINITY,
  GIBBS_TEMPERATURE,
  kinematicViscosityM2PerS,
  osmoticPressureKpa,
  seawaterSpecificHeat,
  thermalExpansionPerK,
  VISCOSITY_TEMPERATURE,
} from '../engineering/properties.ts';
import {
  CONDUCTIVITY,
  CONDUCTIVITY_TEMPERATURE,
  conductivityMsPerCm,
  DENSITY_TEMPERATURE,
  MASS_SALINITY,
  PRACTICAL_SALINITY,
  practicalSalinity,
  practicalSalinityFromReferenceSalinity,
  practicalSalinityFromRelativeDensity,
  RELATIVE_DENSITY,
  referenceSalinityGPerKg,
  relativeDensity,
  saltConcentrationMgPerL,
  seawaterDensity,
} from '../engineering/seawater.ts';
import { type Entry, entry, input, type QuantityInput } from './entry.ts';

const PSS_78 =
  'PSS-78, UNESCO Technical Papers in Marine Science 44 (Fofonoff & Millard 1983); below 2 Hill et al. 1986, IEEE J. Oceanic Eng. OE-11, 109, joined as in TEOS-10';
const ONE_ATMOSPHERE = 'Millero & Poisson 1981, Deep-Sea Res. 28A, 625; UNESCO 44';
const TEOS_10 = 'IAPWS R13-08 (2008) and SR7-09 (2009), that is TEOS-10, at one atmosphere';
const REFERENCE_COMPOSITION = 'Millero, Feistel, Wright & McDougall 2008, Deep-Sea Res. I 55, 50';
const ISO_7888 = 'ISO 7888:1985 (EN 27888:1993)';

const conductivity = (about: string): QuantityInput => ({
  dimension: 'conductivity',
  unit: 'mS/cm',
  range: CONDUCTIVITY,
  about,
});
const uncompensated = conductivity('at the temperature of the water, not compensated');
const compensated = conductivity('as shown, referred to 25 degC');
const coefficient: QuantityInput = {
  dimension: 'per-temperature',
  unit: '1/K',
  range: LINEAR_COEFFICIENT,
  default: USUAL_COEFFICIENT_PER_K,
  about: "the meter's temperature coefficient at 25 degC",
};
const probeTemperature = input.temperature(CONDUCTIVITY_TEMPERATURE);
const densityTemperature = input.temperature(DENSITY_TEMPERATURE);
const salinity = input.salinity(PRACTICAL_SALINITY);

export const SEAWATER: Readonly<Record<string, Entry>> = {
  'practical-salinity': entry({
    about: 'Practical salinity from a conductivity that is not compensated for temperature',
    inputs: { conductivity: uncompensated, temperature: probeTemperature },
    dimension: 'practical-salinity',
    unit: '1',
    source: PSS_78,
    compute: (v) => practicalSalinity(v.conductivity, v.temperature),
  }),
  'practical-salinity-from-compensated': entry({
    about: 'Practical salinity from a meter that compensates along a straight line',
    inputs: { compensatedConductivity: compensated, temperature: probeTemperature, coefficient },
    dimension: 'practical-salinity',
    unit: '1',
    source: `${ISO_7888} undone, then ${PSS_78}`,
    compute: (v) => practicalSalinityFromLinear(v.compensatedConductivity, v.temperature, v.coefficient),
  }),
  conductivity: entry({
    about: 'Conductivity of seawater at its temperature, not compensated',
    inputs: { practicalSalinity: salinity, temperature: probeTemperature },
    dimension: 'conductivity',
    unit: 'mS/cm',
    source: PSS_78,
    compute: (v) => conductivityMsPerCm(v.practicalSalinity, v.temperature),
  }),
  'seawater-conductivity-at-25': entry({
    about: 'Conductivity the same seawater has at 25 degC',
    inputs: { conductivity: uncompensated, temperature: probeTemperature },
    dimension: 'conductivity',
    unit: 'mS/cm',
    source: PSS_78,
    compute: (v) => seawaterCompensated(v.conductivity, v.temperature),
  }),
  'seawater-conductivity-from-25': entry({
    about: 'Conductivity at the temperature, of seawater whose conductivity at 25 degC is known',
    inputs: { compensatedConductivity: compensated, temperature: probeTemperature },
    dimension: 'conductivity',
    unit: 'mS/cm',
    source: PSS_78,
    compute: (v) => seawaterUncompensated(v.compensatedConductivity, v.temperature),
  }),
  'linear-conductivity-at-25': entry({
    about: 'What a meter with linear compensation shows',
    inputs: { conductivity: uncompensated, temperature: input.temperature(LINEAR_TEMPERATURE), coefficient },
    dimension: 'conductivity',
    unit: 'mS/cm',
    source: ISO_7888,
    compute: (v) => linearlyCompensated(v.conductivity, v.temperature, v.coefficient),
  }),
  'linear-conductivity-from-25': entry({
    about: 'What the water conducts when a meter with linear compensation shows this',
    inputs: {
      compensatedConductivity: compensated,
      temperature: input.temperature(LINEAR_TEMPERATURE),
      coefficient,
    },
    dimension: 'conductivity',
    unit: 'mS/cm',
    source: ISO_7888,
    compute: (v) => linearlyUncompensated(v.compensatedConductivity, v.temperature, v.coefficient),
  }),
  'natural-water-conductivity-at-25': entry({
    about: 'Conductivity of purified or tap water referred to 25 degC; never for seawater',
    inputs: { conductivity: uncompensated, temperature: input.temperature(NATURAL_WATER_TEMPERATURE) },
    dimension: 'conductivity',
    unit: 'mS/cm',
    source: `${ISO_7888}, natural waters`,
    compute: (v) => naturalWaterCompensated(v.conductivity, v.temperature),
  }),
  'seawater-density': entry({
    about: 'Density at one atmosphere',
    inputs: { practicalSalinity: salinity, temperature: densityTemperature },
    dimension: 'density',
    unit: 'kg/m3',
    source: ONE_ATMOSPHERE,
    compute: (v) => seawaterDensity(v.practicalSalinity, v.temperature),
  }),
  'relative-density': entry({
    about: 'Specific gravity: the sample over pure water, each at its temperature',
    inputs: {
      practicalSalinity: salinity,
      sampleTemperature: input.temperature(DENSITY_TEMPERATURE, 'of the sample'),
      referenceTemperature: input.temperature(DENSITY_TEMPERATURE, 'of the pure water it is compared with'),
    },
    dimension: 'number',
    unit: '1',
    source: `definition; ${ONE_ATMOSPHERE}`,
    compute: (v) => relativeDensity(v.practicalSalinity, v.sampleTemperature, v.referenceTemperature),
  }),
  'practical-salinity-from-relative-density': entry({
    about:
      'Practical salinity from a specific gravity; both temperatures of the instrument are part of the reading',
    inputs: {
      relativeDensity: input.number(RELATIVE_DENSITY, 'specific gravity'),
      sampleTemperature: input.temperature(DENSITY_TEMPERATURE, 'of the sample'),
      referenceTemperature: input.temperature(DENSITY_TEMPERATURE, 'of the pure water it is compared with'),
    },
    dimension: 'practical-salinity',
    unit: '1',
    source: `definition; ${ONE_ATMOSPHERE}`,
    compute: (v) =>
      practicalSalinityFromRelativeDensity(v.relativeDensity, v.sampleTemperature, v.referenceTemperature),
  }),
  'seawater-specific-heat': entry({
    about: 'Specific heat at one atmosphere',
    inputs: {
      practicalSalinity: input.salinity(GIBBS_SALINITY),
      temperature: input.temperature(GIBBS_TEMPERATURE),
    },
    dimension: 'specific-heat',
    unit: 'J/(kg K)',
    source: TEOS_10,
    compute: (v) => seawaterSpecificHeat(v.practicalSalinity, v.temperature),
  }),
  'thermal-expansion': entry({
    about: 'Relative growth of volume per kelvin',
    inputs: { practicalSalinity: salinity, temperature: densityTemperature },
    dimension: 'per-temperature',
    unit: '1/K',
    source: TEOS_10,
    compute: (v) => thermalExpansionPerK(v.practicalSalinity, v.temperature),
  }),
  'osmotic-pressure': entry({
    about: 'Osmotic pressure of seawater against pure water',
    inputs: {
      practicalSalinity: input.salinity(GIBBS_SALINITY),
      temperature: input.temperature(GIBBS_TEMPERATURE),
    },
    dimension: 'pressure',
    unit: 'kPa',
    source: TEOS_10,
    compute: (v) => osmoticPressureKpa(v.practicalSalinity, v.temperature),
  }),
  'dynamic-viscosity': entry({
    about: 'Dynamic viscosity',
    inputs: {
      practicalSalinity: input.salinity(GIBBS_SALINITY),
      temperature: input.temperature(VISCOSITY_TEMPERATURE),
    },
    dimension: 'dynamic-viscosity',
    unit: 'Pa s',
    source: 'Sharqawy, Lienhard & Zubair 2010, Desalination and Water Treatment 16, 354 (from memory)',
    compute: (v) => dynamicViscosityPaS(v.practicalSalinity, v.temperature),
  }),
  'kinematic-viscosity': entry({
    about: 'Kinematic viscosity, for pipe losses',
    inputs: {
      practicalSalinity: salinity,
      temperature: input.temperature({ ...DENSITY_TEMPERATURE, least: 0 }),
    },
    dimension: 'kinematic-viscosity',
    unit: 'm2/s',
    source: `Sharqawy et al. 2010 (from memory) over ${ONE_ATMOSPHERE}`,
    compute: (v) => kinematicViscosityM2PerS(v.practicalSalinity, v.temperature),
  }),
  'reference-salinity': entry({
    about: 'Salt by mass of solution ("ppt") from practical salinity',
    inputs: { practicalSalinity: salinity },
    dimension: 'mass-salinity',
    unit: 'g/kg',
    source: REFERENCE_COMPOSITION,
    compute: (v) => referenceSalinityGPerKg(v.practicalSalinity),
  }),
  'practical-salinity-from-reference-salinity': entry({
    about: 'Practical salinity from salt by mass of solution ("ppt")',
    inputs: {
      referenceSalinity: {
        dimension: 'mass-salinity',
        unit: 'g/kg',
        range: MASS_SALINITY,
        about: 'salt by mass of solution, never by volume',
      },
    },
    dimension: 'practical-salinity',
    unit: '1',
    source: REFERENCE_COMPOSITION,
    compute: (v) => practicalSalinityFromReferenceSalinity(v.referenceSalinity),
  }),
  'salt-concentration': entry({
    about: 'Salt by volume of solution',
    inputs: { practicalSalinity: salinity, temperature: densityTemperature },
    dimension: 'mass-concentration',
    unit: 'mg/L',
    source: `${REFERENCE_COMPOSITION}; ${ONE_ATMOSPHERE}`,
    compute: (v) => saltConcentrationMgPerL(v.practicalSalinity, v.temperature),
  }),
};
