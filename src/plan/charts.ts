// Charts as inline SVG, drawn without a browser. Greys, dashes and shapes only: a printed page has no colours, and some
// eyes have none either. The drawing library puts counters and hover styles into its output; both are taken out, so that
// the same chart is the same text.
import type { EChartsCoreOption } from 'echarts/core';
import { escaped } from './markup.ts';
import type { Axis, Chart, Series } from './report.ts';

// The library in one file: its hundreds of modules would take eight times as long to load (0.48 s against 0.06 s). Once
// built, that file lies in `dist/` (see ship-charts.mjs) and the package is not installed.
// Its types speak of the package by its name alone, so the path is kept out of their sight.
const ONE_FILE: string = import.meta.url.endsWith('.ts')
  ? 'echarts/dist/echarts.esm.min.mjs'
  : './echarts/echarts.mjs';
const { init } = (await import(ONE_FILE)) as typeof import('echarts');

// Narrow on purpose: on a telephone the letters shrink with the picture.
const WIDTH = 480;
const HEIGHT = 288;
const LEFT = 52;
const RIGHT = 14;
const INK = '#222';
const FAINT = '#bbb';
const PAPER = '#fff';
const BAR = '#777';
const FONT = 'sans-serif';

/** @returns one `<svg>` element with a role and a label, and no script, style or link in it */
export function svgOf(chart: Chart): string {
  const drawing = init(null, null, { renderer: 'svg', ssr: true, width: WIDTH, height: HEIGHT });
  try {
    drawing.setOption(optionsOf(chart));
    return cleaned(drawing.renderToSVGString({ useViewBox: true }), chart);
  } finally {
    drawing.dispose();
  }
}

function optionsOf({ x, y, series }: Chart): EChartsCoreOption {
  return {
    animation: false,
    textStyle: { fontFamily: FONT, color: INK },
    grid: { left: LEFT, right: RIGHT, top: 12 + ROW_HEIGHT * rowsOf(series).length, bottom: 44 },
    xAxis: axis(x, 'bottom'),
    yAxis: axis(y, 'left'),
    series: series.map(drawn),
  };
}

function axis({ name, unit, categories, least, most }: Axis, side: 'bottom' | 'left') {
  return {
    ...(categories === undefined ? { type: 'value' } : { type: 'category', data: categories }),
    name: unit === '' ? name : `${name} (${unit})`,
    nameLocation: 'middle',
    nameGap: side === 'bottom' ? 26 : 36,
    nameTextStyle: { color: INK, fontSize: 12 },
    ...(least === undefined ? {} : { min: least }),
    ...(most === undefined ? {} : { max: most }),
    axisLine: { show: true, lineStyle: { color: INK } },
    axisTick: { show: true, alignWithLabel: true, lineStyle: { color: INK } },
    axisLabel: { color: INK, fontSize: 11 },
    splitLine: { show: side === 'left', lineStyle: { color: FAINT, width: 0.5 } },
  };
}

// The key is drawn here: the library's own shows a bead on every line, and no dashes.
const ROW_HEIGHT = 18;
const SAMPLE_WIDTH = 28;
/** Of a letter of this size, on the wide side. */
const LETTER_WIDTH = 6;

const keyWidth = ({ name }: Series): number => SAMPLE_WIDTH + 6 + name.length * LETTER_WIDTH + 14;

/** Names of the series, as many on a line as there is room for. */
function rowsOf(series: readonly Series[]): Series[][] {
  const rows: Series[][] = [];
  let left = 0;
  for (const each of series) {
    const row = rows.at(-1);
    const width = keyWidth(each);
    if (row === undefined || width > left) {
      rows.push([each]);
      left = WIDTH - LEFT - RIGHT - width;
    } else {
      row.push(each);
      left -= width;
    }
  }
  return rows;
}

function keyOf(series: readonly Series[]): string {
  const entries = rowsOf(series).flatMap((row, line) => {
    let x = LEFT;
    return row.map((each) => {
      const y = 12 + line * ROW_HEIGHT;
      const text = `<text x="${x + SAMPLE_WIDTH + 6}" y="${y + 4}" fill="${INK}">${escaped(each.name)}</text>`;
      const drawn = `${sample(each, x, y)}${text}`;
      x = Math.round(x + keyWidth(each));
      return drawn;
    });
  });
  return `<g font-family="${FONT}" font-size="12" aria-hidden="true">${entries.join('')}</g>`;
}

function sample({ stroke }: Series, x: number, y: number): string {
  if (stroke === 'bars' || stroke === 'hollow bars') {
    const fill = stroke === 'bars' ? BAR : PAPER;
    return `<rect x="${x + 6}" y="${y - 6}" width="16" height="11" fill="${fill}" stroke="${INK}"/>`;
  }
  if (stroke === 'points') {
    return `<path d="M${x + 8} ${y}l6 -6l6 6l-6 6z" fill="${PAPER}" stroke="${INK}" stroke-width="1.5"/>`;
  }
  const dash = stroke === 'solid' ? '' : ` stroke-dasharray="${DASHES[stroke].join(' ')}"`;
  const width = stroke === 'solid' ? 2 : 1.6;
  return `<path d="M${x} ${y}h${SAMPLE_WIDTH}" fill="none" stroke="${GREYS[stroke]}" stroke-width="${width}"${dash}/>`;
}

const DASHES = { solid: 'solid', dashed: [9, 5], dotted: [2, 4] } as const;
const GREYS = { solid: INK, dashed: '#444', dotted: '#666' } as const;

function drawn({ name, stroke, points }: Series) {
  const common = { name, silent: true, emphasis: { disabled: true } };
  const data = points.map(([across, up]) => [across, rounded(up)]);
  if (stroke === 'bars' || stroke === 'hollow bars') {
    const hollow = stroke === 'hollow bars';
    return {
      ...common,
      type: 'bar',
      barGap: '10%',
      barCategoryGap: '30%',
      data,
      itemStyle: { color: hollow ? PAPER : BAR, borderColor: INK, borderWidth: 1 },
    };
  }
  if (stroke === 'points') {
    return {
      ...common,
      type: 'scatter',
      symbol: 'diamond',
      symbolSize: 11,
      symbolKeepAspect: true,
      data,
      itemStyle: { color: PAPER, borderColor: INK, borderWidth: 1.5 },
    };
  }
  return {
    ...common,
    type: 'line',
    symbol: 'none',
    data,
    lineStyle: { color: GREYS[stroke], type: DASHES[stroke], width: stroke === 'solid' ? 2 : 1.6 },
    itemStyle: { color: GREYS[stroke] },
  };
}

/** Four digits are more than a chart shows; the rest would only make the page long. */
function rounded(value: number): number {
  return Number(value.toPrecision(4));
}

function cleaned(svg: string, { id, title, words, series }: Chart): string {
  return svg
    .replaceAll(/<style[\s\S]*?<\/style>/gu, '')
    .replaceAll(/<!\[CDATA\[[\s\S]*?\]\]>/gu, '')
    .replaceAll(/ (class|pointer-events|xml:space)="[^"]*"/gu, '')
    .replaceAll(/\bzr\d+-/gu, `${id}-`)
    .replaceAll(/ ecmeta_[a-z_]+="[^"]*"/gu, '')
    .replace(
      /<svg [^>]*?(viewBox="[^"]*")[^>]*>/u,
      `<svg xmlns="http://www.w3.org/2000/svg" $1 role="img" aria-label="${escaped(`${title}. ${words}`)}">`,
    )
    .replace(/<\/svg>\s*$/u, `${keyOf(series)}</svg>`);
}
