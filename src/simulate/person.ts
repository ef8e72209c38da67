// The person at the station: sees what is asked, takes some minutes, does it with a kitchen scale and a hand instrument,
// and says so. Tells the truth as far as they know it, unless a fault says otherwise.
import type { Plant } from '../station/plant.ts';
import { chance, keyOf, sway } from './chance.ts';
import type { Faults } from './faults.ts';
import type { Waterworks } from './waterworks.ts';
import { addSalt, book, bring, litresOf, salinityOf, taken, type World } from './world.ts';

/** What a person is asked; the same shape as the core's Task, on purpose not the same type. */
export interface Asked {
  readonly task: 'add-salt' | 'measure-salinity' | 'look';
  readonly vessel: string;
  readonly massKg: number | null;
  readonly message: { readonly text: string };
}

export type Told =
  | { readonly ask: 'salt-added'; readonly massKg: number }
  | {
      readonly ask: 'salinity-measured';
      readonly vessel: string;
      readonly salinity: number;
      readonly instrument: string;
    }
  | { readonly ask: 'level-right'; readonly system: string; readonly who: string };

interface Job {
  asked: Asked;
  /** When it is done, ms of station time. */
  dueMs: number;
  /** What was answered, so that it can be said again when nobody seems to have heard. */
  told: Told | null;
  answers: number;
}

export interface Person {
  /** A task appeared at a vessel, or (null) went away. */
  readonly see: (vessel: string, asked: Asked | null) => void;
  readonly setClock: (nowMs: number) => void;
  /** What was said since the last call. */
  readonly says: () => readonly Told[];
  readonly nextChangeMs: () => number;
  /** Looks taken because a task said so. */
  readonly looks: () => number;
}

/** From the kitchen to the vat and back: two to ten minutes. */
const DELAY_MS = [120_000, 600_000] as const;

/** How long until a task is done that appeared now. `luck` from 0 to 1, drawn anew for each task. */
export type Delay = (luck: number, nowMs: number) => number;

const soon: Delay = (luck) => DELAY_MS[0] + (DELAY_MS[1] - DELAY_MS[0]) * luck;
const ASKS_AGAIN_MS = 600_000;
const MOST_ANSWERS = 5;
const SCALE_SHARE = 0.005;
/** Small amounts go on the kitchen scale, to the gram; a bucket on the large one, to ten. */
const KITCHEN_SCALE_KG = 2;
/** What they own, the one that they take first in front; salinity that each may be off. */
const INSTRUMENTS = [
  { name: 'conductivity meter, hand-held', errs: 0.15 },
  { name: 'refractometer', errs: 0.3 },
] as const;
type Instrument = (typeof INSTRUMENTS)[number];

export function personOf(
  works: Waterworks,
  world: World,
  faults: Faults,
  seed: number,
  delay: Delay = soon,
): Person {
  const jobs = new Map<string, Job>();
  const key = keyOf(`person at ${works.plant.id}`);
  let said: Told[] = [];
  let occasion = 0;
  let looks = 0;

  const perform = (job: Job): void => {
    const { task, vessel, massKg } = job.asked;
    occasion++;
    if (task === 'look') {
      looks++;
      job.told = levelled(works, world, vessel);
    } else if (task === 'measure-salinity')
      job.told = measure(
        works.plant,
        world,
        faults,
        vessel,
        instrumentFor(job.asked),
        sway(seed, key, occasion),
      );
    else job.told ??= pour(world, faults, vessel, massKg ?? 0, sway(seed, key, occasion));
    if (job.told !== null) said.push(job.told);
    job.answers++;
    job.dueMs =
      job.told === null || job.answers >= MOST_ANSWERS
        ? Number.POSITIVE_INFINITY
        : world.nowMs + ASKS_AGAIN_MS;
  };

  return {
    see: (vessel, asked) => {
      const present = jobs.get(vessel);
      if (asked === null) jobs.delete(vessel);
      else if (present === undefined || isNew(present.asked, asked)) {
        const delayMs = delay(chance(seed, key, 1000 + occasion++), world.nowMs);
        jobs.set(vessel, { asked, dueMs: world.nowMs + Math.round(delayMs), told: null, answers: 0 });
      }
    },
    setClock: (nowMs) => {
      if (faults.at('nobody-there', 'all') !== undefined) return;
      for (const job of jobs.values()) if (job.dueMs <= nowMs) perform(job);
    },
    says: () => {
      const all = said;
      said = [];
      return all;
    },
    nextChangeMs: () => {
      let next = Number.POSITIVE_INFINITY;
      for (const { dueMs } of jobs.values()) if (dueMs > world.nowMs) next = Math.min(next, dueMs);
      return next;
    },
    looks: () => looks,
  };
}

/**
 * The same sheet of paper hung up again is no new task; nobody pours a dose because the words were reworded. A sheet that wants
 * another instrument is one.
 */
function isNew(before: Asked, now: Asked): boolean {
  const isOther = now.task === 'measure-salinity' && instrumentFor(before) !== instrumentFor(now);
  return before.task !== now.task || before.massKg !== now.massKg || isOther;
}

function pour(world: World, faults: Faults, vessel: string, massKg: number, luck: number): Told {
  const share = faults.amount('salt-share', vessel) ?? 1;
  const grain = massKg < KITCHEN_SCALE_KG ? 1000 : 100;
  const weighedKg = Math.round(massKg * grain) / grain;
  const doses =
    faults.at('salt-never', vessel) !== undefined ? 0 : faults.at('salt-twice', vessel) !== undefined ? 2 : 1;
  if (doses > 0 && weighedKg > 0)
    addSalt(world, vessel, weighedKg * share * doses * (1 + SCALE_SHARE * luck));
  return { ask: 'salt-added', massKg: weighedKg };
}

/** A look at a system: its level is brought to where it belongs, with water as it ought to be, and that is said. */
function levelled({ plant, saltYield }: Waterworks, world: World, id: string): Told | null {
  const body = world.bodies[id];
  const system = plant.vessels[id];
  const drawn = world.ledger.drawn[id];
  if (body === undefined || drawn === undefined || system?.role !== 'system') return null;
  const missingL = system.volumeL - litresOf(body);
  if (missingL < 0) book(drawn, taken(body, -missingL));
  else bring(world, id, missingL, plant.process.salinity.target, saltYield);
  return { ask: 'level-right', system: id, who: 'somebody at the station' };
}

/** Another one where the sheet names the first. */
const instrumentFor = ({ message }: Asked): Instrument =>
  INSTRUMENTS.find(({ name }) => !message.text.includes(name)) ?? INSTRUMENTS[0];

/**
 * They stir with a paddle and dip a jug, so the sample is what is dissolved all through the vessel. A slip and an instrument that
 * is off are the first one's: whoever takes another in hand looks again.
 */
function measure(
  plant: Plant,
  world: World,
  faults: Faults,
  vessel: string,
  instrument: Instrument,
  luck: number,
): Told | null {
  const body = world.bodies[vessel];
  if (body === undefined || litresOf(body) <= 0) return null;
  const isFirst = instrument === INSTRUMENTS[0];
  const off = isFirst ? (faults.amount('measures-off', vessel) ?? 0) : 0;
  const seen = Math.max(0, Math.round((salinityOf(body) + instrument.errs * luck + off) * 100) / 100);
  return {
    ask: 'salinity-measured',
    vessel,
    salinity: isFirst ? slipped(plant, faults, vessel, seen) : seen,
    instrument: instrument.name,
  };
}

function slipped({ process }: Plant, faults: Faults, vessel: string, seen: number): number {
  if (faults.at('types-target', vessel) !== undefined) return process.salinity.target;
  return faults.at('swaps-digits', vessel) === undefined ? seen : withDigitsSwapped(seen);
}

/** 34.9 becomes 43.9: the two digits before the point change places. */
function withDigitsSwapped(value: number): number {
  const whole = Math.floor(value);
  return whole > 99
    ? value
    : Math.round((value - whole + 10 * (whole % 10) + Math.floor(whole / 10)) * 100) / 100;
}
