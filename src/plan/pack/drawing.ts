// The station drawn to scale: an elevation with the heights of floats and pipe ends, and a floor plan. Plain SVG, black on
// white, one scale for both directions; a bar says how long a metre is.
import type { Design } from '../design.ts';
import type { Marks } from '../marks.ts';
import { asMarkup, escaped, type Markup, markup } from '../markup.ts';
import type { Vat } from '../site.ts';
import { heightMm, levelMm, rimM } from '../vat-level.ts';

/** Turns the quantities of a text into the reader's units. */
export type Say = (text: string) => string;

const WIDTH = 720;
const MARGIN = 16;
const TEXT = 11;
/** Between the things of an elevation, px: room for what is written beside them, and for a pipe. */
const BESIDE = 112;
const ELEVATION_HEIGHT = 330;
const PLAN_HEIGHT = 220;
const PURIFIER = { widthM: 0.4, heightM: 0.5, bottomM: 1 };
const SYSTEM = { widthM: 0.8, depthM: 0.5 };
const PUMP_M = 0.08;

type Point = readonly [xM: number, yM: number];

interface Canvas {
  readonly line: (points: readonly Point[], style?: string) => string;
  readonly box: (x: number, y: number, width: number, height: number, style?: string) => string;
  readonly ring: (x: number, y: number, radius: number, style?: string) => string;
  readonly text: (x: number, y: number, words: string, anchor?: string) => string;
  /** Words beside heights, moved apart where they would lie on each other. */
  readonly labels: (x: number, labels: readonly (readonly [yM: number, words: string])[]) => string;
}

/** Metres to the right and up; the drawing's own corner is its least x and y. */
function canvas(leastX: number, mostY: number, scale: number, say: Say): Canvas {
  const px = (x: number) => (MARGIN + (x - leastX) * scale).toFixed(1);
  const py = (y: number) => (MARGIN + (mostY - y) * scale).toFixed(1);
  const words = (x: string, y: string, text: string, anchor: string) =>
    `<text x="${x}" y="${y}" text-anchor="${anchor}">${escaped(say(text))}</text>`;
  return {
    line: (points, style = 'pipe') =>
      `<polyline class="${style}" points="${points.map(([x, y]) => `${px(x)},${py(y)}`).join(' ')}"/>`,
    box: (x, y, width, height, style = 'body') =>
      `<rect class="${style}" x="${px(x)}" y="${py(y + height)}" width="${(width * scale).toFixed(1)}" height="${(height * scale).toFixed(1)}"/>`,
    ring: (x, y, radius, style = 'body') =>
      `<circle class="${style}" cx="${px(x)}" cy="${py(y)}" r="${(radius * scale).toFixed(1)}"/>`,
    text: (x, y, text, anchor = 'middle') => words(px(x), py(y), text, anchor),
    labels: (x, labels) => {
      let lastY = Number.NEGATIVE_INFINITY;
      return labels
        .toSorted(([a], [b]) => b - a)
        .map(([y, text]) => {
          const at = Math.max(Number(py(y)), lastY + TEXT + 1);
          lastY = at;
          const from = px(x);
          const to = (Number(from) + 10).toFixed(1);
          const leader = `<polyline class="leader" points="${from},${py(y)} ${to},${at.toFixed(1)}"/>`;
          return leader + words((Number(to) + 2).toFixed(1), (at + 4).toFixed(1), text, 'start');
        })
        .join('');
    },
  };
}

const STYLE = `<style>
svg.drawn text { font: ${TEXT}px Arial, "Liberation Sans", sans-serif; fill: #111; stroke: #fff; stroke-width: 3px; paint-order: stroke; }
svg.drawn .body { fill: none; stroke: #111; stroke-width: 1.5; }
svg.drawn .water { fill: #e4e4e4; stroke: none; }
svg.drawn .stand { fill: none; stroke: #777; stroke-width: 1; stroke-dasharray: 3 2; }
svg.drawn .pipe { fill: none; stroke: #111; stroke-width: 2; }
svg.drawn .floor { fill: none; stroke: #111; stroke-width: 3; }
svg.drawn .leader, svg.drawn .mark { fill: none; stroke: #777; stroke-width: .7; }
svg.drawn .mark { stroke-dasharray: 4 2; }
svg.drawn .disc { fill: #fff; stroke: #111; stroke-width: 1; }
</style>`;

function drawn(height: number, title: string, words: string, parts: readonly string[]): Markup {
  return asMarkup(
    markup`<svg class="drawn" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${height.toFixed(0)}" width="${WIDTH}" role="img" aria-label="${`${title}. ${words}`}">${asMarkup(STYLE + parts.join(''))}</svg>`
      .markup,
  );
}

/** One pipe: its number, its way, and where its number stands. */
interface Run {
  readonly number: string;
  readonly points: readonly Point[];
  readonly at: Point;
}

const widthM = ({ body, lying }: Vat): number =>
  (body.kind === 'box' ? body.lengthMm : lying ? body.lengthMm : body.diameterMm) / 1000;
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
  const leastY = Math.min(0, levelM.least - SYSTEM.depthM, drainM, supply.outletM) - 0.25;
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
      draw.text(PURIFIER.widthM / 2, PURIFIER.bottomM + PURIFIER.heightM / 2, 'Purifier'),
      vatPart(draw, fresh, freshMarks, freshX, freshStandM, 1, 'Fresh vat'),
      vatPart(draw, mixing, mixingMarks, mixingX, mixingStandM, 2, 'Mixing vat'),
      draw.box(systemX, levelM.least - SYSTEM.depthM, SYSTEM.widthM, SYSTEM.depthM, 'water'),
      draw.box(
        systemX,
        levelM.least - SYSTEM.depthM,
        SYSTEM.widthM,
        levelM.most - levelM.least + SYSTEM.depthM + 0.12,
      ),
      draw.text(systemX + SYSTEM.widthM / 2, levelM.least - SYSTEM.depthM / 2, 'System'),
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
    draw.text(x + width / 2, standM + at(marks.stopAtL) / 2000, name),
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
function pumpsOf(
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

function runsOf({ site, fresh, mixing, transfer, supply }: Design, places: Places): Run[] {
  const { aside, freshX, mixingX, systemX, levelM, drainM } = places;
  const freshM = site.vats.freshStandMm / 1000;
  const mixingM = site.vats.mixingStandMm / 1000;
  const overFresh = freshM + rimM(fresh) + 0.08;
  const overMixing = Math.max(transfer.outletM, mixingM + rimM(mixing)) + 0.08;
  const transferFrom = freshM + transfer.line.inletMm / 1000;
  const supplyFrom = mixingM + supply.line.inletMm / 1000;
  const top = Math.max(supply.outletM, mixingM + 0.05) + 0.06;
  const run = (number: string, at: Point, points: readonly Point[]): Run => ({ number, at, points });
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
    run(
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
    run(
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
