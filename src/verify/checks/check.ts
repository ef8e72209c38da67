// What a judge of a night is. Judges see the water, the devices and the wire, never the core's state, and share no code
// with it: a rule that is wrong in the core must not be wrong here for the same reason.
import type { Twin } from '../../simulate/twin.ts';
import type { Harm } from '../../station/gaps.ts';
import type { Plant } from '../../station/plant.ts';
import type { Trouble } from '../trial/misfortunes.ts';
import type { Causes } from './causes.ts';

/** A command as it left. */
export interface Sent {
  readonly actuator: string;
  readonly on: boolean;
  readonly leaseMs: number;
}

/** One step of a night, after it. */
export interface Seen {
  readonly plant: Plant;
  readonly twin: Twin;
  readonly troubles: readonly Trouble[];
  readonly nowMs: number;
  readonly elapsedMs: number;
  readonly sent: readonly Sent[];
  /** Commands by others that reached an actuator in this step. */
  readonly foreign: readonly { readonly actuator: string; readonly on: boolean }[];
  /** Alarms that came up in this step. */
  readonly alarms: readonly { readonly alarm: string; readonly words: string }[];
  /** By what water moved in this step, and where a harm is entered by its cause. */
  readonly causes: Causes;
}

export interface Finding {
  readonly check: string;
  /** What harm it is, where it is one that hardware could have held; null for what only the software can get wrong. */
  readonly harm: Harm | null;
  readonly about: string;
  readonly words: string;
  /** How much of it can not be helped, in the unit in which its causes were entered; 0 where nothing is said. */
  readonly allowed?: number;
}

export interface Check {
  readonly name: string;
  /** What it holds, in one sentence. */
  readonly promise: string;
  readonly see: (seen: Seen) => void;
  readonly findings: () => readonly Finding[];
}

/**
 * What follows from the station and the troubles of a night is worked out once: neither changes while it lasts. Asked anew
 * where they do.
 */
export function perNight<T>(work: (plant: Plant, troubles: readonly Trouble[]) => T): (seen: Seen) => T {
  let last: { plant: Plant; troubles: readonly Trouble[]; value: T } | null = null;
  return ({ plant, troubles }) => {
    if (last?.plant !== plant || last.troubles !== troubles)
      last = { plant, troubles, value: work(plant, troubles) };
    return last.value;
  };
}

/** Keeps the last words on each subject: amounts grow, and one accident is told once. */
export function notebook(): { note: (finding: Finding) => void; findings: () => readonly Finding[] } {
  const found = new Map<string, Finding>();
  return {
    note: (finding) => found.set(`${finding.check}/${finding.about}`, finding),
    findings: () => [...found.values()],
  };
}
