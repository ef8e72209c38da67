// The station drawn to scale: an elevation with the heights of floats and pipe ends, and a floor plan. Plain SVG, black on
// white, one scale for both directions; a bar says how long a metre is.
import type { Design } from '../design.ts';
import type { Marks } from '../marks.ts';
import type { Markup } from '../markup.ts';
import type { Vat } from '../site.ts';
import { heightMm, levelMm, rimM } from '../vat-level.ts';
import { type Canvas, canvas, drawn, MARGIN, type Point, type Say, WIDTH } from './canvas.ts';
import { PUMP_M, PURIFIER, pumpsOf, runsOf, SYSTEM, widthM } from './pipes.ts';

/** Between the things of an elevation, px: room for what is written beside them, and for a pipe. */
const BESIDE = 112;
const ELEVATION_HEIGHT = 400;
const PLAN_HEIGHT = 220;

const depthM = ({ body }: Vat): number => (body.kind === 'box' ? body.widthMm : body.diameterMm) / 1000;

/** What is seen from the front. */
export function elevation(design: Design, say: Say): Markup {
  const { site, fresh, mixing, freshMarks, mixingMarks, supply } = design;
  const freshStandM = site.vats.freshStandMm / 1000;
  const mixingStandM = site.vats.mixingStandMm / 1000;
  const levelM = site.system.levelM ?? { least: supply.outletM - 0.1, most: supply.outletM - 0.05 };
  const drainM = site.drain.outletM ?? 0;
  const mostY = Math.max(
    site.room.heightMm / 1000,
    supply.outletM + 0.3,
    levelM.most + 0.3,
    PURIFIER.bottomM + PURIFIER.heightM,
  );
  const leastY = Math.min(0, levelM.least - SYSTEM.depthM, drainM, supply.outletM) - 0.45;
  const thingsM = PURIFIER.widthM + widthM(fresh) + widthM(mixing) + SYSTEM.widthM;
  const scale = Math.min((WIDTH - 2 * MARGIN - 3.5 * BESIDE) / thingsM, ELEVATION_HEIGHT / (mostY - leastY));
  const besideM = BESIDE / scale;
  const freshX = PURIFIER.widthM + besideM / 2;
  const mixingX = freshX + widthM(fresh) + besideM;
  const systemX = mixingX + widthM(mixing) + besideM;
  const draw = canvas(0, mostY, scale, say);
  const runs = runsOf(design, { aside: 16 / scale, freshX, mixingX, systemX, levelM, drainM });
  return drawn(
    2 * MARGIN + (mostY - leastY) * scale,
    'Elevation',
    'The numbers are in the list of pipes and parts.',
    [
      draw.line(
        [
          [0, 0],
          [mixingX + widthM(mixing) + besideM / 2, 0],
        ],
        'floor',
      ),
      draw.box(0, PURIFIER.bottomM, PURIFIER.widthM, PURIFIER.heightM),
      draw.text(PURIFIER.widthM / 2, PURIFIER.bottomM + PURIFIER.heightM + 6 / scale, 'Purifier'),
      vatPart(draw, fresh, freshMarks, freshX, freshStandM, 1, 'Fresh vat', 14 / scale),
      vatPart(draw, mixing, mixingMarks, mixingX, mixingStandM, 2, 'Mixing vat', 14 / scale),
      draw.box(systemX, levelM.least - SYSTEM.depthM, SYSTEM.widthM, SYSTEM.depthM, 'water'),
      draw.box(
        systemX,
        levelM.least - SYSTEM.depthM,
        SYSTEM.widthM,
        levelM.most - levelM.least + SYSTEM.depthM + 0.12,
      ),
      draw.text(systemX + SYSTEM.widthM / 2, levelM.least - SYSTEM.depthM - 14 / scale, 'System'),
      draw.labels(systemX + SYSTEM.widthM, [
        [levelM.most, site.system.levelM === null ? 'level not stated' : `most ${levelM.most.toFixed(2)} m`],
        ...(site.system.levelM === null
          ? []
          : [[levelM.least, `least ${levelM.least.toFixed(2)} m`] as const]),
      ]),
      ...runs.map(({ points }) => draw.line(points)),
      ...pumpsOf(design, 16 / scale, freshX, mixingX, systemX).map(([x, y]) =>
        draw.ring(x, y, PUMP_M, 'disc'),
      ),
      ...runs.map(
        ({ number, at: [x, y] }) => draw.ring(x, y, 9 / scale, 'disc') + draw.text(x, y - 4 / scale, number),
      ),
      bar(draw, 1, leastY),
    ],
  );
}

function bar(draw: Canvas, endX: number, y: number): string {
  return (
    draw.line(
      [
        [endX - 1, y + 0.05],
        [endX, y + 0.05],
      ],
      'floor',
    ) + draw.text(endX - 0.5, y + 0.09, '1 m')
  );
}

function vatPart(
  draw: Canvas,
  vat: Vat,
  marks: Marks,
  x: number,
  standM: number,
  number: number,
  name: string,
  belowM: number,
): string {
  const at = (litres: number) => levelMm(vat, litres);
  const floats: readonly (readonly [string, number])[] = [
    [`LSHH-${number}`, marks.overflowL],
    [`LSH-${number}`, marks.highL],
    [`LSL-${number}`, marks.lowL],
  ];
  const width = widthM(vat);
  return [
    ...(standM > 0 ? [draw.box(x, 0, width, standM, 'stand')] : []),
    draw.box(x, standM, width, at(marks.stopAtL) / 1000, 'water'),
    draw.box(x, standM, width, heightMm(vat) / 1000),
    draw.text(x + width / 2, -belowM, name),
    ...floats.map(([, litres]) =>
      draw.line(
        [
          [x, standM + at(litres) / 1000],
          [x + width, standM + at(litres) / 1000],
        ],
        'mark',
      ),
    ),
    draw.labels(x + width, [
      [standM + rimM(vat), `rim ${(1000 * (standM + rimM(vat))).toFixed(0)} mm`],
      ...floats.map(
        ([tag, litres]) => [standM + at(litres) / 1000, `${tag} ${at(litres).toFixed(0)} mm`] as const,
      ),
    ]),
  ].join('');
}

/** What is seen from above: the free floor, the vats beside each other, kept clear as the site asks. */
export function floorPlan({ site, fresh, mixing }: Design, say: Say): Markup {
  const { lengthMm, widthMm, doors } = site.room;
  const lengthM = lengthMm / 1000;
  const roomM = widthMm / 1000;
  const clearM = site.vats.clearanceMm / 1000;
  const gapM = site.vats.gapMm / 1000;
  const along = 2 * clearM + widthM(fresh) + gapM + widthM(mixing) <= lengthM + 1e-9;
  const scale = Math.min((WIDTH - 2 * MARGIN) / (lengthM + 0.2), PLAN_HEIGHT / (roomM + 0.5));
  const draw = canvas(0, roomM + 0.1, scale, say);
  const place = (vat: Vat, beforeM: number, name: string): string => {
    const [x, y] = along
      ? [clearM + beforeM, roomM - clearM - depthM(vat)]
      : [clearM, roomM - clearM - beforeM - depthM(vat)];
    const middle: Point = [x + widthM(vat) / 2, y + depthM(vat) / 2];
    const round = vat.body.kind === 'cylinder' && !vat.lying;
    return (
      (round ? draw.ring(...middle, widthM(vat) / 2) : draw.box(x, y, widthM(vat), depthM(vat))) +
      draw.text(middle[0], middle[1], name)
    );
  };
  const next = along ? widthM(fresh) + gapM : depthM(fresh) + gapM;
  return drawn(
    2 * MARGIN + (roomM + 0.55) * scale,
    'Floor plan',
    `Free floor ${lengthMm} x ${widthMm} mm; the vats beside each other.`,
    [
      draw.box(0, 0, lengthM, roomM, 'floor'),
      place(fresh, 0, 'Fresh vat'),
      place(mixing, next, 'Mixing vat'),
      draw.text(
        0,
        -0.12,
        `${lengthMm} x ${widthMm} mm free floor; narrowest way in ${Math.min(...doors.map((door) => door.widthMm))} mm`,
        'start',
      ),
      bar(draw, 1, -0.38),
    ],
  );
}
