// What the sensors of the second plant say of its water: floats on waves, counters that rock, a probe in a corner.
import type { Habits } from './habits.ts';
import type { Mouths, NodeId } from './nodes.ts';
import { conductivityOf } from './sea.ts';
import { salinityIn } from './tank.ts';
import type { TankId, Water, WayId } from './water.ts';

interface Float {
  readonly id: string;
  readonly tank: TankId;
  readonly markL: number;
  readonly halfwayL: number;
}

/** Where each really turns over: within what the station file calls its tolerance. */
const FLOATS: readonly Float[] = [
  { id: 'fresh-low', tank: 'fresh', markL: 41, halfwayL: 2.5 },
  { id: 'fresh-high', tank: 'fresh', markL: 338.5, halfwayL: 2.5 },
  { id: 'fresh-overflow', tank: 'fresh', markL: 372, halfwayL: 2.5 },
  { id: 'mixing-low', tank: 'mixing', markL: 44.5, halfwayL: 2 },
  { id: 'mixing-high', tank: 'mixing', markL: 285.5, halfwayL: 2 },
  { id: 'mixing-overflow', tank: 'mixing', markL: 303, halfwayL: 2 },
  { id: 'system-low', tank: 'system', markL: 1471, halfwayL: 3.5 },
  { id: 'system-high', tank: 'system', markL: 1544, halfwayL: 3.5 },
  { id: 'system-overflow', tank: 'system', markL: 1591, halfwayL: 3.5 },
];

interface Meter {
  readonly way: WayId;
  readonly perL: number;
  /** How far off it counts, a share. */
  readonly bias: number;
  readonly lostL: number;
  readonly key: string;
  readonly wrapsAt: number;
  raw: number;
  shown: number;
  losesL: number;
  stillS: number;
  owesBack: number;
  saidS: number;
  said: number;
}

const meter = (
  way: WayId,
  perL: number,
  bias: number,
  lostL: number,
  key = 'count',
  wrapsAt = Infinity,
  raw = 0,
): Meter => ({
  ...{ way, perL, bias, lostL, key, wrapsAt, raw },
  ...{ shown: raw, losesL: 0, stillS: 60, owesBack: 0, saidS: 60, said: Number.NaN },
});

export interface Lies {
  /** What a float says whatever the water does; null: the truth. */
  readonly stuck: (float: string) => boolean | null;
  /** Factors on what the level sensor and the probe read. */
  readonly levelFactor: () => number;
  readonly probeFactor: () => number;
}

/** A contact must stand for this long before the device passes it on. */
const DEBOUNCE_S = 0.5;
const FLOATS_EVERY_S = 300;
const GUARD_EVERY_S = 60;
const METER_EVERY_S = 30;
const PROBE_EVERY_S = 10;
const LEVEL_EVERY_S = 60;
const LEVEL_LOOK_S = 2;
const LEAK_EVERY_S = 600;

export class Sensors {
  readonly #wet = new Map<string, boolean>();
  readonly #turningS = new Map<string, number>();
  readonly #said = new Map<string, string>();
  readonly #sinceS = new Map<string, number>();
  readonly #meters: readonly Meter[];
  readonly #mouths: Mouths;
  readonly #habits: Habits;
  readonly #dice: () => number;
  readonly #lies: Lies;
  #phase = 0;
  #percent = Number.POSITIVE_INFINITY;

  constructor(mouths: Mouths, habits: Habits, dice: () => number, lies: Lies, water: Water) {
    this.#mouths = mouths;
    this.#habits = habits;
    this.#dice = dice;
    this.#lies = lies;
    this.#meters = [
      meter('refill', 20, 0.015, 0.3, 'count', 65_536, 65_020),
      meter('transfer', 10, -0.018, 0.3, 'count', Infinity, 8_214),
      meter('supply', 1000, -0.008, 0.05, 'ml', Infinity, 90_417),
      meter('drain', 100, 0.012, 0.06, 'count', Infinity, 41_002),
    ];
    for (const { id, tank, markL } of FLOATS) this.#wet.set(id, water.tank(tank).litres > markL);
  }

  advance(seconds: number, water: Water, moved: ReadonlyMap<WayId, number>): void {
    this.#phase += seconds;
    for (const float of FLOATS) this.#float(float, water, seconds);
    for (const one of this.#meters) this.#count(one, moved.get(one.way) ?? 0, seconds);
    for (const node of ['floats', 'guard', 'sump', 'meters', 'leak'] as const)
      this.#report(node, water, seconds);
  }

  /** A node that wakes up says everything. */
  wake(node: NodeId): void {
    for (const key of [...this.#said.keys()]) if (key.startsWith(`${node} `)) this.#said.delete(key);
    if (node === 'meters') for (const one of this.#meters) one.saidS = METER_EVERY_S;
  }

  #wave(tank: TankId, water: Water): number {
    if (!this.#habits.has('slosh')) return 0;
    const flow = (way: WayId) => water.flowLpm.get(way) ?? 0;
    const heightL = {
      fresh: 0.2 + 0.08 * flow('refill') + 0.02 * flow('transfer'),
      mixing: 0.1 + 0.06 * flow('transfer') + 0.025 * flow('circulate'),
      system: 2.2 + 0.08 * flow('supply') + 0.05 * flow('drain'),
    }[tank];
    const periodS = { fresh: 1.3, mixing: 1.1, system: 2.7 }[tank];
    return heightL * (0.75 * Math.sin((2 * Math.PI * this.#phase) / periodS) + 0.5 * (this.#dice() - 0.5));
  }

  #float({ id, tank, markL, halfwayL }: Float, water: Water, seconds: number): void {
    const level = water.tank(tank).litres + this.#wave(tank, water);
    const wet = this.#wet.get(id) ?? false;
    const halfway = this.#habits.has('hysteresis') ? halfwayL : 0;
    const would = this.#lies.stuck(id) ?? level > (wet ? markL - halfway : markL + halfway);
    const turningS = would === wet ? 0 : (this.#turningS.get(id) ?? 0) + seconds;
    this.#turningS.set(id, turningS);
    if (turningS < DEBOUNCE_S) return;
    this.#turningS.set(id, 0);
    this.#wet.set(id, would);
  }

  #count(one: Meter, litres: number, seconds: number): void {
    if (litres > 0) {
      if (one.stillS > 5 && this.#habits.has('lost')) one.losesL = one.lostL * (0.2 + 0.8 * this.#dice());
      one.stillS = 0;
      one.owesBack = this.#habits.has('backwards') ? 2 : 0;
      const lost = Math.min(one.losesL, litres);
      one.losesL -= lost;
      one.raw += (litres - lost) * one.perL * (1 + one.bias);
    } else {
      one.stillS += seconds;
      if (one.owesBack > 0 && this.#dice() < seconds) {
        one.owesBack -= 1;
        one.raw -= 1;
      }
    }
    const rocks = this.#habits.has('wobble') && litres > 0 && this.#dice() < 0.4 ? 1 : 0;
    const whole = Math.floor(one.raw) - rocks;
    one.shown = whole % one.wrapsAt;
    one.saidS += seconds;
    const isDue =
      one.saidS >= METER_EVERY_S ||
      (one.shown !== one.said && one.saidS >= (this.#habits.has('gulps') ? 0.5 : 1.5));
    if (!isDue) return;
    one.saidS = 0;
    one.said = one.shown;
    const name = one.way === 'refill' ? 'inlet' : one.way;
    this.#mouths.say('meters', `kelp/meters/${name}`, JSON.stringify({ [one.key]: one.shown }));
  }

  #report(node: 'floats' | 'guard' | 'sump' | 'meters' | 'leak', water: Water, seconds: number): void {
    const wet = (id: string) => this.#wet.get(id) ?? false;
    const say = (topic: string, payload: string, everyS: number, retain = false) =>
      this.#sayAtTimes(node, topic, payload, everyS, seconds, retain);
    switch (node) {
      case 'floats': {
        const names = ['fresh-low', 'fresh-high', 'mixing-low', 'mixing-high'];
        const words = names.map((id, place) => [`Switch${place + 1}`, wet(id) ? 'ON' : 'OFF']);
        return say('tele/kelp-floats/SENSOR', JSON.stringify(Object.fromEntries(words)), FLOATS_EVERY_S);
      }
      case 'guard':
        for (const [place, tank] of ['fresh', 'mixing', 'system'].entries())
          say(
            `kelp/guard/in${place + 1}`,
            JSON.stringify({ closed: !wet(`${tank}-overflow`) }),
            GUARD_EVERY_S,
          );
        return;
      case 'sump': {
        const everyS = this.#habits.has('silence') ? Infinity : 60;
        say('kelp/sump/low', wet('system-low') ? 'wet' : 'dry', everyS, true);
        say('kelp/sump/high', wet('system-high') ? 'wet' : 'dry', everyS, true);
        say('kelp/sump/top-off', water.topOffRuns ? 'filling' : 'idle', everyS, true);
        return say('kelp/sump/temperature', (water.system.top.celsius + 0.05).toFixed(1), everyS, true);
      }
      case 'meters':
        return this.#instruments(water, say);
      case 'leak':
        return say('kelp/leak', JSON.stringify({ water_leak: water.trayL > 0.3, battery: 96 }), LEAK_EVERY_S);
    }
  }

  #instruments(water: Water, say: (topic: string, payload: string, everyS: number) => void): void {
    const noise = (width: number) => (this.#dice() - 0.5) * width;
    if (this.#isTime('level', LEVEL_LOOK_S)) {
      const percent =
        ((water.fresh.litres + this.#wave('fresh', water) + 1.2) / 4) * this.#lies.levelFactor();
      // A new value goes out when it moved by a third of a per cent, and once a minute.
      if (Math.abs(percent - this.#percent) >= 0.34) this.#percent = percent;
      const payload = JSON.stringify({ percent: Number(this.#percent.toFixed(2)) });
      this.#sayAtTimes('meters', 'kelp/meters/fresh-level', payload, LEVEL_EVERY_S, LEVEL_LOOK_S, false);
    }
    if (this.#isTime('probe', PROBE_EVERY_S)) {
      const { corner } = water.mixing;
      const t = corner.celsius + 0.08 + noise(0.06);
      const mS = conductivityOf(salinityIn(corner), corner.celsius) * 1.004 * this.#lies.probeFactor();
      const ec = Math.round(1000 * mS * (1 + noise(0.0015)));
      say('kelp/meters/probe', JSON.stringify({ ec, t: Number(t.toFixed(2)) }), 0);
    }
    if (this.#isTime('mains', GUARD_EVERY_S))
      say('kelp/meters/mains', JSON.stringify({ ec: Number((4 + noise(0.6)).toFixed(1)) }), 0);
  }

  #isTime(what: string, everyS: number): boolean {
    const lastS = this.#sinceS.get(`at ${what}`) ?? Number.NEGATIVE_INFINITY;
    if (this.#phase - lastS < everyS) return false;
    this.#sinceS.set(`at ${what}`, this.#phase);
    return true;
  }

  #sayAtTimes(
    node: NodeId,
    topic: string,
    payload: string,
    everyS: number,
    seconds: number,
    retain: boolean,
  ): void {
    const key = `${node} ${topic}`;
    const sinceS = (this.#sinceS.get(key) ?? 0) + seconds;
    this.#sinceS.set(key, sinceS);
    if (this.#said.get(key) === payload && sinceS < everyS) return;
    this.#said.set(key, payload);
    this.#sinceS.set(key, 0);
    this.#mouths.say(node, topic, payload, retain);
  }
}
