// The guard: what may run, whatever the process wants. Read it alone, in this order; it imports nothing of the process, and
// each rule of it takes the guard's part of the state and no other (IEC 61511 keeps protection apart from control so).
//
//   1. `state.ts`                      what it remembers
//   2. `evidence.ts`                   what each sensor and device says, how old that is, and whether it is to be believed
//      (`quiet.ts`, `watched.ts`)      what silence may mean, and time in which nobody watched
//   3. `flows.ts`, `meters.ts`         which routes run, and how much has passed
//      `off-proof.ts`, `heaters.ts`    what is shut for certain, and whether a heater does as it was told
//   4. `contents.ts`                   between which litres every vessel is
//      (`float-books.ts`, `float-cuts.ts`)
//   5. `salt-balance.ts`               the water's record: which salinities the mixing vat can have,
//      `acceptance.ts`                 and whether its water is good enough to be heated and delivered
//      (`instruments.ts`, `salt-yield.ts`, `ledger.ts`)  what salt makes, and how far a system's level may have drifted
//   6. `rows.ts`                       the table: what forbids what, and why
//      (`row-kinds.ts`, `causes.ts`, `living.ts`, `right-water.ts`, `about-rows.ts`)
//   7. `interlocks.ts`                 the table spread over the plumbing, judged, latched
//   8. `commands.ts`                   what is wanted and allowed, as leases: the only way to an actuator
//      (`alone.ts`)                    one output by itself, while a station is commissioned
//   9. `resets.ts`, `bypass.ts`, `proof-tests.ts`: what people may do about a row
//
// `limits.ts` has every bound with its reason; `types.ts` is what comes in and goes out; `draft.ts`, `per-plant.ts` and
// `invariant.ts` are tools.
import type { Plant } from '../../station/plant.ts';
import { hearOf, watchWater } from './acceptance.ts';
import { passBypasses } from './bypass.ts';
import { command, type Wants } from './commands.ts';
import { account } from './contents.ts';
import { age, measureSalinity, take } from './evidence.ts';
import { extendBudgets, run, settleRunning } from './flows.ts';
import { watchHeaters } from './heaters.ts';
import { judge, type Row } from './interlocks.ts';
import { meter } from './meters.ts';
import { proveOff } from './off-proof.ts';
import { passProofTime, watchProofTest } from './proof-tests.ts';
import { balanceSalt } from './salt-balance.ts';
import type { GuardState } from './state.ts';
import type { Effect, Event } from './types.ts';

/** First: what this event shows of the station. @returns bypasses that came to their end */
export function observe(plant: Plant, draft: GuardState, event: Event): readonly Effect[] {
  const { elapsedMs, inputs, tick } = event;
  age(plant, draft, elapsedMs);
  run(plant, draft, elapsedMs);
  const heard = new Set<string>();
  for (const input of inputs) {
    take(plant, draft, input);
    if (input.type === 'request') hearOf(plant, draft, input.request);
    if (input.type !== 'reading' || !input.live) continue;
    heard.add(input.sensor);
    meter(plant, draft, input);
  }
  if (tick) draft.link.tickAgeMs = 0;
  proveOff(plant, draft, elapsedMs);
  settleRunning(plant, draft, elapsedMs);
  account(plant, draft, elapsedMs, heard);
  balanceSalt(plant, draft, elapsedMs);
  watchWater(plant, draft, elapsedMs);
  extendBudgets(plant, draft);
  measureSalinity(plant, draft, elapsedMs);
  watchHeaters(plant, draft, elapsedMs);
  passProofTime(plant, draft, elapsedMs);
  return passBypasses(draft, elapsedMs);
}

export interface Judged {
  /** The rows that hold now, in their order. */
  readonly holding: readonly Row[];
  /** What came of a proof test. */
  readonly tested: readonly Effect[];
}

/** Then, without a look at any wish: what is forbidden. */
export function forbid(plant: Plant, draft: GuardState, elapsedMs: number): Judged {
  const holding = judge(plant, draft, elapsedMs);
  return { holding, tested: watchProofTest(plant, draft, elapsedMs, holding) };
}

/** At last: of what is wanted, what is allowed. */
export function act(plant: Plant, draft: GuardState, wants: Wants, tick: boolean): Effect[] {
  const commands = command(plant, draft, wants, tick);
  // What was just told to run may run from now on: the next event's meters are judged with that.
  settleRunning(plant, draft, 0);
  return commands;
}
