// Vessels: contents, levels, weight, reserve.
import { CONTENTS, VOLUME } from '../engineering/range.ts';
import { LEAST_RESERVE_SHARE, reserveShare, reserveShortfallL } from '../engineering/reserve.ts';
import { DENSITY_TEMPERATURE, PRACTICAL_SALINITY } from '../engineering/seawater.ts';
import {
  contentsBoxL,
  contentsFromMarksL,
  contentsLyingCylinderL,
  contentsUprightCylinderL,
  FOOTPRINT,
  filledMassKg,
  floorCaution,
  floorPressureKpa,
  LEVEL,
  levelBoxMm,
  levelFromMarksMm,
  levelLyingCylinderMm,
  levelUprightCylinderMm,
  MASS,
  type Mark,
  SIZE,
} from '../engineering/vessels.ts';
import { type Entry, entry, input, type TableInput } from './entry.ts';

const GEOMETRY = 'geometry';
const COMMON_PRACTICE = 'common practice, no source';

const diameter = input.length(SIZE, 'inside');
const length = input.length(SIZE, 'inside');
const width = input.length(SIZE, 'inside');
const level = input.length(LEVEL, "of the water above the vessel's lowest point");
const contents = input.volume(CONTENTS, 'in the vessel');
const marks = {
  columns: { level: { dimension: 'length', unit: 'mm' }, contents: { dimension: 'volume', unit: 'L' } },
  about: 'the marks of a vessel calibrated by pouring, joined by straight lines',
} as const satisfies TableInput;
const waterOnHand = input.volume(CONTENTS, 'fresh and mixed together');
const systemVolume = input.volume(VOLUME, 'of the living system');

function marksOf(rows: readonly { readonly level: number; readonly contents: number }[]): Mark[] {
  return rows.map((row) => ({ levelMm: row.level, contentsL: row.contents }));
}

export const VESSELS: Readonly<Record<string, Entry>> = {
  'contents-upright-cylinder': entry({
    about: 'Contents of an upright cylinder',
    inputs: { diameter, level },
    dimension: 'volume',
    unit: 'L',
    source: GEOMETRY,
    compute: (v) => contentsUprightCylinderL(v.diameter, v.level),
  }),
  'contents-lying-cylinder': entry({
    about: 'Contents of a cylinder on its side with flat ends',
    inputs: { diameter, length, level },
    dimension: 'volume',
    unit: 'L',
    source: GEOMETRY,
    compute: (v) => contentsLyingCylinderL(v.diameter, v.length, v.level),
  }),
  'contents-box': entry({
    about: 'Contents of a box',
    inputs: { length, width, level },
    dimension: 'volume',
    unit: 'L',
    source: GEOMETRY,
    compute: (v) => contentsBoxL(v.length, v.width, v.level),
  }),
  'contents-from-marks': entry({
    about: 'Contents between the marks of a calibrated vessel',
    inputs: { marks, level },
    dimension: 'volume',
    unit: 'L',
    source: GEOMETRY,
    compute: (v) => contentsFromMarksL(marksOf(v.marks), v.level),
  }),
  'level-upright-cylinder': entry({
    about: 'Level in an upright cylinder',
    inputs: { diameter, contents },
    dimension: 'length',
    unit: 'mm',
    source: GEOMETRY,
    compute: (v) => levelUprightCylinderMm(v.diameter, v.contents),
  }),
  'level-lying-cylinder': entry({
    about: 'Level in a cylinder on its side with flat ends',
    inputs: { diameter, length, contents },
    dimension: 'length',
    unit: 'mm',
    source: GEOMETRY,
    compute: (v) => levelLyingCylinderMm(v.diameter, v.length, v.contents),
  }),
  'level-box': entry({
    about: 'Level in a box',
    inputs: { length, width, contents },
    dimension: 'length',
    unit: 'mm',
    source: GEOMETRY,
    compute: (v) => levelBoxMm(v.length, v.width, v.contents),
  }),
  'level-from-marks': entry({
    about: 'Level between the marks of a calibrated vessel',
    inputs: { marks, contents },
    dimension: 'length',
    unit: 'mm',
    source: GEOMETRY,
    compute: (v) => levelFromMarksMm(marksOf(v.marks), v.contents),
  }),
  'filled-mass': entry({
    about: 'Mass of a vessel with its water',
    inputs: {
      volume: input.volume(VOLUME, 'of the water'),
      practicalSalinity: input.salinity(PRACTICAL_SALINITY),
      temperature: input.temperature(DENSITY_TEMPERATURE),
      emptyMass: { dimension: 'mass', unit: 'kg', range: MASS, about: 'of the empty vessel' },
    },
    dimension: 'mass',
    unit: 'kg',
    source: 'Millero & Poisson 1981',
    compute: (v) => filledMassKg(v.volume, v.practicalSalinity, v.temperature, v.emptyMass),
  }),
  'floor-pressure': entry({
    about: 'What a mass does to the floor it stands on; never an approval',
    inputs: {
      mass: { dimension: 'mass', unit: 'kg', range: MASS, about: 'of the vessel with its water' },
      area: { dimension: 'area', unit: 'm2', range: FOOTPRINT, about: 'that touches the floor' },
    },
    dimension: 'pressure',
    unit: 'kPa',
    source: 'm g / A, standard gravity 9.80665 m/s2',
    compute: (v) => {
      const value = floorPressureKpa(v.mass, v.area);
      return { value, note: floorCaution(value) };
    },
  }),
  'reserve-share': entry({
    about: "Water on hand as a share of the system's volume; a fifth is usual",
    inputs: { waterOnHand, systemVolume },
    dimension: 'ratio',
    unit: '1',
    source: COMMON_PRACTICE,
    compute: (v) => reserveShare(v.waterOnHand, v.systemVolume),
  }),
  'reserve-shortfall': entry({
    about: 'Water missing to the reserve',
    inputs: {
      waterOnHand,
      systemVolume,
      leastShare: {
        ...input.ratio({ least: 0, most: 2, unit: '1' }, 'wanted on hand'),
        default: LEAST_RESERVE_SHARE,
      },
    },
    dimension: 'volume',
    unit: 'L',
    source: COMMON_PRACTICE,
    compute: (v) => reserveShortfallL(v.waterOnHand, v.systemVolume, v.leastShare),
  }),
};
