// How much a vessel of a known shape holds at a given level. Geometry of the box, the upright cylinder and the circular
// segment; millimetres in, litres out.
import type { Shape } from './plant.ts';
import { readStation } from './quantities.ts';
import type { Shape as ShapeFile } from './station.generated.ts';

const MM3_PER_L = 1_000_000;
/** With this many straight pieces a lying cylinder is off by less than 0.1 % of what it holds. */
const PIECES = 64;

export function heightOf(shape: Shape): number {
  return shape.kind === 'lying-cylinder' ? shape.diameterMm : shape.heightMm;
}

/** Contents in litres at a level between 0 and the vessel's height, both in mm; levels outside are taken as the end. */
export function contentsAt(shape: Shape, levelMm: number): number {
  const level = Math.min(Math.max(levelMm, 0), heightOf(shape));
  if (shape.kind === 'box') return (shape.lengthMm * shape.widthMm * level) / MM3_PER_L;
  const radius = shape.diameterMm / 2;
  if (shape.kind === 'upright-cylinder') return (Math.PI * radius ** 2 * level) / MM3_PER_L;
  const above = radius - level;
  const segment =
    radius ** 2 * Math.acos(above / radius) -
    above * Math.sqrt(Math.max(0, level * (shape.diameterMm - level)));
  return (segment * shape.lengthMm) / MM3_PER_L;
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
    const level = (height * (1 - Math.cos((Math.PI * piece) / PIECES))) / 2;
    return [level, contentsAt(shape, level)] as const;
  });
}

export function shapeOf(shape: ShapeFile): Shape {
  const mm = (length: string) => readStation(length, 'length');
  switch (shape.kind) {
    case 'upright-cylinder':
      return { kind: shape.kind, diameterMm: mm(shape.diameter), heightMm: mm(shape.height) };
    case 'lying-cylinder':
      return { kind: shape.kind, diameterMm: mm(shape.diameter), lengthMm: mm(shape.length) };
    case 'box':
      return {
        kind: shape.kind,
        lengthMm: mm(shape.length),
        widthMm: mm(shape.width),
        heightMm: mm(shape.height),
      };
  }
}
