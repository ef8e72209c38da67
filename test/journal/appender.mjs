// A service in small, to be killed: node appender.mjs COMPILED-SOURCES STATION-FILE FOLDER SEED
// It runs the real core and the simulated water, writes a journal as the bridge would, and says on standard output what
// it relies on: "begun STEP" when it starts at a step, "durable STEP" after each append that said ok.
import { readFileSync, writeSync } from 'node:fs';
import { pathToFileURL } from 'node:url';

const [compiled, stationFile, folder, seedText] = process.argv.slice(2);
const load = (path) => import(pathToFileURL(`${compiled}/${path}`).href);
const { openJournal } = await load('journal/journal.js');
const { orderOf } = await load('journal/order.js');
const { initial, restored } = await load('control/process/initial.js');
const { step } = await load('control/step.js');
const { makeTwin } = await load('simulate/twin.js');
const { loadStation } = await load('station/load.js');

const { plant } = loadStation(stationFile, readFileSync(stationFile, 'utf8'));
const seed = Number(seedText);
const say = (words) => writeSync(1, `${words}\n`);
const must = (written) => {
  if (!written.ok) throw new Error(written.words);
};

const journal = openJournal(folder, plant, { software: 'killed' });
if (journal.words !== null) say(`words ${journal.words}`);
const saved = journal.restore();
let state = saved === null ? initial(plant) : restored(plant, saved.state, saved.gapMs);
must(journal.begin(state));
say('begun');

const twin = makeTwin(plant, seed);
let waiting = [{ type: 'link', up: true }];
for (let count = 1; ; count++) {
  twin.advance(1_000);
  const told = twin.told().map((request, at) => ({ type: 'request', id: `${count}-${at}`, request }));
  if (count % 7 === 0)
    told.push({ type: 'request', id: `s-${count}`, request: { ask: 'start', unit: 'all' } });
  const event = {
    elapsedMs: 1_000,
    inputs: [...twin.inputs(), { type: 'echo' }, ...told, ...waiting],
    tick: true,
  };
  waiting = [];
  const done = step(plant, state, event);
  state = done.state;
  for (const effect of done.effects) {
    if (effect.do === 'command') twin.command(effect.actuator, effect.on, effect.leaseMs);
    if (effect.do === 'ask') twin.ask(effect.vessel, effect.task);
  }
  const taken = { event, effects: done.effects, state };
  if (orderOf(done.effects) === 'later') must(journal.appendLater(taken));
  else {
    must(journal.append(taken));
    say(`durable ${count}`);
  }
  // Now and then the rarer kinds of commit, so that the end comes inside those too.
  if ((count * seed) % 13 === 0) must(journal.snapshot());
  if ((count * seed) % 17 === 0)
    must(
      journal.addProofTest({ row: 'I-02/fresh', who: 'somebody', passed: true, words: 'lifted the float' }),
    );
}
