// Relays that count their own lease, and valves that do. Each renewal starts the count again; a command from the broker's
// store is refused, as is one that is older than what was heard already.
import type { Habits } from './habits.ts';
import { type Mouths, RELAYS, type RelayId } from './nodes.ts';
import { VALVES, type ValveId, type Water } from './water.ts';

/** The timer that is set in each relay, s: it is not in the payload. */
const PULSE_S: Readonly<Record<RelayId, number>> = {
  transfer: 20,
  mix: 20,
  contactor: 60,
  'heat-contactor': 60,
  heater: 60,
  lamp: 90,
};
const STATE_EVERY_S = 10;
const VALVE_EVERY_S = 20;

export interface Jams {
  /** Its contacts stay closed. */
  readonly welded: (relay: RelayId) => boolean;
  /** It does not hear. */
  readonly deaf: (device: string) => boolean;
}

export class Relays {
  readonly refused = { stored: 0, unreadable: 0, late: 0 };
  /** Seconds with current beyond what a lease allows: a judge looks at it. */
  starts = 0;
  readonly #leftS = new Map<string, number>();
  readonly #saidS = new Map<string, number>();
  readonly #seen = new Map<string, { boot: string; n: number }>();
  readonly #wasShut = new Map<ValveId, string>();
  readonly #mouths: Mouths;
  readonly #jams: Jams;
  readonly #habits: Habits;

  constructor(mouths: Mouths, jams: Jams, habits: Habits) {
    this.#mouths = mouths;
    this.#jams = jams;
    this.#habits = habits;
  }

  /** Its coil has current. */
  pulls(id: RelayId): boolean {
    return (this.#leftS.get(id) ?? 0) > 0 && this.#mouths.has(id);
  }

  passes(id: RelayId): boolean {
    return this.pulls(id) || this.#jams.welded(id);
  }

  opens(id: ValveId): boolean {
    return (this.#leftS.get(`valve ${id}`) ?? 0) > 0 && this.#mouths.has('valves');
  }

  inhibitsTopOff(): boolean {
    return (this.#leftS.get('inhibit') ?? 0) > 0 && this.#mouths.has('sump');
  }

  hear(topic: string, text: string, stored: boolean): void {
    if (stored) {
      this.refused.stored++;
      return;
    }
    const relay = /^cmnd\/kelp-(.+)\/POWER$/u.exec(topic)?.[1] as RelayId | undefined;
    const valve = /^kelp\/valve\/(.+)\/set$/u.exec(topic)?.[1] as ValveId | undefined;
    if (relay !== undefined) this.#hearRelay(relay, text);
    else if (valve !== undefined) this.#hearValve(valve, text);
    else if (topic === 'kelp/sump/inhibit/set' && this.#mouths.has('sump'))
      this.#leftS.set('inhibit', Number(text) || 0);
  }

  advance(seconds: number, water: Water): void {
    for (const [id, leftS] of this.#leftS) {
      if (leftS <= 0) continue;
      this.#leftS.set(id, Math.max(0, leftS - seconds));
      if (leftS <= seconds && RELAYS.includes(id as RelayId)) this.#sayState(id as RelayId);
    }
    for (const id of RELAYS) {
      const sinceS = (this.#saidS.get(id) ?? STATE_EVERY_S) + seconds;
      this.#saidS.set(id, sinceS);
      if (sinceS >= STATE_EVERY_S) this.#sayState(id);
    }
    for (const id of VALVES) this.#sayValve(id, water, seconds);
  }

  /** It has current again, or found the broker: it says who it is, and what it does. */
  wake(id: RelayId): void {
    if (this.#habits.has('empty')) this.#mouths.say(id, `cmnd/kelp-${id}/POWER`, '');
    this.#sayState(id);
  }

  wakeValves(): void {
    this.#wasShut.clear();
  }

  /** Without current nothing is remembered. */
  drop(node: string): void {
    for (const id of this.#leftS.keys()) {
      const isOf =
        id === node ||
        (node === 'valves' && id.startsWith('valve ')) ||
        (node === 'sump' && id === 'inhibit');
      if (isOf) this.#leftS.set(id, 0);
    }
  }

  #hearRelay(id: RelayId, text: string): void {
    if (!this.#mouths.has(id) || this.#jams.deaf(id)) return;
    if (text === 'ON') {
      if (!this.pulls(id)) this.starts++;
      this.#leftS.set(id, PULSE_S[id]);
    } else if (text === 'OFF') this.#leftS.set(id, 0);
    else if (text !== '') this.refused.unreadable++;
    // An empty message is a question.
    this.#sayState(id);
  }

  #hearValve(id: ValveId, text: string): void {
    if (!this.#mouths.has('valves') || this.#jams.deaf(id)) return;
    const order = parsed(text);
    if (order === null) {
      this.refused.unreadable++;
      return;
    }
    const { open, forS, n, boot } = order;
    const last = this.#seen.get(id);
    if (open === true && typeof n === 'number' && typeof boot === 'string') {
      if (last?.boot === boot && n <= last.n) {
        this.refused.late++;
        return;
      }
      this.#seen.set(id, { boot, n });
    }
    this.#leftS.set(`valve ${id}`, open === true && typeof forS === 'number' ? Math.min(forS, 120) : 0);
  }

  #sayState(id: RelayId): void {
    this.#saidS.set(id, 0);
    if (id === 'lamp') return;
    this.#mouths.say(id, `tele/kelp-${id}/STATE`, JSON.stringify({ POWER: this.pulls(id) ? 'ON' : 'OFF' }));
  }

  /** By its end switches: between them it is neither open nor shut. */
  #sayValve(id: ValveId, water: Water, seconds: number): void {
    const at = water.valves.get(id) ?? 0;
    const payload = JSON.stringify({ open: at >= 0.99, shut: at <= 0.01 });
    const sinceS = (this.#saidS.get(`valve ${id}`) ?? 0) + seconds;
    this.#saidS.set(`valve ${id}`, sinceS);
    if (this.#wasShut.get(id) === payload && sinceS < VALVE_EVERY_S) return;
    this.#wasShut.set(id, payload);
    this.#saidS.set(`valve ${id}`, 0);
    this.#mouths.say('valves', `kelp/valve/${id}`, payload, true);
  }
}

function parsed(text: string): { open?: unknown; forS?: unknown; n?: unknown; boot?: unknown } | null {
  try {
    const order: unknown = JSON.parse(text);
    return typeof order === 'object' && order !== null ? order : null;
  } catch {
    return null;
  }
}
