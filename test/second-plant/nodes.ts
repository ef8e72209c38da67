// The nodes on the wire of the second plant: each is one device with a connection, a will and current of its own. A node
// that has no current says nothing, drops its relays and lets its valves spring shut. What it says is queued here in the
// order in which it would leave the device; `radio.ts` carries it.
import type { Habits } from './habits.ts';

export const RELAYS = ['transfer', 'mix', 'contactor', 'heat-contactor', 'heater', 'lamp'] as const;
export type RelayId = (typeof RELAYS)[number];
export type NodeId = RelayId | 'floats' | 'guard' | 'sump' | 'valves' | 'meters' | 'leak';
export const NODES: readonly NodeId[] = [...RELAYS, 'floats', 'guard', 'sump', 'valves', 'meters', 'leak'];

export interface Said {
  readonly node: NodeId;
  readonly topic: string;
  readonly payload: string;
  readonly retain: boolean;
}

/** What the broker says for a node that is gone, and what it says itself when it comes. */
export function willOf(node: NodeId): { topic: string; gone: string; here: string } | null {
  if (node === 'leak') return null;
  return RELAYS.includes(node as RelayId) || node === 'floats'
    ? { topic: `tele/kelp-${node}/LWT`, gone: 'Offline', here: 'Online' }
    : { topic: `kelp/${node}/online`, gone: 'false', here: 'true' };
}

/** The queue of what is said, and who has current. */
export class Mouths {
  readonly #habits: Habits;
  readonly #dice: () => number;
  readonly #dark = new Set<NodeId>();
  readonly #muted = new Set<NodeId>();
  #now: Said[] = [];
  #again: Said[] = [];

  constructor(habits: Habits, dice: () => number) {
    this.#habits = habits;
    this.#dice = dice;
  }

  has(node: NodeId): boolean {
    return !this.#dark.has(node);
  }

  /** @returns whether that changed anything */
  power(node: NodeId, on: boolean): boolean {
    if (on === this.has(node)) return false;
    if (on) this.#dark.delete(node);
    else {
      this.#dark.add(node);
      this.#now = this.#now.filter((said) => said.node !== node);
      this.#again = this.#again.filter((said) => said.node !== node);
    }
    return true;
  }

  mute(node: NodeId, silent: boolean): void {
    if (silent) this.#muted.add(node);
    else this.#muted.delete(node);
  }

  say(node: NodeId, topic: string, payload: string, retain = false): void {
    if (this.#dark.has(node) || this.#muted.has(node)) return;
    const said = { node, topic, payload, retain };
    this.#now.push(said);
    const isUnanswered = this.#again.some((other) => other.node === node);
    if (isUnanswered) this.#again.push(said);
    if (isUnanswered || !this.#habits.has('duplicates') || this.#dice() > 0.04) return;
    // The acknowledgement got lost. Either it is said again at once, or the device connects again a little later and says
    // everything from here on once more, in order and before newer words.
    if (this.#dice() < 0.5) this.#now.push(said);
    else this.#again.push(said);
  }

  take(): readonly Said[] {
    const said = this.#now;
    this.#now = this.#again;
    this.#again = [];
    return said;
  }
}
