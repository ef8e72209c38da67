// The stages of a batch and what moves it from one to the next, as one literal table. `mix` covers salting, dissolving,
// measuring and trimming. A cell is the next stage; `ignore`: true here and of no consequence; `hold`: a person must look;
// `impossible`: the core would contradict itself.

import { disown } from '../guard/acceptance.ts';
import { InvariantError } from '../guard/invariant.ts';
import type { Message } from '../guard/message.ts';
import type { BatchState, Stage } from './state.ts';

export type Happening =
  | 'begun'
  /** The vat holds what a batch needs. */
  | 'filled'
  /** Salinity was judged against the tolerance. */
  | 'within'
  | 'below'
  | 'above'
  /** It can't be judged, or can't be corrected. */
  | 'stuck'
  | 'salted'
  | 'dissolved'
  | 'diluted'
  | 'warm'
  | 'cooled'
  /** Older than its limit. */
  | 'aged'
  /** Nothing is left to deliver. */
  | 'spent';

export type StageCell = Stage | 'ignore' | 'hold' | 'impossible';

// biome-ignore format: a table reads as a table
export const STAGES: Readonly<Record<Stage, Readonly<Record<Happening, StageCell>>>> = {
  idle:             { begun: 'transfer',   filled: 'impossible', within: 'impossible',  below: 'impossible',    above: 'impossible',     stuck: 'impossible', salted: 'ignore',       dissolved: 'impossible',  diluted: 'impossible',   warm: 'impossible', cooled: 'impossible', aged: 'impossible', spent: 'impossible' },
  transfer:         { begun: 'impossible', filled: 'mix/assess', within: 'impossible',  below: 'impossible',    above: 'impossible',     stuck: 'hold',       salted: 'ignore',       dissolved: 'impossible',  diluted: 'impossible',   warm: 'impossible', cooled: 'impossible', aged: 'impossible', spent: 'impossible' },
  'mix/assess':     { begun: 'impossible', filled: 'ignore',     within: 'mix/measure', below: 'mix/salt',      above: 'mix/trim-water', stuck: 'hold',       salted: 'ignore',       dissolved: 'impossible',  diluted: 'impossible',   warm: 'impossible', cooled: 'impossible', aged: 'impossible', spent: 'impossible' },
  'mix/salt':       { begun: 'impossible', filled: 'ignore',     within: 'impossible',  below: 'impossible',    above: 'impossible',     stuck: 'hold',       salted: 'mix/dissolve', dissolved: 'impossible',  diluted: 'impossible',   warm: 'impossible', cooled: 'impossible', aged: 'impossible', spent: 'impossible' },
  'mix/dissolve':   { begun: 'impossible', filled: 'ignore',     within: 'impossible',  below: 'impossible',    above: 'impossible',     stuck: 'hold',       salted: 'mix/dissolve', dissolved: 'mix/measure', diluted: 'impossible',   warm: 'impossible', cooled: 'impossible', aged: 'impossible', spent: 'impossible' },
  'mix/measure':    { begun: 'impossible', filled: 'ignore',     within: 'heat',        below: 'mix/trim-salt', above: 'mix/trim-water', stuck: 'hold',       salted: 'mix/dissolve', dissolved: 'impossible',  diluted: 'impossible',   warm: 'impossible', cooled: 'impossible', aged: 'impossible', spent: 'impossible' },
  'mix/trim-salt':  { begun: 'impossible', filled: 'ignore',     within: 'mix/measure', below: 'impossible',    above: 'impossible',     stuck: 'hold',       salted: 'mix/dissolve', dissolved: 'impossible',  diluted: 'impossible',   warm: 'impossible', cooled: 'impossible', aged: 'impossible', spent: 'impossible' },
  'mix/trim-water': { begun: 'impossible', filled: 'ignore',     within: 'impossible',  below: 'impossible',    above: 'impossible',     stuck: 'hold',       salted: 'mix/dissolve', dissolved: 'impossible',  diluted: 'mix/dissolve', warm: 'impossible', cooled: 'impossible', aged: 'impossible', spent: 'impossible' },
  heat:             { begun: 'impossible', filled: 'ignore',     within: 'ignore',      below: 'mix/trim-salt', above: 'mix/trim-water', stuck: 'hold',       salted: 'mix/dissolve', dissolved: 'impossible',  diluted: 'impossible',   warm: 'ready',      cooled: 'ignore',     aged: 'impossible', spent: 'impossible' },
  ready:            { begun: 'transfer',   filled: 'ignore',     within: 'ignore',      below: 'mix/trim-salt', above: 'mix/trim-water', stuck: 'hold',       salted: 'mix/dissolve', dissolved: 'impossible',  diluted: 'impossible',   warm: 'ignore',     cooled: 'heat',       aged: 'hold',       spent: 'idle' },
};

/** Stages in which the water counts as accepted. Going into any other makes it unaccepted. */
// biome-ignore format: a table reads as a table
export const ACCEPTED: Readonly<Record<Stage, boolean>> = {
  idle: false, transfer: false, 'mix/assess': false, 'mix/salt': false, 'mix/dissolve': false, 'mix/measure': false,
  'mix/trim-salt': false, 'mix/trim-water': false, heat: true, ready: true,
};

/** Moves a batch. @returns what the table says: the next stage, `ignore` or `hold` */
export function happen(batch: BatchState, happening: Happening, words: Message): StageCell {
  const cell = STAGES[batch.stage][happening];
  if (cell === 'impossible') throw new InvariantError(`broken: '${happening}' in stage '${batch.stage}'`);
  if (cell === 'ignore' || cell === 'hold') return cell;
  Object.assign(batch, { stage: cell, stageMs: 0, circulatedMs: 0, moving: false, words });
  if (!ACCEPTED[cell]) disown(batch);
  return cell;
}
