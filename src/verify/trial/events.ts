// Misfortunes as they come over a coupled station: moments at which something changes, and messages that do not arrive.
import type { Effect, Input } from '../../control/guard/types.ts';
import type { Coupled, Memory } from '../coupled.ts';
import { isMisfortune, REPEATS_MS, type Trouble } from './misfortunes.ts';

export interface Events {
  /** The next moment at which something happens by itself; Infinity: never. */
  readonly nextMs: () => number;
  /** Lets happen what is due now. */
  readonly happen: () => void;
  readonly hears: (inputs: readonly Input[], luck: () => number) => readonly Input[];
  readonly arrives: (effect: Effect, luck: () => number) => boolean;
  /** Commands by others since the last call. */
  readonly foreign: () => readonly Foreign[];
}

interface Foreign {
  readonly actuator: string;
  readonly on: boolean;
}
const NONE: readonly Foreign[] = [];

const MEMORY: Readonly<Partial<Record<Trouble['kind'], Memory>>> = {
  'service-away': 'kept',
  'memory-lost': 'lost',
  'file-changed': 'replumbed',
};

interface Moment {
  readonly atMs: number;
  readonly happen: (coupled: Coupled) => void;
}

export function eventsOf(coupled: Coupled, troubles: readonly Trouble[]): Events {
  const others: { actuator: string; on: boolean }[] = [];
  const mine = troubles.filter(({ kind }) => isMisfortune(kind));
  const holding = (kind: Trouble['kind']): Trouble | undefined =>
    mine.find((t) => t.kind === kind && t.fromMs <= coupled.nowMs() && coupled.nowMs() < t.toMs);
  const moments = mine
    .flatMap((trouble) => momentsOf(trouble, others, (kind) => holding(kind) !== undefined))
    .toSorted((one, other) => one.atMs - other.atMs);
  let next = 0;
  return {
    nextMs: () => moments[next]?.atMs ?? Number.POSITIVE_INFINITY,
    happen: () => {
      while (next < moments.length && (moments[next]?.atMs ?? 0) <= coupled.nowMs()) {
        moments[next]?.happen(coupled);
        next += 1;
      }
    },
    hears: (inputs, luck) => {
      if (mine.length === 0) return inputs;
      const lost = holding('messages-lost');
      const heard = lost
        ? inputs.filter(({ type }) => type === 'request' || luck() >= Number(lost.value))
        : inputs;
      const [wrong, untrusted] = [holding('clock-wrong'), holding('clock-untrusted')];
      if (wrong === undefined && untrusted === undefined) return heard;
      return heard.map((input) => clockOf(input, wrong, untrusted));
    },
    arrives: (effect, luck) => {
      const lost = effect.do === 'command' ? holding('commands-lost') : undefined;
      return lost === undefined || luck() >= Number(lost.value);
    },
    foreign: () => (others.length === 0 ? NONE : others.splice(0)),
  };
}

function clockOf(input: Input, wrong: Trouble | undefined, untrusted: Trouble | undefined): Input {
  if (input.type !== 'clock') return input;
  const minutes = input.day * 1440 + input.minuteOfDay + Number(wrong?.value ?? 0);
  const day = Math.floor(minutes / 1440);
  return {
    ...input,
    day,
    minuteOfDay: minutes - day * 1440,
    trusted: input.trusted && untrusted === undefined,
  };
}

/** @param stands whether a misfortune of this kind goes on: two of a kind may overlap, and end when the later one does */
function momentsOf(
  trouble: Trouble,
  others: { actuator: string; on: boolean }[],
  stands: (kind: Trouble['kind']) => boolean,
): Moment[] {
  const { kind, what, fromMs, toMs } = trouble;
  const at = (atMs: number, happen: Moment['happen']): Moment => ({ atMs, happen });
  const both = (begin: Moment['happen'], end: Moment['happen']) => [at(fromMs, begin), at(toMs, end)];
  switch (kind) {
    case 'link-lost':
      return both(
        (coupled) => coupled.setLink(false),
        (coupled) => {
          if (stands('link-lost')) return;
          coupled.setLink(true);
          if (stands('link-mute')) coupled.setLink(false, false);
        },
      );
    case 'link-mute':
      return both(
        (coupled) => coupled.setLink(false, false),
        (coupled) => {
          if (!stands('link-lost') && !stands('link-mute')) coupled.setLink(true, false);
        },
      );
    case 'journal-full':
      return both(
        (coupled) => coupled.input({ type: 'journal', writable: false }),
        (coupled) => coupled.input({ type: 'journal', writable: !stands('journal-full') }),
      );
    case 'service-away':
    case 'memory-lost':
    case 'file-changed':
      return [
        at(fromMs, (coupled) => {
          coupled.powerCut(Math.max(0, toMs - coupled.nowMs()), MEMORY[kind]);
          // A service that comes back saves its state before its first command, and finds the disk as it is.
          if (stands('journal-full')) coupled.input({ type: 'journal', writable: false });
        }),
      ];
    case 'service-stalls':
      return [at(fromMs, (coupled) => coupled.stall(Math.max(0, toMs - coupled.nowMs())))];
    case 'foreign-on':
    case 'foreign-off': {
      const on = kind === 'foreign-on';
      const times = Math.ceil((toMs - fromMs) / REPEATS_MS);
      return Array.from({ length: times }, (_, nth) =>
        at(fromMs + nth * REPEATS_MS, (coupled) => {
          coupled.twin.command(what, on, 0);
          coupled.input({ type: 'foreign-command', actuator: what, on, retained: false });
          others.push({ actuator: what, on });
        }),
      );
    }
    default:
      return [];
  }
}
