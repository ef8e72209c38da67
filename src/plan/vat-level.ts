// Where the water stands in a vat, through the formulas of its shape.
import { PLAN_AREA } from '../engineering/transfer.ts';
import { levelBoxMm, levelLyingCylinderMm, levelUprightCylinderMm } from '../engineering/vessels.ts';
import { contentsAt, heightOf } from '../station/shape.ts';
import type { Vat } from './site.ts';

/** Height of the water over the vat's own bottom, mm; the brim and the bottom for contents beyond them. */
export function levelMm(vat: Vat, contentsL: number): number {
  const brimMm = heightOf(vat.shape);
  const geometricL = contentsAt(vat.shape, brimMm);
  // A stated capacity other than the geometric one is a measured one: the litres are scaled, the height stays.
  const litres = Math.min(Math.max(contentsL, 0), vat.capacityL) * (geometricL / vat.capacityL);
  const { shape } = vat;
  if (litres <= 0) return 0;
  if (shape.kind === 'upright-cylinder')
    return Math.min(brimMm, levelUprightCylinderMm(shape.diameterMm, litres));
  if (shape.kind === 'box') return Math.min(brimMm, levelBoxMm(shape.lengthMm, shape.widthMm, litres));
  return levelLyingCylinderMm(shape.diameterMm, shape.lengthMm, Math.min(litres, geometricL));
}

/** What it holds at a height over its own bottom, L: the inverse of levelMm. */
export function contentsL(vat: Vat, mm: number): number {
  const brimMm = heightOf(vat.shape);
  const geometricL = contentsAt(vat.shape, brimMm);
  return contentsAt(vat.shape, Math.min(Math.max(mm, 0), brimMm)) * (vat.capacityL / geometricL);
}

/** The same form in another size, as high as it is: for comparisons. */
export function resized(vat: Vat, capacityL: number): Vat {
  const heightMm = heightOf(vat.shape);
  const sideMm = Math.sqrt((capacityL * 1e6) / heightMm);
  return { ...vat, capacityL, shape: { kind: 'box', lengthMm: sideMm, widthMm: sideMm, heightMm } };
}

/** Height of its rim over the stand, m. */
export function rimM(vat: Vat): number {
  return heightMm(vat) / 1000;
}

/** Outside height as it stands. */
export function heightMm({ body, lying }: Vat): number {
  if (body.kind === 'box') return body.heightMm;
  return lying ? body.diameterMm : body.lengthMm;
}

/** Mean area of the surface while it empties, m2. */
export function planAreaM2(vat: Vat): number {
  return Math.max(PLAN_AREA.least, vat.capacityL / heightOf(vat.shape));
}

/** Of a target whose rising level a pipe does not feel, because it ends over the rim. */
export const UNFELT_AREA_M2 = PLAN_AREA.most;

/** `upright cylinder 700 x 850 mm`, inside. */
export function wordsOfShape({ shape }: Vat): string {
  switch (shape.kind) {
    case 'upright-cylinder':
      return `upright cylinder, diameter ${shape.diameterMm} mm, height ${shape.heightMm} mm`;
    case 'lying-cylinder':
      return `lying cylinder, diameter ${shape.diameterMm} mm, length ${shape.lengthMm} mm`;
    case 'box':
      return `box, ${shape.lengthMm} x ${shape.widthMm} x ${shape.heightMm} mm`;
  }
}
