// The person of the second plant. Comes only when a task or an alarm asks, sleeps at night, and has an instrument.
import type { Faults } from './faults.ts';
import { salinityIn } from './tank.ts';
import type { Water } from './water.ts';

export type Request = Readonly<Record<string, string>>;

export interface Deed {
  readonly atS: number;
  readonly because: string;
  readonly did: string;
}

/** True shares of what the bag says, and of what the scale shows. */
const YIELD = 0.857;
const SCALE = 1.004;
/** Mended and wiped up, and then looked on for so long before anything is reset, s. */
const LOOKS_ON_S = 240;
const RESETS = 4;
/** A batch that is too salt, or too full for its salt: what to draw off, and whether fresh water goes in its place. */
const DRAW_OFF = /take out ([\d.]+) L( and replace it with purified water)?/u;
/** An alarm that names what the sump node says: pull its plug, put it back, and it says everything. */
const SILENT_SUMP = /^(I-12-|A-40-).*(system-(low|high)|top-off)/u;
const WAKES_H = 7;
const SLEEPS_H = 22.5;
const INSTRUMENTS = ['refractometer', 'conductivity pen'] as const;

interface Task {
  readonly task: string;
  readonly massKg: number | null;
  readonly message: { readonly text: string };
}

export class Helper {
  readonly deeds: Deed[] = [];
  /** Nodes whose plug is pulled and put back, because an alarm says that they are silent. */
  readonly cycles = new Set<'sump'>();
  readonly #dice: () => number;
  readonly #water: Water;
  readonly #faults: Faults;
  readonly #tasks = new Map<string, { task: Task; dueS: number }>();
  readonly #alarms = new Map<string, { dueS: number; words: string }>();
  readonly #latched = new Set<string>();
  readonly #trips = new Set<string>();
  #resetsAtS = Infinity;
  #tries = 0;
  #measured = 0;
  #asked = 0;

  constructor(dice: () => number, water: Water, faults: Faults) {
    this.#dice = dice;
    this.#water = water;
    this.#faults = faults;
  }

  seeTask(vessel: string, text: string): void {
    if (text === '') this.#tasks.delete(vessel);
    else {
      const task = JSON.parse(text) as Task;
      const before = this.#tasks.get(vessel);
      if (before?.task.message.text === task.message.text && before.task.massKg === task.massKg) return;
      this.#tasks.set(vessel, { task, dueS: this.#comes(10 + 35 * this.#dice()) });
    }
  }

  seeAlarm(name: string, text: string): void {
    if (text === '') {
      this.#alarms.delete(name);
      this.#latched.delete(name);
      return;
    }
    const { state, priority, message } = JSON.parse(text) as {
      state: string;
      priority: string;
      message: { text: string };
    };
    if (state.startsWith('latched')) this.#latched.add(name);
    else this.#latched.delete(name);
    if (state !== 'unacknowledged' && state !== 'latched-unacknowledged') return;
    if (this.#alarms.has(name)) return;
    const minutes = (priority === 'urgent' ? 10 : 30) + 30 * this.#dice();
    // What is urgent rings a bell at the bed.
    const dueS = priority === 'urgent' ? this.#water.seconds + 60 * minutes : this.#comes(minutes);
    this.#alarms.set(name, { dueS, words: message.text });
  }

  /** What the service wrote down: which trips are latched. */
  seeRecord(about: string, words: string): void {
    if (about !== 'trip') return;
    const [, trip = '', gone] = /^(\S+)(.*)$/u.exec(words) ?? [];
    if (gone === '') this.#trips.add(trip);
    else this.#trips.delete(trip);
  }

  /** @returns what is asked of the service now */
  act(): readonly Request[] {
    const requests: Request[] = [];
    for (const [vessel, { task, dueS }] of this.#tasks) {
      if (this.#water.seconds < dueS) continue;
      this.#tasks.delete(vessel);
      requests.push(...this.#do(vessel, task));
    }
    const rung = [...this.#alarms].filter(([, { dueS }]) => this.#water.seconds >= dueS);
    if (rung.length > 0) requests.push(...this.#look(rung.map(([name, { words }]) => `${name}: ${words}`)));
    for (const [name] of rung) this.#alarms.set(name, { dueS: Infinity, words: '' });
    if (this.#water.seconds >= this.#resetsAtS) requests.push(...this.#reset());
    return requests;
  }

  #do(vessel: string, { task, massKg, message: { text: words } }: Task): readonly Request[] {
    if (task === 'add-salt' && massKg !== null) {
      const share = this.#faults.present('pours-less')?.value ?? 1;
      const truly = massKg * share * SCALE * (0.995 + 0.01 * this.#dice());
      this.#water.salt(truly, YIELD);
      this.#note(words, `poured ${truly.toFixed(2)} kg`);
      return [this.#request({ request: 'salt-added', mass: `${massKg} kg` })];
    }
    if (task === 'measure-salinity') {
      const instrument = INSTRUMENTS[this.#measured++ % 2] as string;
      const more = this.#faults.present('misreads')?.value ?? 0;
      // A cup is filled at the top.
      const value = salinityIn(this.#water.mixing.top) + more + 0.3 * (this.#dice() - 0.5);
      this.#note(words, `measured ${value.toFixed(1)} with the ${instrument}`);
      const told = { request: 'salinity-measured', vessel, value: `${value.toFixed(1)} PSU`, instrument };
      return [this.#request(told)];
    }
    this.#note(words, `looked at the ${vessel}`);
    return [this.#request({ request: 'restart', unit: 'all' })];
  }

  #look(why: readonly string[]): readonly Request[] {
    const mended = this.#faults.mend().map(({ text }) => text);
    this.#water.wipe();
    if (why.some((words) => SILENT_SUMP.test(words))) this.cycles.add('sump');
    for (const words of why) {
      const [, drawnL = '', inItsPlace] = DRAW_OFF.exec(words) ?? [];
      if (drawnL === '') continue;
      this.#water.bail(Number(drawnL), inItsPlace === undefined ? 0 : Number(drawnL));
      this.#note(words, `drew ${drawnL} L off the mixing vat`);
    }
    const did = mended.length > 0 ? `mended ${mended.join(', ')}` : 'found nothing broken';
    this.#note(
      why.join('; '),
      `${did}${this.cycles.size > 0 ? ', pulled the plug of the sump node and put it back' : ''}`,
    );
    this.#resetsAtS = this.#water.seconds + LOOKS_ON_S;
    this.#tries = 0;
    return [this.#request({ request: 'acknowledge', alarm: 'all' })];
  }

  /** What is latched is reset once a while was looked on; what is refused is tried again, and not for ever. */
  #reset(): readonly Request[] {
    this.#resetsAtS =
      this.#latched.size > 0 && ++this.#tries < RESETS ? this.#water.seconds + LOOKS_ON_S : Infinity;
    // What nothing shows to be over is reset by name, by somebody who says what was seen.
    const seen = { who: 'the helper', seen: 'mended and wiped up, nothing runs, nothing leaks' };
    const byName =
      this.#tries > 1 ? [...this.#trips].map((trip) => ({ request: 'reset-trip', trip, ...seen })) : [];
    const latched = this.#latched.size > 0 ? [{ request: 'reset-trip', trip: 'all' }, ...byName] : [];
    return [...latched, { request: 'restart', unit: 'all' }].map((request) => this.#request(request));
  }

  #request(request: Request): Request {
    return { id: `helper-${++this.#asked}`, ...request };
  }

  #note(because: string, did: string): void {
    this.deeds.push({ atS: Math.round(this.#water.seconds), because, did });
  }

  /** After so many minutes, or in the morning. */
  #comes(minutes: number): number {
    const dueS = this.#water.seconds + 60 * minutes;
    const hour = (dueS / 3600 + 6) % 24;
    if (hour >= WAKES_H && hour < SLEEPS_H) return dueS;
    return dueS + ((WAKES_H - hour + 24) % 24) * 3600 + 600;
  }
}
