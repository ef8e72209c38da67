// A chart as a table: every series read off at the same places, for those who can't see a line.
import type { Cell, Chart, Series, Table } from './report.ts';

/** Places along the axis of a line chart. */
const PLACES = 13;

export function readOff({ id, title, x, y, series }: Chart): Table {
  const name = (axis: typeof x) => (axis.unit === '' ? axis.name : `${axis.name} (${axis.unit})`);
  const columns = [
    x.categories === undefined ? { title: name(x), digits: 2 } : { title: name(x) },
    ...series.map((each) => ({ title: each.name, unit: y.unit, digits: 2 })),
  ];
  return { id: `${id}-table`, title, columns, rows: rowsOf(x, series) };
}

function rowsOf({ categories }: Chart['x'], series: readonly Series[]): Cell[][] {
  if (categories !== undefined) {
    return categories.map((category, index) => [
      category,
      ...series.map(({ points }) => points.find(([at]) => at === index)?.[1] ?? null),
    ]);
  }
  const all = series.flatMap(({ points }) => points.map(([at]) => at));
  const least = Math.min(...all);
  const most = Math.max(...all);
  const places = Array.from(
    { length: PLACES },
    (_, place) => least + ((most - least) * place) / (PLACES - 1),
  );
  // A single mark belongs where it stands, and nowhere else.
  const marks = series
    .filter(({ points }) => points.length === 1)
    .flatMap(({ points }) => points[0]?.[0] ?? []);
  return [...places, ...marks]
    .toSorted((a, b) => a - b)
    .map((at) => [at, ...series.map((each) => valueAt(each, at))]);
}

/** On the straight line between two points; after a jump the value behind it; nothing outside. */
function valueAt({ points }: Series, at: number): number | null {
  const only = points.length === 1 ? points[0] : undefined;
  if (only !== undefined) return only[0] === at ? only[1] : null;
  const next = points.findIndex(([x]) => x > at);
  const before = points[next === -1 ? points.length - 1 : next - 1];
  if (before === undefined) return null;
  if (before[0] === at) return before[1];
  const after = next === -1 ? undefined : points[next];
  if (after === undefined) return at - before[0] < 1e-9 ? before[1] : null;
  return before[1] + ((at - before[0]) / (after[0] - before[0])) * (after[1] - before[1]);
}
