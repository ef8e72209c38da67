// What is done in one tick of a hostile run, as one number and as a line for a reader.
import { DEEDS, type Repertoire } from './hostile.ts';
import type { Model } from './model.ts';
import { type Breach, breachesOf } from './properties.ts';
import type { Went } from './visible.ts';

/** What is done in one tick: see `written`. */
export interface Move {
  readonly active: number;
  readonly once: number;
  readonly way: number;
  readonly wants: number;
  readonly deed: number;
}

export const written = ({ active, once, way, wants, deed }: Move): number =>
  active | (once << 1) | (deed << 2) | (wants << 5) | (way << 12);
export const read = (move: number): Move => ({
  active: move & 1,
  once: (move >> 1) & 1,
  deed: (move >> 2) & 7,
  wants: (move >> 5) & 127,
  way: move >> 12,
});

/** A way to an accident: from a root, by these moves. */
export interface WayThere {
  readonly breach: Breach;
  readonly root: number;
  readonly moves: readonly number[];
}
export type Take = (way: WayThere) => void;

interface About {
  readonly model: Model;
  readonly repertoire: Repertoire;
  readonly fault: string;
}

/** One line for each tick: what the fault, the process and the person do, and what becomes of it. */
export function traceOf(
  { model, repertoire, fault }: About,
  went: readonly Went[],
  moves: readonly number[],
): readonly string[] {
  let held = 0;
  return went.map(({ before, after }, at) => {
    const move = read(moves[at] ?? 0);
    const levels = model.vessels
      .map(({ id }, vessel) => `${id} ${after.water.level[vessel] ?? 0}`)
      .join(', ');
    const trips = Object.keys(after.state.trips).filter((key) => before.state.trips[key] === undefined);
    const words = [
      `${levels}, salt ${after.water.salt}`,
      ...(move.active > held || move.once > 0 ? [`FAULT ${fault}`] : []),
      ...(move.active < held ? ['mended'] : []),
      `wants ${(repertoire.wants[move.wants] ?? []).join(', ') || 'nothing'}`,
      ...(move.deed > 0 ? [`person ${DEEDS[move.deed]}`] : []),
      ...trips.map((key) => `TRIP ${key}`),
      `on: ${
        Object.entries(after.state.devices)
          .flatMap(([id, { on }]) => (on ? [id] : []))
          .join(', ') || 'nothing'
      }`,
      ...breachesOf(model, before, after).map(({ words: told }) => `=> ${told}`),
    ];
    held = move.active;
    return `${String(at + 1).padStart(4)}  ${words.join('; ')}`;
  });
}
