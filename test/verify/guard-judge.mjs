// One guard, perhaps a broken one, judged by the accidents of a station: node guard-judge.mjs FOLDER STATION ACCIDENTS
// Each accident is gone through again with the whole guard, and once for each row that held it, with that row and without the
// others that would have. Where it comes, the guard is broken. Where a target that ran does not, it is broken, too.
// Prints one line of JSON: what was noticed first, or null.
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';

const [, , folder, station, record] = process.argv;
const from = (module) => import(pathToFileURL(join(folder, 'dist', module)).href);
const { benchOf, happens } = await from('verify/prove/accidents.js');
const { rootsOf } = await from('verify/prove/alone.js');
const { DEEDS, hostileOf } = await from('verify/prove/hostile.js');
const { abstractedGuard } = await from('verify/prove/abstraction.js');
const { actuatorsOf } = await from('control/guard/row-kinds.js');
const { troublesOf } = await from('verify/prove/moves.js');
const { tick } = await from('verify/prove/tick.js');
const { plantIn } = await from('cli/files.js');

/** Ticks in which something is wanted, after a person measured the vat with two instruments. */
const WANTED = [{ deed: DEEDS.indexOf('measures twice'), wants: [] }, ...Array(10).fill({ deed: 0 })];

/** For each way of wanting, by name: does all of it run at some time? */
function runsOf(bench) {
  const { model, repertoires } = bench;
  bench.without([]);
  const troubles = troublesOf(model, []);
  const choice = troubles.choiceOf({ active: 0, once: 0, way: 0, helps: null });
  return repertoires.flatMap((repertoire) =>
    repertoire.wants.flatMap((wants, number) =>
      rootsOf(model, repertoire).map((root, at) => {
        let place = root;
        const ran = WANTED.some(({ deed, wants: own = wants }) => {
          const hostile = hostileOf(model, place.state, choice.broken, own, DEEDS[deed]);
          place = tick(model, place, { ...choice, hostile }, abstractedGuard);
          const { devices } = place.state;
          return wants.every((id) => actuatorsOf(model.plant, id).every((one) => devices[one]?.on));
        });
        return { name: `${repertoire.name}, ${number}, ${at}`, ran, wants };
      }),
    ),
  );
}

function judged(bench, { accidents, runs }) {
  for (const accident of accidents) {
    const { holders, way, fault, repertoire } = accident;
    const told = `${way.breach.words}, under ${fault || 'no fault at all'} in repertoire ${repertoire}`;
    if (happens(bench, accident, [])) return `${told}, with every row`;
    for (const row of holders) {
      const others = holders.filter((other) => other !== row);
      if (others.length > 0 && happens(bench, accident, others))
        return `${told}, with ${row} and without ${others.join(', ')}`;
    }
  }
  const now = new Map(runsOf(bench).map(({ name, ran }) => [name, ran]));
  const stopped = runs.find(({ name, ran }) => ran && now.get(name) !== true);
  return stopped === undefined ? null : `${stopped.wants.join(' + ')} does not run any more`;
}

const book = JSON.parse(readFileSync(record, 'utf8'));
const bench = benchOf(plantIn(station));
if (book.runs === undefined) console.log(JSON.stringify({ runs: runsOf(bench) }));
else {
  let noticed;
  try {
    noticed = judged(bench, book);
  } catch (error) {
    noticed = `the judge was stopped: ${error.message}`;
  }
  console.log(JSON.stringify({ noticed }));
}
