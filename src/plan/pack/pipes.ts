// Where the pipes and pumps of an elevation go.
import type { Design } from '../design.ts';
import type { Vat } from '../site.ts';
import { rimM } from '../vat-level.ts';
import type { Point } from './canvas.ts';

/** Drawn, not measured: nobody states them. */
export const PURIFIER = { widthM: 0.4, heightM: 0.5, bottomM: 1 };
export const SYSTEM = { widthM: 0.8, depthM: 0.5 };
export const PUMP_M = 0.08;

/** One pipe: its number, its way, and where its number stands. */
interface Run {
  readonly number: string;
  readonly points: readonly Point[];
  readonly at: Point;
}

export const widthM = ({ body, lying }: Vat): number =>
  (body.kind === 'box' ? body.lengthMm : lying ? body.lengthMm : body.diameterMm) / 1000;

interface Places {
  /** Between a vat and the pipe beside it, m. */
  readonly aside: number;
  readonly freshX: number;
  readonly mixingX: number;
  readonly systemX: number;
  readonly levelM: { readonly least: number };
  readonly drainM: number;
}

/** Where the pumps stand: on the floor, left of what they draw from. */
export function pumpsOf(
  { transfer, supply, site }: Design,
  aside: number,
  freshX: number,
  mixingX: number,
  systemX: number,
): Point[] {
  const y = PUMP_M + 0.01;
  return [
    ...(transfer.line.curve === null || site.onePump ? [] : [[freshX - 2 * aside, y] as const]),
    ...(supply.line.curve === null ? [] : [[mixingX - 2 * aside, y] as const]),
    [systemX - aside, site.system.levelM === null ? supply.outletM - 0.3 : site.system.levelM.least - 0.15],
  ];
}

export function runsOf({ site, fresh, mixing, transfer, supply }: Design, places: Places): Run[] {
  const { aside, freshX, mixingX, systemX, levelM, drainM } = places;
  const freshM = site.vats.freshStandMm / 1000;
  const mixingM = site.vats.mixingStandMm / 1000;
  const overFresh = freshM + rimM(fresh) + 0.08;
  const overMixing = Math.max(transfer.outletM, mixingM + rimM(mixing)) + 0.08;
  const transferFrom = freshM + transfer.line.inletMm / 1000;
  const supplyFrom = mixingM + supply.line.inletMm / 1000;
  const top = Math.max(supply.outletM, mixingM + 0.05) + 0.06;
  const run = (number: string, at: Point, points: readonly Point[]): Run => ({ number, at, points });
  // Without a pump the pipe never lies lower than it ends.
  const falling = (number: string, fromX: number, fromM: number, toX: number, toM: number): Run =>
    run(
      number,
      [(fromX + toX) / 2, fromM],
      [
        [fromX, fromM],
        [toX, fromM],
        [toX, Math.min(toM, fromM)],
      ],
    );
  const transferFalls = falling('2', freshX + widthM(fresh), transferFrom, mixingX + 0.08, transfer.outletM);
  const supplyFalls = falling('3', mixingX + widthM(mixing), supplyFrom, systemX + 0.1, supply.outletM);
  const low = 0.09;
  return [
    run(
      '1',
      [freshX - aside / 2, overFresh],
      [
        [PURIFIER.widthM, PURIFIER.bottomM + 0.1],
        [freshX - aside / 2, PURIFIER.bottomM + 0.1],
        [freshX - aside / 2, overFresh],
        [freshX + 0.08, overFresh],
        [freshX + 0.08, freshM + rimM(fresh) - 0.03],
      ],
    ),
    transfer.line.curve === null
      ? transferFalls
      : run(
          '2',
          [mixingX - aside, overMixing - 2 * aside],
          [
            [freshX, transferFrom],
            [freshX - 2 * aside, transferFrom],
            [freshX - 2 * aside, low],
            [mixingX - aside, low],
            [mixingX - aside, overMixing],
            [mixingX + 0.08, overMixing],
            [mixingX + 0.08, Math.min(transfer.outletM, overMixing) - 0.03],
          ],
        ),
    supply.line.curve === null
      ? supplyFalls
      : run(
          '3',
          [systemX - 2 * aside, Math.max(top - 1.5 * aside, 0.35)],
          [
            [mixingX, supplyFrom],
            [mixingX - 2 * aside, supplyFrom],
            [mixingX - 2 * aside, low],
            [systemX - 2 * aside, low],
            [systemX - 2 * aside, top],
            [systemX + 0.1, top],
            [systemX + 0.1, supply.outletM],
          ],
        ),
    run(
      '4',
      [systemX + SYSTEM.widthM + 4 * aside, drainM + 0.12],
      [
        [systemX, levelM.least - 0.15],
        [systemX - aside, levelM.least - 0.15],
        [systemX - aside, Math.min(drainM, levelM.least - SYSTEM.depthM) - 0.08],
        [systemX + SYSTEM.widthM + 4 * aside, Math.min(drainM, levelM.least - SYSTEM.depthM) - 0.08],
        [systemX + SYSTEM.widthM + 4 * aside, drainM],
      ],
    ),
  ];
}
