import { plantAt } from './tools/coupled.ts';
import { runNight, NIGHT_MS } from '../src/verify/trial/night-tmp.ts';
import { parseTrouble } from '../src/verify/trial/misfortunes.ts';
import { swarmFor } from '../src/verify/trial/swarm.ts';
const [file, seed, ...faults] = process.argv.slice(2);
const plant = plantAt(file!);
const troubles = faults[0] === 'drawn' ? swarmFor(plant, Number(seed), NIGHT_MS) : faults.map((f) => parseTrouble(f, plant));
const r = runNight(plant, Number(seed), troubles);
console.log(JSON.stringify(r.findings, null, 1).slice(0, 3000));
