// What drawings are made of: lines, boxes, rings and words in metres, one scale for both directions, as plain SVG.
import { asMarkup, escaped, type Markup, markup } from '../markup.ts';

/** Turns the quantities of a text into the reader's units. */
export type Say = (text: string) => string;

export const WIDTH = 720;
export const MARGIN = 16;
const TEXT = 11;

export type Point = readonly [xM: number, yM: number];

export interface Canvas {
  readonly line: (points: readonly Point[], style?: string) => string;
  readonly box: (x: number, y: number, width: number, height: number, style?: string) => string;
  readonly ring: (x: number, y: number, radius: number, style?: string) => string;
  readonly text: (x: number, y: number, words: string, anchor?: string) => string;
  /** Words beside heights, moved apart where they would lie on each other. */
  readonly labels: (x: number, labels: readonly (readonly [yM: number, words: string])[]) => string;
}

/** Metres to the right and up; the drawing's own corner is its least x and y. */
export function canvas(leastX: number, mostY: number, scale: number, say: Say): Canvas {
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

export function drawn(height: number, title: string, words: string, parts: readonly string[]): Markup {
  return asMarkup(
    markup`<svg class="drawn" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${height.toFixed(0)}" width="${WIDTH}" role="img" aria-label="${`${title}. ${words}`}">${asMarkup(STYLE + parts.join(''))}</svg>`
      .markup,
  );
}
