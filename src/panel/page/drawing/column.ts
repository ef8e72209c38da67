// The station as one column that water runs down: sources at the top, waste at the bottom, each vessel in its own row, and
// between them a row for each way that water takes. Worked out from the plumbing alone, so that any station file draws.
//
//   rows    every vessel and every target of the interlocks (route, loop, heater, doser) gets one; beside it, as text,
//           stands what it does and why not. Where a row stands tells what it belongs to.
//   lanes   a way that ends in the next row falls straight down lane 0, through the middle of the vessels; one that has
//           to pass other rows runs beside them in lanes 1, 2 ..., the shorter ones further in.
import type { VesselRole } from '../../../station/plant.ts';
import type { Standing } from '../../contract.ts';

export type Row = { readonly kind: 'vessel' | 'route' | 'loop' | 'heater' | 'doser'; readonly id: string };

/** One row's share of a pipe. `devices` is where its valves and pumps stand. */
export interface Piece {
  readonly route: string;
  readonly lane: number;
  readonly part: 'leaves' | 'passes' | 'devices' | 'arrives';
  /** Against the usual direction: its target stands above its source. */
  readonly upward: boolean;
}

export interface Column {
  readonly rows: readonly Row[];
  /** By row. */
  readonly pieces: readonly (readonly Piece[])[];
  /** Lanes beside the middle one. */
  readonly sideLanes: number;
}

type Plumbing = Pick<Standing, 'vessels' | 'routes' | 'heaters' | 'dosers'>;

const ORDER: readonly VesselRole[] = ['purified-water', 'fresh', 'mixing', 'system', 'waste'];

export function columnOf(plumbing: Plumbing): Column {
  const rows = rowsOf(plumbing);
  const rowOf = (kinds: readonly Row['kind'][], id: string) =>
    rows.findIndex((row) => kinds.includes(row.kind) && row.id === id);
  const pipes = Object.values(plumbing.routes)
    .filter(({ loop }) => !loop)
    .map((route) => ({
      route: route.id,
      from: rowOf(['vessel'], route.from),
      devices: rowOf(['route'], route.id),
      to: rowOf(['vessel'], route.to),
    }));
  const laned = lanesOf(rows, pipes);
  const pieces: Piece[][] = rows.map(() => []);
  for (const { route, from, devices, to, lane } of laned) {
    const [first, last] = [Math.min(from, to, devices), Math.max(from, to, devices)];
    const upward = to < from;
    for (let row = first; row <= last; row += 1) {
      const part = row === from ? 'leaves' : row === to ? 'arrives' : row === devices ? 'devices' : 'passes';
      pieces[row]?.push({ route, lane, part, upward });
    }
  }
  return { rows, pieces, sideLanes: Math.max(0, ...laned.map(({ lane }) => lane)) };
}

/** Vessels from source to waste; before each finite one what fills it, after it what works on it and what leaves for waste. */
function rowsOf({ vessels, routes, heaters, dosers }: Plumbing): Row[] {
  const rows: Row[] = [];
  const done = new Set<string>();
  const put = (kind: Row['kind'], id: string): void => {
    if (kind === 'route' && done.has(id)) return;
    if (kind === 'route') done.add(id);
    rows.push({ kind, id });
  };
  const all = Object.values(routes);
  const inOrder = Object.values(vessels).toSorted((a, b) => ORDER.indexOf(a.role) - ORDER.indexOf(b.role));
  const place = new Map(inOrder.map((vessel, index) => [vessel.id, index]));
  const at = (id: string): number => place.get(id) ?? 0;
  for (const vessel of inOrder) {
    for (const route of all)
      if (!route.loop && route.to === vessel.id && at(route.from) < at(vessel.id)) put('route', route.id);
    // Water that goes back up: its devices stand above its source, on the way to its target.
    for (const route of all)
      if (!route.loop && route.from === vessel.id && at(route.to) < at(vessel.id)) put('route', route.id);
    put('vessel', vessel.id);
    // The loop first: its pipe is drawn from the vessel above it.
    for (const route of all) if (route.loop && route.from === vessel.id) put('loop', route.id);
    for (const heater of Object.values(heaters)) if (heater.vessel === vessel.id) put('heater', heater.id);
    for (const doser of Object.values(dosers)) if (doser.vessel === vessel.id) put('doser', doser.id);
    for (const route of all)
      if (route.from === vessel.id && vessels[route.to]?.role === 'waste') put('route', route.id);
  }
  return rows;
}

interface Pipe {
  readonly route: string;
  readonly from: number;
  readonly devices: number;
  readonly to: number;
}

function lanesOf(rows: readonly Row[], pipes: readonly Pipe[]): (Pipe & { readonly lane: number })[] {
  const span = ({ from, devices, to }: Pipe): [number, number] => [
    Math.min(from, to, devices),
    Math.max(from, to, devices),
  ];
  const length = (pipe: Pipe): number => span(pipe)[1] - span(pipe)[0];
  const taken: [number, number][][] = [];
  const isFree = (lane: number, [first, last]: [number, number]) =>
    (taken[lane] ?? []).every(([a, b]) => last <= a || first >= b);
  return pipes
    .toSorted((a, b) => length(a) - length(b))
    .map((pipe) => {
      const [first, last] = span(pipe);
      let lane = fallsStraight(rows, pipe) && isFree(0, [first, last]) ? 0 : 1;
      // Beside the vessels two pipes may not even touch: both would seem to come from the same place.
      while (lane > 0 && !isFree(lane, [first - 1, last + 1])) lane += 1;
      taken[lane] = [...(taken[lane] ?? []), [first, last]];
      return { ...pipe, lane };
    });
}

/** Nothing but its own devices, and what works on its source, stands between its ends. */
function fallsStraight(rows: readonly Row[], { from, devices, to }: Pipe): boolean {
  if (to < from) return false;
  return rows
    .slice(from + 1, to)
    .every(({ kind }, index) => from + 1 + index === devices || (kind !== 'vessel' && kind !== 'route'));
}
