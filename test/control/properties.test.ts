// Whatever arrives, in whatever order: the core never throws, never writes on the state it was given, gives the same answer
// twice, and never switches anything on that a row forbids. And the true contents stay inside the core's interval.
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { deriveRows, isAllowed } from '../../src/control/guard/interlocks.ts';
import { actuatorsOf } from '../../src/control/guard/row-kinds.ts';
import type { Event, Input, Request } from '../../src/control/guard/types.ts';
import { initial } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import { step } from '../../src/control/step.ts';
import { litresOf } from '../../src/simulate/world.ts';
import type { Plant } from '../../src/station/plant.ts';
import '../seed.ts';
import { couple, plantAt } from '../tools/coupled.ts';
import { turnOf } from '../tools/turn.ts';
import { STATIONS } from './baseline.ts';

/** On each station. SEQUENCES=250000 for the long run, which looks at every hundredth sequence as closely as the short one. */
const RUNS = Number(process.env.SEQUENCES ?? 40);
const LONG = RUNS > 10_000;
/** The long run plays the nights of three seeds, a short one those of one of them. */
const SEEDS = LONG ? [1, 2, 3] : [1 + turnOf(3)];

/** Proof tests, bypasses, shelved alarms: of rows that there are, for any time. */
function silencing(plant: Plant): fc.Arbitrary<Request> {
  const row = fc.constantFrom(...deriveRows(plant).map(({ key }) => key));
  const minutes = fc.double({ min: -1, max: 300, noNaN: true });
  const [reason, who] = ['test', 'somebody'];
  return fc.oneof(
    row.map((key): Request => ({ ask: 'proof-test', row: key, who })),
    fc.constant<Request>({ ask: 'end-proof-test' }),
    minutes.map((m): Request => ({ ask: 'on-my-way', minutes: m, who })),
    fc
      .constantFrom('draw-fresh', 'to-system', 'nothing')
      .map((valve): Request => ({ ask: 'valve-moved', valve, who })),
    fc.tuple(row, minutes).map(([key, m]): Request => ({ ask: 'bypass', row: key, minutes: m, reason, who })),
    row.map((key): Request => ({ ask: 'end-bypass', row: key })),
    fc.tuple(row, minutes).map(([alarm, m]): Request => ({ ask: 'shelve', alarm, minutes: m, reason, who })),
    row.map((alarm): Request => ({ ask: 'unshelve', alarm })),
    row.map((alarm): Request => ({ ask: 'alarm-out-of-service', alarm, reason, who })),
    row.map((alarm): Request => ({ ask: 'alarm-into-service', alarm })),
    row.map((key): Request => ({ ask: 'upkeep-done', task: `siphon-break/${key}`, who })),
  );
}

function inputs(plant: Plant): fc.Arbitrary<Input> {
  const sensors = Object.values(plant.sensors);
  const actuators = Object.keys(plant.actuators);
  const value = fc.oneof(fc.boolean(), fc.double({ min: -200, max: 4000, noNaN: true }));
  const reading = fc
    .tuple(fc.constantFrom(...sensors), value, fc.boolean())
    .map(([sensor, said, live]): Input => {
      const isContact = 'yes' in sensor;
      const fits = isContact ? Boolean(said) : Number(said);
      return { type: 'reading', sensor: sensor.id, value: fits, live };
    });
  const units = fc.constantFrom('refill', 'batch', 'exchange', 'all');
  const request: fc.Arbitrary<Request> = fc.oneof(
    fc
      .tuple(fc.constantFrom('start', 'hold', 'restart', 'stop', 'abort', 'reset'), units)
      .map(([ask, unit]) => ({ ask, unit }) as Request),
    fc.constant<Request>({ ask: 'acknowledge', alarm: 'all' }),
    fc.constant<Request>({ ask: 'reset-trip', trip: 'all' }),
    fc.double({ min: -1, max: 30, noNaN: true }).map((massKg): Request => ({ ask: 'salt-added', massKg })),
    fc.double({ min: -5, max: 60, noNaN: true }).map(
      (salinity): Request => ({
        ask: 'salinity-measured',
        vessel: plant.mixingId,
        salinity,
        instrument: 'any',
      }),
    ),
    fc
      .double({ min: -10, max: 500, noNaN: true })
      .map((volumeL): Request => ({ ask: 'exchange-now', system: plant.systemIds[0] ?? '', volumeL })),
    fc
      .constantFrom(...actuators)
      .map((device): Request => ({ ask: 'out-of-service', device, reason: 'test' })),
    fc.constantFrom(...actuators).map((device): Request => ({ ask: 'into-service', device })),
    silencing(plant),
  );
  return fc.oneof(
    { weight: 8, arbitrary: reading },
    fc
      .tuple(fc.constantFrom(...sensors), fc.constantFrom('unparsable', 'offline', 'sentinel' as const))
      .map(([sensor, reason]) => ({ type: 'bad-reading', sensor: sensor.id, reason }) as Input),
    {
      weight: 4,
      arbitrary: fc
        .tuple(fc.constantFrom(...actuators), fc.boolean())
        .map(([actuator, on]): Input => ({ type: 'feedback', actuator, on, live: true })),
    },
    fc
      .tuple(fc.constantFrom(...actuators), fc.boolean())
      .map(([actuator, on]): Input => ({ type: 'foreign-command', actuator, on, retained: false })),
    fc.boolean().map((up): Input => ({ type: 'link', up })),
    { weight: 4, arbitrary: fc.constant<Input>({ type: 'echo' }) },
    fc.nat(1439).map((minuteOfDay): Input => ({ type: 'clock', minuteOfDay, day: 1, trusted: true })),
    request.map((asked): Input => ({ type: 'request', id: 'x', request: asked })),
    fc.boolean().map((writable): Input => ({ type: 'journal', writable })),
  );
}

const events = (plant: Plant): fc.Arbitrary<Event[]> =>
  fc.array(
    fc.record({
      elapsedMs: fc.constantFrom(0, 1, 250, 1_000, 5_000, 60_000, 3_600_000),
      inputs: fc.array(inputs(plant), { maxLength: 6 }),
      tick: fc.boolean(),
    }),
    { minLength: 1, maxLength: 60 },
  );

function freeze<T>(value: T): T {
  if (typeof value === 'object' && value !== null) {
    for (const inner of Object.values(value)) freeze(inner);
    Object.freeze(value);
  }
  return value;
}

describe.each(Object.entries(STATIONS))('%s', (_, { file }) => {
  const plant = plantAt(file);
  let sequences = 0;

  test(
    'no sequence of inputs makes the core throw, write on its input, or command what a row forbids',
    () => {
      fc.assert(
        fc.property(events(plant), (sequence) => {
          sequences += 1;
          const closely = !LONG || sequences % 100 === 0;
          const kept = closely ? freeze<State> : (same: State) => same;
          let state: State = kept(initial(plant));
          for (const event of sequence) {
            const done = step(plant, state, event);
            if (closely) expect(JSON.stringify(step(plant, state, event))).toBe(JSON.stringify(done));
            for (const effect of done.effects) {
              if (
                effect.do !== 'command' ||
                !effect.on ||
                plant.actuators[effect.actuator]?.kind === 'signal'
              )
                continue;
              const users = Object.keys({ ...plant.routes, ...plant.heaters, ...plant.dosers }).filter(
                (target) => actuatorsOf(plant, target).includes(effect.actuator),
              );
              if (!event.tick) throw new Error('an `on` leaves on a tick only');
              if (!users.some((target) => isAllowed(done.state, target)))
                throw new Error(`${effect.actuator} was switched on although every row says no`);
            }
            state = kept(done.state);
          }
          if (closely) expect(JSON.parse(JSON.stringify(state))).toEqual(state);
        }),
        { numRuns: RUNS },
      );
    },
    600_000 + 20 * RUNS,
  );
});

describe('contents as intervals', () => {
  // biome-ignore format: a table reads as a table
  const WITHIN_THE_ASSUMPTIONS: readonly (readonly [string, string, string[]])[] = [
    ['nothing is wrong', 'marram-point', []],
    ['hands draw within their bounds', 'marram-point', ['drawn-by-hand:fresh=4@1h-64min']],
    ['the inlet has no pressure', 'marram-point', ['no-pressure:purifier@30min-4h']],
    ['the transfer meter is silent', 'marram-point', ['silent:transfer-meter@4min-40min']],
    ['the transfer meter restarts', 'marram-point', ['resets:transfer-meter@6min']],
    ['the supply siphons, and its meter sees it', 'marram-point', ['siphon:supply@5h-310min']],
    ['the transfer pump welds, and its meter sees it', 'marram-point', ['stuck-on:transfer-pump@5min']],
    ['nothing is wrong, by floats and unmetered routes', 'unequal-vats', []],
    ['nothing is wrong, with one vat and no level', 'one-vat', []],
  ];

  test.each(WITHIN_THE_ASSUMPTIONS)(
    'the true contents never leave the interval while %s (%s)',
    (_, name, faults) => {
      const { file, stepMs } = STATIONS[name] as (typeof STATIONS)[string];
      for (const seed of SEEDS) {
        const coupled = couple(plantAt(file), { stepMs, seed, faults });
        coupled.request({ ask: 'start', unit: 'batch' });
        coupled.run(10 * 3_600_000, ({ state, twin, nowMs }) => {
          for (const [id, held] of Object.entries(state().vessels)) {
            const body = twin.world.bodies[id];
            if (body === undefined || nowMs() < 60_000) continue;
            const litres = litresOf(body);
            // A float may turn over anywhere within its tolerance, and a report is rounded: a litre in a thousand.
            const slackL = 0.002 * (coupled.plant.vessels[id]?.capacityL ?? 0);
            if (litres < held.leastL - slackL || litres > held.mostL + slackL)
              throw new Error(
                `${id} holds ${litres.toFixed(2)} L, not ${held.leastL.toFixed(2)} to ${held.mostL.toFixed(2)}, at ${nowMs() / 1000} s, seed ${seed}`,
              );
          }
          return false;
        });
      }
    },
    300_000,
  );
});
