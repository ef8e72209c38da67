// The shape of a vessel, from the file and as a calibration table; the geometry itself is engineering's.
import { contentsBoxL, contentsLyingCylinderL, contentsUprightCylinderL } from '../engineering/vessels.ts';
import { type Read, readFile, type Written } from './file/declare.ts';
import { Shape as SHAPE } from './file/parts.ts';
import type { Shape } from './plant.ts';

type ShapePart = ReturnType<typeof SHAPE>;
export type ShapeFile = Written<ShapePart>;

/** With this many straight pieces a lying cylinder is off by less than 0.1 % of what it holds. */
const PIECES = 64;

export function heightOf(shape: Shape): number {
  return shape.kind === 'lying-cylinder' ? shape.diameterMm : shape.heightMm;
}

/** Contents in litres at a level in mm, 0 to the height. @throws OutOfRange for sizes that no vessel has */
export function contentsAt(shape: Shape, levelMm: number): number {
  switch (shape.kind) {
    case 'box':
      return contentsBoxL(shape.lengthMm, shape.widthMm, levelMm);
    case 'upright-cylinder':
      return contentsUprightCylinderL(shape.diameterMm, levelMm);
    case 'lying-cylinder':
      return contentsLyingCylinderL(shape.diameterMm, shape.lengthMm, levelMm);
  }
}

/** Pairs of level (mm) and contents (L) from the floor to the rim, for straight lines between them. */
export function tableOf(shape: Shape): readonly (readonly [number, number])[] {
  const height = heightOf(shape);
  if (shape.kind !== 'lying-cylinder') {
    return [
      [0, 0],
      [height, contentsAt(shape, height)],
    ];
  }
  return Array.from({ length: PIECES + 1 }, (_, piece) => {
    // Equal angles, not equal levels: the contents bend hardest near the floor and the crown.
    const level = piece === PIECES ? height : (height * (1 - Math.cos((Math.PI * piece) / PIECES))) / 2;
    return [level, contentsAt(shape, level)] as const;
  });
}

export function shapeOf(shape: Read<ShapePart>): Shape {
  switch (shape.kind) {
    case 'upright-cylinder':
      return { kind: shape.kind, diameterMm: shape.diameter, heightMm: shape.height };
    case 'lying-cylinder':
      return { kind: shape.kind, diameterMm: shape.diameter, lengthMm: shape.length };
    case 'box':
      return {
        kind: shape.kind,
        lengthMm: shape.length,
        widthMm: shape.width,
        heightMm: shape.height,
      };
  }
}

/** The same of a shape as it is written. */
export const writtenShape = (shape: ShapeFile): Shape => shapeOf(readFile(SHAPE(), shape).values);
