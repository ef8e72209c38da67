// What is to be written next, in order: steps that wait for one another, and where a stretch of them begins.
import type { State } from '../control/process/state.ts';
import { LIMITS } from './limits.ts';
import { type Pair, textOf } from './packing.ts';
import type { Cause } from './reading.ts';
import type { Stamp } from './stamp.ts';

export interface Beginning {
  readonly state: State;
  readonly stamp: Stamp;
  readonly cause: Cause;
  readonly gapMs: number | null;
  readonly words: string;
  /** The number of its first step. */
  readonly step: number;
}

/** A step as text: states are not kept, however long the disk refuses. */
export interface InText {
  readonly text: string;
  readonly elapsedMs: number;
}

export class Waiting {
  #beginning: Beginning | null = null;
  #steps: InText[] = [];
  #elapsedMs = 0;
  #dropped = 0;

  get beginning(): Beginning | null {
    return this.#beginning;
  }

  get steps(): readonly InText[] {
    return this.#steps;
  }

  /** Is it time to write what may wait? */
  get isDue(): boolean {
    return this.#elapsedMs >= LIMITS.laterMs || this.#steps.length >= LIMITS.laterSteps;
  }

  get isEmpty(): boolean {
    return this.#beginning === null && this.#steps.length === 0;
  }

  begin(beginning: Beginning): void {
    this.#beginning = beginning;
  }

  /** @returns the characters of its text */
  add(pair: Pair): number {
    const text = textOf(pair);
    this.#steps.push({ text, elapsedMs: pair.event.elapsedMs });
    this.#elapsedMs += pair.event.elapsedMs;
    return text.length;
  }

  get isOverfull(): boolean {
    return this.#steps.length > LIMITS.waitingSteps;
  }

  /** The disk has refused for too long: the record goes on from here, and says how much it lacks. */
  giveUp(state: State, stamp: Stamp, nextStep: number): void {
    this.#dropped += this.#steps.length;
    this.#steps = [];
    const words = `${this.#dropped} steps before this could not be written`;
    this.#beginning = { state, stamp, cause: 'gap', gapMs: null, words, step: nextStep };
  }

  /** All of it is durable. */
  clear(): void {
    this.#beginning = null;
    this.#steps = [];
    this.#elapsedMs = 0;
    this.#dropped = 0;
  }
}
