// One picture of the past: each line as the band between its least and its most, so that nothing short is lost. Grey like
// everything else; several lines are told apart by their dashes and their names. Beside it stands the same in words.
import { useEffect, useRef } from 'preact/hooks';
import uPlot from 'uplot';
import 'uplot/dist/uPlot.min.css';
import { simulated } from '../state/live.ts';
import { preferences } from '../state/preferences.ts';
import { clock, dateShort, month } from '../state/time.ts';
import { t } from '../texts.ts';
import { number } from '../units.ts';

export interface Line {
  readonly name: string;
  readonly least: readonly (number | null)[];
  readonly most: readonly (number | null)[];
}

export interface ChartProps {
  readonly label: string;
  readonly unit?: string;
  readonly atMs: readonly number[];
  readonly lines: readonly Line[];
  readonly fromMs: number;
  readonly toMs: number;
  /** A value in words, with its unit. */
  readonly write: (value: number) => string;
  /** Stretches worth marking, for example while an alarm stood. */
  readonly spans?: readonly { readonly fromMs: number; readonly toMs: number }[];
  readonly height?: number;
  /** Names moments where x is no wall time. */
  readonly writeAt?: (ms: number) => string;
  /** What can't be below nothing is drawn from nothing. */
  readonly fromZero?: boolean;
  /** One value for each day: no mark between two days. */
  readonly daily?: boolean;
}

const DASHES = [[], [6, 4], [2, 3], [10, 3, 2, 3]];
const HOUR_S = 3_600;
/** So few moments are drawn as dots as well: one alone makes no line. */
const FEW = 40;

export function Chart(props: ChartProps) {
  const { label, unit, lines, write } = props;
  const place = useRef<HTMLDivElement>(null);
  const reading = useRef<HTMLSpanElement>(null);
  const plot = useRef<uPlot | null>(null);
  /** What the plot that stands was made with: pouring the same in again would draw it twice. */
  const made = useRef<readonly Line[] | null>(null);
  const { theme, language } = preferences.value;
  const shape = lines.map(({ name }) => name).join('|');
  const isKnown = lines.some(({ most }) => most.some((value) => value !== null));

  // Made anew only when its shape or its colours change; new values are poured into the one that stands.
  useEffect(() => {
    const into = place.current;
    if (into === null) return;
    const make = () => {
      plot.current?.destroy();
      plot.current = new uPlot(optionsOf(props, into, reading), dataOf(props), into);
      made.current = lines;
    };
    make();
    const dark = matchMedia('(prefers-color-scheme: dark)');
    dark.addEventListener('change', make);
    const resized = new ResizeObserver(() => {
      plot.current?.setSize({ width: into.clientWidth, height: props.height ?? HEIGHT_PX });
    });
    resized.observe(into);
    return () => {
      dark.removeEventListener('change', make);
      resized.disconnect();
      plot.current?.destroy();
      plot.current = null;
    };
  }, [shape, theme, language, props.fromMs, props.toMs, props.spans]);

  useEffect(() => {
    if (made.current !== lines) plot.current?.setData(dataOf(props));
    made.current = lines;
  }, [props.atMs, lines]);

  return (
    <figure class="chart">
      <figcaption>
        <b>{label}</b>
        {unit === undefined ? null : <span class="limit">{unit}</span>}
        <span class="reading" aria-hidden="true" ref={reading} />
        <Names lines={lines} />
        <span class="visually-hidden">{lines.map((line) => summary(line, write)).join('. ')}</span>
      </figcaption>
      {isKnown ? null : <p class="limit none">{t('history.unknown')}</p>}
      <div ref={place} class={isKnown ? 'plot' : 'plot empty'} aria-hidden="true" />
    </figure>
  );
}

const HEIGHT_PX = 112;

function Names({ lines }: { readonly lines: readonly Line[] }) {
  if (lines.length < 2) return null;
  return (
    <ul class="names">
      {lines.map(({ name }, index) => (
        <li key={name}>
          <svg width="28" height="8" aria-hidden="true">
            <path
              class="name-line"
              d="M0 4H28"
              stroke-dasharray={(DASHES[index % DASHES.length] ?? []).join(' ')}
            />
          </svg>
          {name}
        </li>
      ))}
    </ul>
  );
}

function summary({ name, least, most }: Line, write: (value: number) => string): string {
  const low = least.filter((value) => value !== null);
  const high = most.filter((value) => value !== null);
  const last = high.at(-1);
  if (last === undefined) return `${name}: ${t('unknown')}`;
  const values = { name, least: write(Math.min(...low)), most: write(Math.max(...high)), last: write(last) };
  return t('history.summary', values);
}

function dataOf({ atMs, lines }: ChartProps): uPlot.AlignedData {
  return [
    atMs.map((ms) => ms / 1000),
    ...lines.flatMap(({ least, most }) => [[...least], [...most]]),
  ] as unknown as uPlot.AlignedData;
}

function optionsOf(
  props: ChartProps,
  into: HTMLElement,
  reading: { readonly current: HTMLElement | null },
): uPlot.Options {
  const { lines, fromMs, toMs, spans = [], height = HEIGHT_PX } = props;
  const { ink, soft, line, water, family } = coloursNow();
  const axis = {
    stroke: soft,
    font: `12px ${family}`,
    grid: { stroke: line, width: 1 },
    ticks: { stroke: line, width: 1, size: 4 },
  };
  return {
    width: into.clientWidth,
    height,
    padding: [9, 24, 0, 0],
    legend: { show: false },
    cursor: { sync: { key: 'past' }, points: { show: false }, drag: { x: false, y: false } },
    scales: {
      x: { time: true, range: [fromMs / 1000, toMs / 1000] },
      y: { range: props.fromZero ? fromZero : roomy },
    },
    ...(simulated.peek() ? { tzDate: (s: number) => uPlot.tzDate(new Date(s * 1000), 'Etc/UTC') } : {}),
    axes: [
      {
        ...axis,
        size: 26,
        ...(props.daily ? { incrs: DAYS_S } : {}),
        values: (_, splits) =>
          onceEach(splits.map((s) => (props.writeAt ?? momentFor(toMs - fromMs))(s * 1000))),
      },
      {
        ...axis,
        size: 50,
        space: 22,
        values: (_, splits, __, ___, step) => splits.map((value) => number(value, digitsOf(step))),
      },
    ],
    series: [
      {},
      ...lines.flatMap((_, index) => {
        const dash = DASHES[index % DASHES.length] ?? [];
        const points = { show: props.atMs.length <= FEW, size: 5, fill: ink, stroke: ink };
        const shape = { stroke: ink, width: 1.2, dash, points, spanGaps: false };
        return [shape, shape];
      }),
    ],
    bands: lines.map((_, index) => ({ series: [2 * index + 2, 2 * index + 1], fill: water })),
    hooks: {
      drawClear: [(chart) => shade(chart, spans, line)],
      setCursor: [(chart) => tell(chart, props, reading.current)],
    },
  } as uPlot.Options;
}

interface Colours {
  readonly ink: string;
  readonly soft: string;
  readonly line: string;
  readonly water: string;
  readonly family: string;
}

let known: { readonly look: string; readonly colours: Colours } | null = null;

/**
 * `light-dark()` is the browser's to resolve; asked once for each look, because every asking lays the page out anew. The
 * page itself is asked and not the chart: one that has just been left knows no colours, and all later ones would be black.
 */
function coloursNow(): Colours {
  const look = `${preferences.peek().theme} ${matchMedia('(prefers-color-scheme: dark)').matches}`;
  if (known?.look === look) return known.colours;
  const probe = document.createElement('span');
  document.body.append(probe);
  const colour = (name: string) => {
    probe.style.color = `var(${name})`;
    return getComputedStyle(probe).color;
  };
  const colours = {
    ink: colour('--ink'),
    soft: colour('--soft'),
    line: colour('--line'),
    water: colour('--water'),
    family: getComputedStyle(probe).fontFamily,
  };
  probe.remove();
  known = { look, colours };
  return colours;
}

/** A little air above and below; a constant is drawn in the middle and not as noise. */
function roomy(_: uPlot, least: number, most: number): [number, number] {
  if (!Number.isFinite(least) || !Number.isFinite(most)) return [0, 1];
  const air = Math.max((most - least) * 0.08, Math.abs(most) * 0.005, 0.05);
  return [least - air, most + air];
}

/** From nothing to a little more than the most; a line that never left nothing lies on the ground. */
function fromZero(_: uPlot, __: number, most: number): [number, number] {
  return [0, Number.isFinite(most) && most > 0 ? most * 1.08 : 1];
}

const DAYS_S = [1, 2, 7, 14, 28, 56, 91, 182].map((days) => days * 24 * HOUR_S);

/** Two marks of one day need its name once. */
const onceEach = (labels: readonly string[]): string[] =>
  labels.map((label, index) => (label === labels[index - 1] ? '' : label));

/** As many decimals as the steps of the axis need. */
const digitsOf = (step: number): number =>
  [0, 1, 2, 3].find((digits) => Math.abs(step * 10 ** digits - Math.round(step * 10 ** digits)) < 1e-6) ?? 4;

const shortOf = (text: string): string => text.replace(/[\s\u00a0].*$/u, '');

function momentFor(lengthMs: number): (ms: number) => string {
  const seconds = lengthMs / 1000;
  if (seconds <= 30 * HOUR_S) return clock;
  return seconds <= 80 * 24 * HOUR_S ? dateShort : month;
}

function shade(chart: uPlot, spans: NonNullable<ChartProps['spans']>, colour: string): void {
  const { ctx, bbox } = chart;
  ctx.save();
  ctx.fillStyle = colour;
  for (const { fromMs, toMs } of spans) {
    const left = Math.max(bbox.left, chart.valToPos(fromMs / 1000, 'x', true));
    const right = Math.min(
      bbox.left + bbox.width,
      Math.max(left + 2, chart.valToPos(toMs / 1000, 'x', true)),
    );
    if (right > left) ctx.fillRect(left, bbox.top, right - left, bbox.height);
  }
  ctx.restore();
}

/** What stands under the cursor, written beside the name. */
function tell(chart: uPlot, { lines, atMs, write }: ChartProps, into: HTMLElement | null): void {
  if (into === null) return;
  const at = chart.cursor.idx;
  const ms = at === null || at === undefined ? undefined : atMs[at];
  if (at === null || at === undefined || ms === undefined) {
    into.textContent = '';
    return;
  }
  const values = lines.map(({ name, least, most }) => {
    const [low, high] = [least[at], most[at]];
    if (low === null || low === undefined || high === null || high === undefined) return '';
    const [a, b] = [write(low), write(high)];
    const text = a === b ? a : `${shortOf(a)}\u2013${b}`;
    return lines.length > 1 ? `${name} ${text}` : text;
  });
  into.textContent = `${clock(ms)} ${values.filter(Boolean).join(', ')}`;
}
