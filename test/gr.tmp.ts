import { plantAt } from './tools/coupled.ts';
import { groundOf } from '../src/verify/prove/explore.ts';
import { traceOf } from '../src/verify/prove/trace.ts';
import { read, troublesOf } from '../src/verify/prove/moves.ts';
import { tick } from '../src/verify/prove/tick.ts';
const plant = plantAt(process.argv[2]!);
const g: any = groundOf(plant);
console.log(g.run.complete, g.run.stranded, g.run.places);
for (const a of g.run.accidents) {
  console.log(a.key); console.log(traceOf(g, [], a.root, a.moves).join('\n'));
  let place: any = g.roots[a.root]; const t = troublesOf(g.model, []); let n = 0;
  for (const m of a.moves) { place = tick(g.model, place, t.choiceOf(read(m))); n++;
    if (n > a.moves.length-5) console.log(n, JSON.stringify(Object.keys(place.state.trips)), JSON.stringify({v: place.state.vessels.system, r: [place.state.routes.supply, place.state.routes.drain]})); }
}
console.log(JSON.stringify(g.model.plant.vessels.system), JSON.stringify(Object.values(g.model.plant.sensors).filter((s: any) => s.vessel === 'system')));
