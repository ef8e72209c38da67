// The physics. Water goes where the true states of the devices let it go, salt goes with it, and nothing is made or lost.
//
// Time is cut on a fixed grid of station time (whole seconds, where nothing else is asked for) and never on the caller's steps: one step of 5 s and five
// of 1 s give the same day to the last bit. Where a line is straight or a decay exponential the
// piece is integrated exactly; what is left is of first order in the grid (a route's salinity within one second).
import { sway } from './chance.ts';
import type { Faults } from './faults.ts';
import type { Line } from './lines.ts';
import { afterwards } from './vessels.ts';
import type { Waterworks } from './waterworks.ts';
import {
  type Body,
  bodyOf,
  book,
  litresOf,
  type Moved,
  poured,
  salinityOf,
  taken,
  type World,
} from './world.ts';

/** What moves the water: the true contact of each actuator, everything upstream of it included. */
export interface Drive {
  readonly on: (actuator: string) => boolean;
  readonly faults: Faults;
}

const NOISE_SHARE = 0.01;
const ROUNDING = 1e-9;
/** Purified water still holds a little, mS/cm (common practice, no source). */
export const PURIFIED_MS_PER_CM = 0.01;
/** Practical salinity of such thin water goes with its conductivity: about 0.5 for each mS/cm near 25 degC. */
const SALINITY_PER_MS = 0.5;

/** Moves the world on by so many milliseconds; contacts and faults must not change within them. */
export function advance(works: Waterworks, world: World, drive: Drive, elapsedMs: number): void {
  let left = elapsedMs;
  while (left > 0) {
    const piece = Math.min(left, works.gridMs - (world.nowMs % works.gridMs));
    flow(works, world, drive, piece);
    afterwards(works, world, drive, piece);
    world.nowMs += piece;
    left -= piece;
  }
}

function flow(works: Waterworks, world: World, drive: Drive, pieceMs: number): void {
  const open = works.lines.filter((line) => isOpen(line, drive));
  for (const line of works.lines) {
    const before = world.flowLpm[line.route.id] ?? 0;
    const isOn = open.includes(line);
    const isPrimed = before > 0 && line.route.siphons === 'by itself';
    if (before === 0 && !isOn && drive.faults.at('siphon', line.route.id) === undefined) {
      endRun(line, world);
      continue;
    }
    const target = isOn
      ? openFlowLpm(works, world, drive, line, open)
      : restingFlowLpm(drive, line, isPrimed);
    const [wantedL, after] = ramp(line, before, target, isOn, pieceMs);
    const movedL = move(works, world, drive, line, wantedL);
    // Rounding must not pass for want of water, or a flow would never come up to its target.
    const missing = wantedL > 0 ? 1 - movedL / wantedL : 0;
    const isShort = missing > ROUNDING;
    world.flowLpm[line.route.id] = isShort ? (movedL / pieceMs) * 60_000 : after;
    if (isOn && isShort) dry(line, world, missing, pieceMs);
  }
}

function isOpen({ route, divertedBy }: Line, { on }: Drive): boolean {
  return route.through.every(on) && !divertedBy.some(on);
}

/** A pump, or a purifier, that is open to two lines at once gives each its half. */
function openFlowLpm(
  works: Waterworks,
  world: World,
  { faults }: Drive,
  line: Line,
  open: readonly Line[],
): number {
  if (line.fromInlet && faults.at('no-pressure', line.route.from) !== undefined) return 0;
  const minute = Math.floor(world.nowMs / 60_000);
  const fullLpm = line.fromInlet ? (works.inlet?.(world.nowMs).flowLpm ?? line.fullLpm) : line.fullLpm;
  let lpm = fullLpm * (1 + NOISE_SHARE * sway(works.seed, line.key, minute + 10));
  lpm = Math.min(Math.max(lpm, line.route.flowLeastLpm), line.route.flowMostLpm);
  let sharing = line.fromInlet ? open.filter(({ route }) => route.from === line.route.from).length : 1;
  for (const pump of line.pumps) {
    sharing = Math.max(sharing, open.filter(({ pumps }) => pumps.includes(pump)).length);
    lpm *= faults.amount('weak', pump) ?? 1;
  }
  return lpm / sharing;
}

/** What a line that falls goes on with when its pump has stopped: this share of what the pump moved. No source. */
const SIPHON_SHARE = 0.5;

function restingFlowLpm({ faults }: Drive, line: Line, isPrimed: boolean): number {
  return line.fullLpm * (faults.amount('siphon', line.route.id) ?? (isPrimed ? SIPHON_SHARE : 0));
}

/** Flow goes to its target in a straight line; returns the litres of the piece and the flow at its end. */
function ramp(line: Line, fromLpm: number, toLpm: number, isOn: boolean, pieceMs: number): [number, number] {
  const spanMs = isOn ? line.primingMs : line.runDownMs;
  const slope = spanMs > 0 ? line.fullLpm / spanMs : Number.POSITIVE_INFINITY;
  const reachMs = Math.min(pieceMs, Math.abs(toLpm - fromLpm) / slope);
  const end = reachMs < pieceMs ? toLpm : fromLpm + Math.sign(toLpm - fromLpm) * slope * reachMs;
  const after = Number.isFinite(end) ? end : toLpm;
  return [(((fromLpm + after) / 2) * reachMs + after * (pieceMs - reachMs)) / 60_000, after];
}

/** Moves what the source can give and books it; returns the litres. */
function move(works: Waterworks, world: World, { faults }: Drive, line: Line, wantedL: number): number {
  const { route } = line;
  const source = world.bodies[route.from];
  if (source === undefined && !line.fromInlet) return 0;
  const availableL = source === undefined ? wantedL : Math.max(0, litresOf(source) - line.dryL);
  const litres = Math.min(wantedL, route.loop && availableL > 0 ? wantedL : availableL);
  if (litres <= 0) return 0;
  const run = world.ledger.runs[route.id];
  if (run !== undefined) {
    if (run.presentL === 0) run.starts++;
    run.presentL += litres;
  }
  if (route.loop) {
    bookMoved(world, line, { litres, waterKg: 0, saltKg: 0 });
    return litres;
  }
  const origin = source ?? inletWater(works, world.nowMs, faults, line, litres);
  const moved =
    source === undefined ? { litres, waterKg: origin.waterKg, saltKg: origin.saltKg } : taken(source, litres);
  bookMoved(world, line, moved);
  if (faults.at('hose-off', route.id) !== undefined) toFloor(world, route.id, moved);
  else arrive(works, world, line, moved, origin);
  return moved.litres;
}

function bookMoved({ ledger }: World, { route, fromSystem }: Line, moved: Moved): void {
  const entry = ledger.moved[route.id];
  if (entry !== undefined) book(entry, moved);
  if (fromSystem) ledger.drainedL += moved.litres;
}

function toFloor(world: World, route: string, moved: Moved): void {
  world.floorL += moved.litres;
  const entry = world.ledger.hose[route];
  if (entry !== undefined) book(entry, moved);
}

function inletWater(
  { plant, inlet }: Waterworks,
  nowMs: number,
  faults: Faults,
  { route }: Line,
  litres: number,
): Body {
  const conductivity = faults.amount('exhausted', route.from) ?? PURIFIED_MS_PER_CM;
  const temperatureC = inlet?.(nowMs).temperatureC ?? plant.vessels[route.from]?.initial.temperatureC ?? 15;
  return bodyOf(litres, conductivity * SALINITY_PER_MS, temperatureC);
}

function arrive(works: Waterworks, world: World, line: Line, moved: Moved, origin: Body): void {
  const { ledger } = world;
  if (line.toSystem) {
    ledger.deliveredL += moved.litres;
    ledger.deliveredWarmth += moved.litres * origin.temperatureC;
    if (!isOnSpec(works, origin)) ledger.deliveredOffSpecL += moved.litres;
  }
  const to = world.bodies[line.route.to];
  if (to !== undefined) poured(to, moved, origin.temperatureC);
}

function isOnSpec({ plant }: Waterworks, body: Body): boolean {
  const { salinity, temperature } = plant.process;
  if (Math.abs(salinityOf(body) - salinity.target) > salinity.tolerance) return false;
  if (temperature === null) return true;
  return body.temperatureC >= temperature.leastC && body.temperatureC <= temperature.mostC;
}

function dry({ pumps }: Line, { ledger }: World, share: number, pieceMs: number): void {
  for (const pump of pumps) ledger.pumpDryS[pump] = (ledger.pumpDryS[pump] ?? 0) + (share * pieceMs) / 1000;
}

function endRun({ route, toSystem, deliveryL }: Line, { ledger }: World): void {
  const run = ledger.runs[route.id];
  if (run === undefined || run.presentL === 0) return;
  if (toSystem && run.presentL >= deliveryL) run.completed++;
  run.presentL = 0;
}
