// A service in small, to be killed: node service.mjs STATION STATE-DIRECTORY
// The real core, state file and journal, in the order in which the bridge uses them: `off` goes out first, `on` only once
// the state that contains it is durable, the journal follows. Each line on standard input is an event; what goes out is a
// line each, and `{"done":...}` ends the event.
import { mkdirSync, readFileSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { keeperOf } from '../../dist/bridge/keeper.js';
import { wakeUp } from '../../dist/bridge/wake-up.js';
import { CORE } from '../../dist/cli/run.js';
import { openJournal } from '../../dist/journal/journal.js';
import { orderOf } from '../../dist/journal/order.js';
import { loadStation } from '../../dist/station/load.js';

const [stationFile, directory] = process.argv.slice(2);
const { plant: real } = loadStation(stationFile, readFileSync(stationFile, 'utf8'));
const say = (line) => writeSync(1, `${JSON.stringify(line)}\n`);

// Station time stands in for the computer's: the parent says it with each event, and with the first line for waking up.
let nowMs = 0;
const stamp = () => ({ computerBoot: 'one', monotonicMs: nowMs, wallMs: Date.UTC(2026, 5, 1) + nowMs });
mkdirSync(directory, { recursive: true });
const keeper = keeperOf(directory, real, stamp);

let state = null;
let journal = null;
/** What the state file knows to be on. */
const durablyOn = new Set();
function wake() {
  const awake = wakeUp(CORE, real, keeper, stamp());
  state = awake.state;
  journal = openJournal(join(directory, 'journal'), real, { stamp });
  const begun = journal.begin(state, real);
  say({ woke: awake.words, journal: journal.words, begun: begun.ok });
}

async function take(event) {
  const done = CORE.step(real, state, event);
  state = done.state;
  const commands = done.effects.filter((effect) => effect.do === 'command');
  for (const command of commands) if (!command.on) say({ command });
  for (const effect of done.effects) if (effect.do === 'ask') say({ ask: effect });
  for (const { actuator, on } of commands) if (!on) durablyOn.delete(actuator);
  const ons = commands.filter(({ on }) => on);
  const isNew = ons.some(({ actuator }) => !durablyOn.has(actuator));
  if (isNew || done.effects.some((effect) => effect.do === 'record')) {
    if (!(await keeper.save(state))) throw new Error('the state could not be saved');
    for (const { actuator } of ons) durablyOn.add(actuator);
  }
  for (const command of ons) say({ command });
  const taken = { event, effects: done.effects, state };
  const written = orderOf(done.effects) === 'later' ? journal.appendLater(taken) : journal.append(taken);
  if (!written.ok) throw new Error(written.words);
  const { batch, exchange } = state;
  say({
    done: {
      held: [state.refill, batch, ...Object.values(exchange)].some(({ procedure }) => procedure === 'held'),
      trips: Object.keys(state.trips),
      batch: `${batch.procedure}, ${batch.stage}`,
    },
  });
}

for await (const line of createInterface({ input: process.stdin })) {
  const { atMs, event } = JSON.parse(line);
  nowMs = atMs;
  if (state === null) wake();
  await take(event);
}
