// What a vessel holds at a level, what it weighs, and what that does to a floor. Inside measures throughout.
import { STANDARD_GRAVITY } from './constants.ts';
import { crossing } from './numeric.ts';
import { CONTENTS, hold, OutOfRange, type Range, VOLUME } from './range.ts';
import { seawaterDensity } from './seawater.ts';

export const SIZE: Range = { least: 1, most: 20_000, unit: 'mm' };
export const LEVEL: Range = { least: 0, most: 20_000, unit: 'mm' };
export const MASS: Range = { least: 0, most: 1e6, unit: 'kg' };
export const FOOTPRINT: Range = { least: 1e-4, most: 1e4, unit: 'm2' };

const MM3_PER_L = 1e6;

/** pi D^2 h / 4. @returns L @throws OutOfRange */
export function contentsUprightCylinderL(diameterMm: number, levelMm: number): number {
  hold('diameter', diameterMm, SIZE);
  hold('level', levelMm, LEVEL);
  return (Math.PI * diameterMm * diameterMm * levelMm) / 4 / MM3_PER_L;
}

/** L W h. @returns L @throws OutOfRange */
export function contentsBoxL(lengthMm: number, widthMm: number, levelMm: number): number {
  hold('length', lengthMm, SIZE);
  hold('width', widthMm, SIZE);
  hold('level', levelMm, LEVEL);
  return (lengthMm * widthMm * levelMm) / MM3_PER_L;
}

/**
 * A cylinder on its side with flat ends: L (r^2 acos((r-h)/r) - (r-h) sqrt(2 r h - h^2)).
 * @param levelMm 0 to the diameter
 * @returns L
 * @throws OutOfRange
 */
export function contentsLyingCylinderL(diameterMm: number, lengthMm: number, levelMm: number): number {
  hold('diameter', diameterMm, SIZE);
  hold('length', lengthMm, SIZE);
  hold('level', levelMm, { least: 0, most: diameterMm, unit: 'mm' });
  // Above the middle the empty part is the small one: so a full vessel holds exactly its cylinder and no hair more.
  const area =
    levelMm <= diameterMm / 2
      ? segmentMm2(diameterMm, levelMm)
      : (Math.PI * diameterMm * diameterMm) / 4 - segmentMm2(diameterMm, diameterMm - levelMm);
  return (lengthMm * area) / MM3_PER_L;
}

/** Area below a chord, accurate up to half the circle. */
function segmentMm2(diameterMm: number, heightMm: number): number {
  const radius = diameterMm / 2;
  const below = radius - heightMm;
  const chord = Math.sqrt(heightMm * (diameterMm - heightMm));
  // The angle is acos((r - h)/r); by its tangent it keeps its digits near the edge, where the cosine is all but 1.
  // There the difference of two all but equals may still come out a hair below nothing.
  return Math.max(0, radius * radius * Math.atan2(chord, below) - below * chord);
}

/** The inverse of contentsUprightCylinderL. @returns mm @throws OutOfRange */
export function levelUprightCylinderMm(diameterMm: number, contentsL: number): number {
  hold('contents', contentsL, CONTENTS);
  return contentsL / contentsUprightCylinderL(diameterMm, 1);
}

/** The inverse of contentsBoxL. @returns mm @throws OutOfRange */
export function levelBoxMm(lengthMm: number, widthMm: number, contentsL: number): number {
  hold('contents', contentsL, CONTENTS);
  return contentsL / contentsBoxL(lengthMm, widthMm, 1);
}

/** The inverse of contentsLyingCylinderL, by halving. @returns mm @throws OutOfRange */
export function levelLyingCylinderMm(diameterMm: number, lengthMm: number, contentsL: number): number {
  const full = contentsLyingCylinderL(diameterMm, lengthMm, diameterMm);
  hold('contents', contentsL, { least: 0, most: full, unit: 'L' });
  return crossing(
    (levelMm) => contentsLyingCylinderL(diameterMm, lengthMm, levelMm),
    contentsL,
    0,
    diameterMm,
  );
}

/** One mark of a vessel that was calibrated by pouring. */
export interface Mark {
  readonly levelMm: number;
  readonly contentsL: number;
}

/** A calibration that is none. */
export class TableError extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'TableError';
  }
}

/** Checks a calibration table once: at least two marks, levels and contents rising. @throws TableError */
export function checkMarks(marks: readonly Mark[]): void {
  if (marks.length < 2) throw new TableError('a calibration needs at least two marks');
  for (let next = 1; next < marks.length; next++) {
    const low = marks[next - 1] as Mark;
    const high = marks[next] as Mark;
    if (!(high.levelMm > low.levelMm && high.contentsL > low.contentsL)) {
      throw new TableError(
        `levels and contents of a calibration must rise: ${high.levelMm} mm with ${high.contentsL} L follows ` +
          `${low.levelMm} mm with ${low.contentsL} L`,
      );
    }
  }
}

/** Contents between the marks of a calibration, by straight lines; never beyond them. @throws OutOfRange, TableError */
export function contentsFromMarksL(marks: readonly Mark[], levelMm: number): number {
  return between(marks, levelMm, 'level', 'mm', 'levelMm', 'contentsL');
}

/** The inverse of contentsFromMarksL. @throws OutOfRange, TableError */
export function levelFromMarksMm(marks: readonly Mark[], contentsL: number): number {
  return between(marks, contentsL, 'contents', 'L', 'contentsL', 'levelMm');
}

function between(
  marks: readonly Mark[],
  x: number,
  quantity: string,
  unit: string,
  from: keyof Mark,
  to: keyof Mark,
): number {
  checkMarks(marks);
  for (let next = 1; next < marks.length; next++) {
    const low = marks[next - 1] as Mark;
    const high = marks[next] as Mark;
    if (x < low[from] || x > high[from]) continue;
    return low[to] + ((x - low[from]) / (high[from] - low[from])) * (high[to] - low[to]);
  }
  const least = (marks[0] as Mark)[from];
  const most = (marks.at(-1) as Mark)[from];
  throw new OutOfRange(quantity, x, { least, most, unit });
}

/** Mass of a vessel with its water. @returns kg @throws OutOfRange */
export function filledMassKg(
  volumeL: number,
  salinity: number,
  temperatureC: number,
  emptyMassKg: number,
): number {
  hold('volume', volumeL, VOLUME);
  hold('empty mass', emptyMassKg, MASS);
  return (volumeL * seawaterDensity(salinity, temperatureC)) / 1000 + emptyMassKg;
}

/**
 * What a mass does to the floor it stands on: m g / A, standard gravity. A metre of seawater alone is 10 kPa.
 * @param massKg 0 to 1000000 kg
 * @param areaM2 of what touches the floor; under feet it is far less than the plan of the vessel
 * @returns kPa (= kN/m2)
 * @throws OutOfRange
 */
export function floorPressureKpa(massKg: number, areaM2: number): number {
  hold('mass', massKg, MASS);
  hold('area', areaM2, FOOTPRINT);
  return (massKg * STANDARD_GRAVITY) / areaM2 / 1000;
}

/** Live load for which rooms of dwellings are designed, but bedrooms: International Residential Code, table R301.5. */
export const DWELLING_LIVE_LOAD_LBF_PER_FT2 = 40;
/** The same in kPa: a pound-force is 0.453 592 37 kg times standard gravity, a foot 0.3048 m (NIST SP 811). */
export const DWELLING_LIVE_LOAD_KPA =
  (DWELLING_LIVE_LOAD_LBF_PER_FT2 * 0.45359237 * STANDARD_GRAVITY) / 0.3048 ** 2 / 1000;

/**
 * The caution that belongs to a floor pressure. Never an approval: building codes give loads for whole rooms, exclude
 * heavy equipment (EN 1991-1-1, section 6), and know nothing of this floor's span, age or damp.
 */
export function floorCaution(pressureKpa: number): string {
  const times = pressureKpa / DWELLING_LIVE_LOAD_KPA;
  const compared =
    times > 1
      ? `${times.toFixed(1)} times what rooms of dwellings are commonly designed for (1.9 kPa, IRC table R301.5)`
      : 'below what rooms of dwellings are commonly designed for (1.9 kPa, IRC table R301.5), which is no approval';
  return `${compared}: ask a structural engineer`;
}
