// What no formula says and every station needs.
import { type Section, section } from '../report.ts';
import { counted } from '../words.ts';

/** Turned this often a valve still turns when it must. Common practice, no source. */
const EXERCISE_WEEKS = 4;

export function care(): Section {
  return section({
    id: 'care',
    title: 'Lids, trays, valves and containers',
    says: [
      'Lids: on both vats, tight enough to keep in heat and damp and to keep out dust, light, animals and children. Salt creeps through every gap: keep plugs, relays and boards away from the rim, and never above the water.',
      'Trays: under vats, pumps and purifier, with a drain to a floor drain that has no valve, and a leak sensor at the lowest point, away from the drain.',
      `Valves: a valve that is never turned seizes in salt. Choose full-bore ball valves with unions on both sides, and turn each one through its whole way every ${counted(EXERCISE_WEEKS, 'week')} (common practice, no source); a valve at each vat, so that a pump can be taken out with the vat full.`,
      'Containers: only ones whose whole past is known and that are fit for drinking water; one that held anything else keeps it in its walls. No copper, brass, zinc or lead where water stands.',
      'Hoses: each one ends above the water it fills, or behind a siphon break: a pump that stops lets the higher vessel run into the lower one.',
      'Floats: where a hand reaches them, to be lifted and proven; in a guide tube where the water moves.',
    ],
    sources: ['Common practice; no source.'],
  });
}
