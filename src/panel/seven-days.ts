// What the next days would bring: the real core over simulated water, from what the station holds now. A person who adds
// salt within minutes of being asked is assumed, and that trips which stand now are mended and reset first; the page says so.

import { middleL } from '../control/guard/contents.ts';
import { salinityOf } from '../control/guard/evidence.ts';
import { known } from '../control/guard/invariant.ts';
import type { Input } from '../control/guard/types.ts';
import { initial } from '../control/process/initial.ts';
import { reserveShareOf } from '../control/process/on-hand.ts';
import type { ExchangeState, State, UnitState } from '../control/process/state.ts';
import { step } from '../control/step.ts';
import { englishOf } from '../language/english.ts';
import { type Message, sameMessage } from '../language/message.ts';
import { told as toldBy } from '../language/told.ts';
import { makeTwin } from '../simulate/twin.ts';
import type { Plant } from '../station/plant.ts';
import type { WhatIfRun } from './contract.ts';

const STEP_MS = 10_000;
const HOUR_MS = 3_600_000;
const SAMPLE_MS = 30 * 60_000;
export const DAYS = 7;
const MOST_ALARMS = 12;

/**
 * @param told is called now and then with the share that is done
 */
export function sevenDays(
  plant: Plant,
  from: State,
  startMinute: number,
  told: (share: number) => void = () => {},
  days = DAYS,
): WhatIfRun {
  const twin = makeTwin(beginningAt(plant, from), 1, [], { startMinute });
  let state = begun(plant, from);
  const say = englishOf(plant);
  const run = recorder(plant);
  const endMs = days * 24 * HOUR_MS;
  const waiting: Input[] = [{ type: 'link', up: true }];
  for (let nowMs = 0; nowMs < endMs; nowMs += STEP_MS) {
    twin.advance(STEP_MS);
    const asked = twin.told().map((request, i): Input => ({ type: 'request', id: `${nowMs}-${i}`, request }));
    const inputs = [
      ...waiting.splice(0),
      ...twin.inputs(),
      twin.clock(),
      { type: 'echo' } as const,
      ...asked,
    ];
    const done = step(plant, state, { elapsedMs: STEP_MS, inputs, tick: true });
    state = done.state;
    for (const effect of done.effects) {
      if (effect.do === 'command') twin.command(effect.actuator, effect.on, effect.leaseMs);
      if (effect.do === 'ask') twin.ask(effect.vessel, toldBy(say, effect.task));
      if (effect.do === 'ask' && effect.task !== null) run.task();
      if (effect.do === 'alarm' && effect.state === 'unacknowledged' && effect.priority !== 'notice')
        run.alarm(effect.words);
      if (effect.do === 'record' && effect.words.id === 'trip-latched') run.trip();
    }
    run.step(state, nowMs);
    if (nowMs % (6 * HOUR_MS) === 0) told(nowMs / endMs);
  }
  return run.result();
}

/** The water as it stands now, as far as anybody knows. */
function beginningAt(plant: Plant, state: State): Plant {
  const vessels = Object.fromEntries(
    Object.entries(plant.vessels).map(([id, vessel]) => {
      const held = state.vessels[id];
      if (held === undefined) return [id, vessel];
      const seen = vessel.temperature === null ? undefined : state.sensors[vessel.temperature]?.value;
      const initialNow = {
        contentsL: middleL(held),
        salinity: salinityOf(plant, state, id) ?? vessel.initial.salinity,
        temperatureC: typeof seen === 'number' ? seen : vessel.initial.temperatureC,
      };
      return [id, { ...vessel, initial: initialNow }];
    }),
  );
  return { ...plant, vessels };
}

/** The process where it is now; evidence is gathered anew, and what was held or tripped goes on. */
function begun(plant: Plant, from: State): State {
  const state = initial(plant);
  const going = <U extends UnitState>(unit: U): U => ({
    ...unit,
    procedure: unit.procedure === 'idle' ? 'idle' : 'running',
    cause: null,
  });
  const exchange = Object.fromEntries(
    Object.entries(state.exchange).map(([id, fresh]): [string, ExchangeState] => {
      const before = from.exchange[id];
      return [id, before ? going({ ...before, step: 'rest', stepL: 0, differenceL: 0 }) : fresh];
    }),
  );
  return {
    ...state,
    refill: going(from.refill),
    batch: going(from.batch),
    exchange,
    salinity: structuredClone(from.salinity),
  };
}

function recorder(plant: Plant) {
  const hours: number[] = [];
  const reserve: number[] = [];
  const contents: Record<string, (number | null)[]> = {};
  const sums = { deliveredL: 0, saltKg: 0, batches: 0, tasks: 0, trips: 0, readyMs: 0, steps: 0 };
  let leastReserveShare = Number.POSITIVE_INFINITY;
  let before: { number: number; saltKg: number; accepted: boolean } | null = null;
  const supplies = Object.values(plant.routes).filter(({ purpose }) => purpose === 'supply');
  const deliveredL: number[] = [];
  const alarms: Message[] = [];
  return {
    task: () => {
      sums.tasks += 1;
    },
    trip: () => {
      sums.trips += 1;
    },
    alarm: (words: Message) => {
      const isTold = alarms.some((one) => sameMessage(one, words));
      if (alarms.length < MOST_ALARMS && !isTold) alarms.push(words);
    },
    step: (state: State, nowMs: number): void => {
      const { batch } = state;
      for (const { id } of supplies) {
        const pipe = known(state.routes, id);
        sums.deliveredL += pipe.movedL;
      }
      if (before !== null) {
        const same = before.number === batch.number;
        sums.saltKg += Math.max(0, batch.saltAddedKg - (same ? before.saltKg : 0));
        if (batch.accepted && !before.accepted) sums.batches += 1;
      }
      before = { number: batch.number, saltKg: batch.saltAddedKg, accepted: batch.accepted };
      sums.steps += 1;
      if (batch.stage === 'ready') sums.readyMs += STEP_MS;
      // The first minutes gather evidence: a reserve that nobody has looked for yet is not short.
      if (nowMs >= SAMPLE_MS) leastReserveShare = Math.min(leastReserveShare, reserveShareOf(plant, state));
      if (nowMs % SAMPLE_MS !== 0) return;
      hours.push(nowMs / HOUR_MS);
      reserve.push(Number(reserveShareOf(plant, state).toFixed(4)));
      deliveredL.push(Number(sums.deliveredL.toFixed(1)));
      for (const [id, held] of Object.entries(state.vessels)) {
        contents[id] ??= [];
        contents[id].push(Number(middleL(held).toFixed(1)));
      }
    },
    result: (): WhatIfRun => ({
      hours,
      lines: {
        reserve,
        delivered: deliveredL,
        ...Object.fromEntries(Object.entries(contents).map(([id, line]) => [`contents:${id}`, line])),
      },
      sums: {
        deliveredL: Number(sums.deliveredL.toFixed(1)),
        saltKg: Number(sums.saltKg.toFixed(2)),
        batches: sums.batches,
        tasks: sums.tasks,
        trips: sums.trips,
        readyShare: Number((sums.readyMs / (sums.steps * STEP_MS)).toFixed(3)),
        leastReserveShare: Number(leastReserveShare.toFixed(4)),
        alarms,
      },
    }),
  };
}
