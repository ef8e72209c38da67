import { test } from 'vitest';
import { couple, plantAt } from './tools/coupled.ts';
import { verdictOf } from '../src/simulate/verdict.ts';
const file = process.env.STATION ?? 'schemas/examples/marram-point.json';
const plant = plantAt(file);
const stepMs = Number(process.env.STEP ?? 5000);
const faults = process.env.FAULTS?.split(' ') ?? [
  'stuck-on:inlet-valve@10h','stuck-on:transfer-pump@5min','stuck-on:transfer-pump@1h','stuck-on:circulation-pump@30min','stuck-on:supply-pump@4h22min','stuck-on:drain-pump@4h22min','stuck-on:heater-relay@2h','stuck-off:transfer-pump@5min','stuck-off:heater-relay@2h','deaf:inlet-valve@1h','deaf:transfer-pump@5min','ignores-lease:transfer-pump@0s',
  'restarts-on:transfer-pump@3h','weak:transfer-pump@5min','siphon:supply@3h','siphon:transfer@1h','hose-off:transfer@5min','hose-off:supply@4h','no-pressure:purifier@1h','exhausted:purifier@1h','leaks:fresh@1h','leaks:mixing@1h','drawn-by-hand:fresh@1h-63min','top-off-runs:system@5h-6h','return-stopped:system@6h',
  'says:fresh-high=dry@0s','says:fresh-low=wet@0s','says:mixing-high=wet@5min','silent:fresh-level@1h','frozen:fresh-level@5min','chatters:mixing-high@5min','reads-low:mixing-conductivity@0s','loses-first:transfer-meter@0s','resets:transfer-meter@6min','salt-twice:mixing@0s','salt-never:mixing@0s','salt-share:mixing@0s','nobody-there:all@0s','power-cut:all@6min-20min','silent:all@6min-10min',
];
for (const f of faults) test(f, () => {
  const fixed = f.replace(/(\d+)h(\d+)min/g, (_, h, m) => `${Number(h) * 60 + Number(m)}min`);
  let out = '';
  try {
  const c = couple(plant, { stepMs, faults: [fixed] });
  c.run(Number(process.env.HOURS ?? 14) * 3600_000);
  const v = verdictOf(c.twin); const s = c.state();
  out += `${v.ok ? 'ok ' : 'BAD'} ${v.found.join('; ')} | trips ${Object.keys(s.trips)} | alarms ${Object.entries(s.alarms).filter(([, a]) => a.state !== 'normal').map(([k, a]) => `${k}:${a.state}`)} | refill ${s.refill.procedure} batch ${s.batch.procedure}/${s.batch.stage} ex ${s.exchange.system?.procedure}/${s.exchange.system?.step} ${v.deliveredL.toFixed(0)}L | first: ${c.log.filter((h) => h.effect.do === 'alarm').slice(0, 3).map((h) => `${(h.atMs / 60000).toFixed(1)} ${(h.effect as any).alarm}`)}`;
  } catch (e) { out = `THROWS ${(e as Error).message}`; }
  console.log(`## ${f}: ${out}`);
}, 120000);
