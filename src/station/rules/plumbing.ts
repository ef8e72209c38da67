// What several rules need to know about a sketch.
import type { FloatPosition, RoutePurpose, VesselRole } from '../plant.ts';
import { purposeOf } from '../purpose.ts';
import { entries, type Sketch, value } from '../sketch.ts';
import { dangles } from './references.ts';

export function roleOf({ file }: Sketch, vessel: string | undefined): VesselRole | undefined {
  return vessel === undefined ? undefined : file.vessels?.[vessel]?.role;
}

/** Undefined where an end or its role is not known. */
export function purposeIn(sketch: Sketch, route: { readonly from?: string; readonly to?: string }) {
  const [from, to] = [roleOf(sketch, route.from), roleOf(sketch, route.to)];
  if (from === undefined || to === undefined) return undefined;
  const hasFresh = vesselsOf(sketch, 'fresh').length > 0;
  return purposeOf({ from, to, loop: route.from === route.to, hasFresh });
}

export function vesselsOf(sketch: Sketch, role: VesselRole): readonly string[] {
  return entries(sketch, 'vessels')
    .filter(({ entry }) => entry.role === role)
    .map(({ id }) => id);
}

export function routesFor(sketch: Sketch, purpose: RoutePurpose) {
  return entries(sketch, 'routes').filter(({ entry }) => purposeIn(sketch, entry) === purpose);
}

/** Whether every route's ends and every vessel's role are known, so that "there is none" can be said. */
export function knowsThePlumbing(sketch: Sketch): boolean {
  return (
    sketch.isWhole('/vessels') &&
    sketch.isWhole('/routes') &&
    !dangles(sketch, 'routes') &&
    entries(sketch, 'routes').every(({ entry }) => purposeIn(sketch, entry) !== undefined)
  );
}

/** Capacity, margin and minimum of a vessel in litres, with the schema's defaults. */
export function boundsOf({ file }: Sketch, vessel: string) {
  const entry = file.vessels?.[vessel];
  const capacityL = value(entry?.capacity, 'volume');
  const share = (part: number) => (capacityL === undefined ? undefined : part * capacityL);
  const marginL = entry?.margin === undefined ? share(0.03) : value(entry.margin, 'volume');
  const minimumL = entry?.minimum === undefined ? share(0.05) : value(entry.minimum, 'volume');
  const brimL = capacityL === undefined || marginL === undefined ? undefined : capacityL - marginL;
  return { capacityL, minimumL, brimL };
}

export interface Mark {
  readonly pointer: string;
  readonly markL: number;
  readonly toleranceL: number;
}

/** The float of a vessel at a position, where its mark is known. */
export function floatAt(sketch: Sketch, vessel: string, position: FloatPosition): Mark | undefined {
  for (const { entry, pointer } of entries(sketch, 'sensors')) {
    if (entry.measures !== 'float' || entry.vessel !== vessel || entry.position !== position) continue;
    const markL = value(entry.mark, 'volume');
    if (markL === undefined) continue;
    const { capacityL = 0 } = boundsOf(sketch, vessel);
    const toleranceL = value(entry.tolerance, 'volume') ?? 0.01 * capacityL;
    return { pointer: `${pointer}/mark`, markL, toleranceL };
  }
  return undefined;
}

/** A number of litres for a sentence: three significant decimals are more than anybody measures. */
export function litres(amountL: number): string {
  return `${Number(amountL.toFixed(3))} L`;
}
