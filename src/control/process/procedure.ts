// The procedural states of ISA-88 / IEC 61512-1, as one literal table: what each request or happening does in each state.
//
// A cell is the next state; `ignore`: it changes nothing and that is fine; `refuse`: a person asked for something that
// makes no sense here, and is told so; `impossible`: the core would contradict itself, which stops it.
// Holding, stopping and aborting last until every output of the unit is proven off.

import { InvariantError } from '../guard/invariant.ts';
import { AGE_CAP_MS } from '../guard/limits.ts';
import type { Message } from '../guard/message.ts';
import type { HoldCause } from '../guard/state.ts';
import type { Procedure, UnitState } from './state.ts';

export type ProcedureEvent =
  /** Asked for by a person or the policy. */
  | 'start'
  | 'hold'
  | 'restart'
  | 'stop'
  | 'abort'
  | 'reset'
  /** Happened: the unit's outputs are proven off; its evidence is good again; its work is done. */
  | 'quiet'
  | 'ready'
  | 'done';

export type Cell = Procedure | 'ignore' | 'refuse' | 'impossible';

// biome-ignore format: a table reads as a table
export const PROCEDURE: Readonly<Record<Procedure, Readonly<Record<ProcedureEvent, Cell>>>> = {
  //             start           hold              restart             stop              abort              reset             quiet              ready              done
  idle:       { start: 'running', hold: 'refuse',  restart: 'refuse',     stop: 'ignore',   abort: 'ignore',   reset: 'ignore',  quiet: 'ignore',   ready: 'ignore',   done: 'impossible' },
  running:    { start: 'refuse',  hold: 'holding', restart: 'refuse',     stop: 'stopping', abort: 'aborting', reset: 'refuse',  quiet: 'ignore',   ready: 'ignore',   done: 'complete' },
  holding:    { start: 'refuse',  hold: 'ignore',  restart: 'refuse',     stop: 'stopping', abort: 'aborting', reset: 'refuse',  quiet: 'held',     ready: 'ignore',   done: 'impossible' },
  held:       { start: 'refuse',  hold: 'ignore',  restart: 'restarting', stop: 'stopping', abort: 'aborting', reset: 'refuse',  quiet: 'ignore',   ready: 'ignore',   done: 'impossible' },
  restarting: { start: 'refuse',  hold: 'holding', restart: 'ignore',     stop: 'stopping', abort: 'aborting', reset: 'refuse',  quiet: 'ignore',   ready: 'running',  done: 'impossible' },
  complete:   { start: 'refuse',  hold: 'refuse',  restart: 'refuse',     stop: 'ignore',   abort: 'ignore',   reset: 'idle',    quiet: 'ignore',   ready: 'ignore',   done: 'impossible' },
  stopping:   { start: 'refuse',  hold: 'refuse',  restart: 'refuse',     stop: 'ignore',   abort: 'aborting', reset: 'refuse',  quiet: 'stopped',  ready: 'ignore',   done: 'impossible' },
  stopped:    { start: 'refuse',  hold: 'refuse',  restart: 'refuse',     stop: 'ignore',   abort: 'aborting', reset: 'idle',    quiet: 'ignore',   ready: 'ignore',   done: 'impossible' },
  aborting:   { start: 'refuse',  hold: 'refuse',  restart: 'refuse',     stop: 'refuse',   abort: 'ignore',   reset: 'refuse',  quiet: 'aborted',  ready: 'ignore',   done: 'impossible' },
  aborted:    { start: 'refuse',  hold: 'refuse',  restart: 'refuse',     stop: 'refuse',   abort: 'ignore',   reset: 'idle',    quiet: 'ignore',   ready: 'ignore',   done: 'impossible' },
};

/** Moves a unit; false where the table refuses. */
export function move(unit: UnitState, event: ProcedureEvent, words: Message): boolean {
  const cell = PROCEDURE[unit.procedure][event];
  if (cell === 'impossible') throw new InvariantError(`broken: '${event}' while ${unit.procedure}`);
  if (cell === 'refuse') return false;
  if (cell === 'ignore') return true;
  Object.assign(unit, { procedure: cell, forMs: 0, freshMs: 0, words });
  if (cell === 'running' || cell === 'idle') unit.cause = null;
  return true;
}

/**
 * Holds a unit for a cause. A stronger cause replaces a weaker one and never the other way: what a person or a trip has
 * stopped is not set going by a link that came back.
 */
export function hold(unit: UnitState, cause: HoldCause, words: Message): void {
  const active = unit.procedure === 'running' || unit.procedure === 'restarting';
  const held = unit.procedure === 'held' || unit.procedure === 'holding';
  if (!active && !held) return;
  if (held && (unit.cause === cause || RANK[cause] <= RANK[unit.cause ?? 'late'])) return;
  if (active) move(unit, 'hold', words);
  unit.cause = cause;
  unit.words = words;
}

const RANK: Readonly<Record<HoldCause, number>> = {
  late: 0,
  link: 1,
  power: 2,
  foreign: 3,
  process: 4,
  person: 5,
  trip: 6,
};

/** These are under way: their outputs may be wanted. */
export const isRunning = (unit: UnitState): boolean => unit.procedure === 'running';

export function pass(unit: UnitState, elapsedMs: number): void {
  unit.forMs = Math.min(unit.forMs + elapsedMs, AGE_CAP_MS);
}
