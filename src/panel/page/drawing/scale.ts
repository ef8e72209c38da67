// Vessels as large as they are beside each other: their own measures where the file has them, else a cube of their volume.
import { levelLyingCylinderMm } from '../../../engineering/vessels.ts';
import type { Vessel } from '../../../station/plant.ts';
import type { Standing } from '../../contract.ts';

export interface Box {
  readonly width: number;
  readonly height: number;
  /** Height of the surface above the bottom, px, for so many litres. */
  readonly surface: (litres: number) => number;
  readonly lying: boolean;
}

interface Outline {
  readonly widthMm: number;
  readonly heightMm: number;
  readonly levelMm: (litres: number) => number;
  readonly lying: boolean;
}

/** Less than this nobody can see, nor hit with a finger. */
const LEAST_PX = 26;

export function outlineOf({ shape, capacityL }: Vessel): Outline {
  const linear = (heightMm: number) => (litres: number) => (heightMm * litres) / capacityL;
  if (shape === null) {
    const side = Math.cbrt(capacityL * 1e6);
    return { widthMm: side, heightMm: side, levelMm: linear(side), lying: false };
  }
  if (shape.kind === 'lying-cylinder') {
    const { lengthMm, diameterMm } = shape;
    return {
      widthMm: lengthMm,
      heightMm: diameterMm,
      // The file's capacity may lie below the geometric one: the brim is what the owner says it is.
      levelMm: (litres) => levelLyingCylinderMm(diameterMm, lengthMm, Math.min(litres, capacityL)),
      lying: true,
    };
  }
  const widthMm = shape.kind === 'box' ? shape.lengthMm : shape.diameterMm;
  return { widthMm, heightMm: shape.heightMm, levelMm: linear(shape.heightMm), lying: false };
}

/** One scale for all vessels of a station. @param widestPx and @param highestPx what the largest may take */
export function boxesOf(
  vessels: Standing['vessels'],
  widestPx: number,
  highestPx: number,
): Readonly<Record<string, Box>> {
  const finite = Object.values(vessels).filter(
    ({ capacityL }) => Number.isFinite(capacityL) && capacityL !== null,
  );
  const outlines = finite.map((vessel) => ({ id: vessel.id, ...outlineOf(vessel) }));
  const widestMm = Math.max(1, ...outlines.map(({ widthMm }) => widthMm));
  const highestMm = Math.max(1, ...outlines.map(({ heightMm }) => heightMm));
  const scale = Math.min(widestPx / widestMm, highestPx / highestMm);
  return Object.fromEntries(
    outlines.map(({ id, widthMm, heightMm, levelMm, lying }) => {
      const height = Math.max(LEAST_PX, heightMm * scale);
      const surface = (litres: number) =>
        Math.max(0, Math.min(height, (levelMm(Math.max(litres, 0)) / heightMm) * height));
      return [id, { width: Math.max(LEAST_PX, widthMm * scale), height, surface, lying }];
    }),
  );
}
