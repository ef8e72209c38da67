// The four families over real mosquitto and the rig's water, in real time, through restarts. A slice of it here, from a vat that
// is ready; `npm run measure -- families` has
// whole cycles from empty vats over a rig that nobody here tuned (VATWARDEN_RIG names its program).
import { describe, expect, test } from 'vitest';
import type { Status } from '../../src/control/process/describe.ts';
import type { StationFile } from '../../src/station/file/station.ts';
import { hasMosquitto } from '../tools/brokers.ts';
import { type Day, familyDay, type Outcome } from './day.ts';

const isDelivered = ({ units }: Status): boolean =>
  (units.exchange.system?.todayL ?? 0) >= 4 && units.exchange.system?.step === 'rest';
const runs =
  (route: string) =>
  ({ routes }: Status): boolean =>
    routes[route]?.running === 'yes';

function isGood(outcome: Outcome): void {
  const { done, needed, trips, floorL, dryS, offSpecL, deliveredL, drainedL } = outcome;
  expect({ done, needed, trips, floorL, dryS, offSpecL }, outcome.log).toEqual({
    done: true,
    needed: [],
    trips: [],
    floorL: 0,
    dryS: 0,
    offSpecL: 0,
  });
  expect(deliveredL).toBeGreaterThanOrEqual(4);
  // What a step drains it gives back: nothing was delivered twice, and nothing was lost.
  expect(Math.abs(drainedL - deliveredL)).toBeLessThan(0.5);
}

/** A vat that is ready, and a step that is due: what is left is to be confirmed and delivered. */
function ready(file: StationFile): StationFile {
  const copy = structuredClone(file) as unknown as {
    vessels: Record<string, object>;
    process: { exchange: { system: object } };
  };
  copy.vessels.fresh = { ...copy.vessels.fresh, initial: { contents: '9.8 L', temperature: '24 degC' } };
  copy.vessels.mixing = {
    ...copy.vessels.mixing,
    initial: { contents: '10.2 L', salinity: '35 PSU', temperature: '26 degC' },
  };
  copy.process.exchange.system = { ...copy.process.exchange.system, perDay: '30000 %' };
  return copy as unknown as StationFile;
}

describe.skipIf(!hasMosquitto)('four families over a real broker', () => {
  test('a delivery goes on by itself through a restart of its pumps and of the broker', async () => {
    const outcome = await familyDay({
      devicesAfterS: 3,
      file: ready,
      restarts: [
        ['broker', runs('drain')],
        ['pumps', runs('supply')],
      ],
      until: isDelivered,
      forS: 500,
    });
    console.log(`families: ${JSON.stringify({ ...outcome, log: undefined })}`);
    isGood(outcome);
  }, 600_000);

  const CYCLES: readonly (readonly [string, Omit<Day, 'until' | 'forS'>])[] = [
    ['that were there before the service', { devicesAfterS: -10 }],
    ['that come 15 s after the service', { devicesAfterS: 15 }],
    [
      'that restart one after the other amid the work',
      {
        devicesAfterS: -3,
        restarts: [
          ['valves', runs('refill')],
          ['pumps', runs('transfer')],
          ['board', runs('circulate')],
          ['tray', runs('drain')],
          ['plug', runs('drain')],
          ['pumps', runs('supply')],
        ],
      },
    ],
    [
      'whose broker restarts thrice',
      {
        devicesAfterS: -3,
        restarts: [
          ['broker', runs('transfer')],
          ['broker', runs('circulate')],
          ['broker', runs('supply')],
        ],
      },
    ],
  ];
  test
    .skipIf(process.env.VATWARDEN_RIG === undefined || process.env.FAMILIES === undefined)
    .concurrent.each(CYCLES)(
    'a whole cycle of devices %s',
    async (name, day) => {
      const outcome = await familyDay({ ...day, until: isDelivered, forS: 900 });
      const { tookS, deliveredL, restarted } = outcome;
      console.log(`family day: ${JSON.stringify({ name, tookS, deliveredL, restarted })}`);
      isGood(outcome);
    },
    1_200_000,
  );
});
