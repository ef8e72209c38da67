// Which faults a night has, drawn from its seed and from nothing else. A swarm: in each night most kinds are off and the
// others weigh wildly, so that a thousand nights look into more corners than a thousand nights of everything at once.
import { chance, keyOf } from '../../simulate/chance.ts';
import { FAULT_KINDS, type FaultKind, placesFor } from '../../simulate/fault-kinds.ts';
import { othersFor } from '../../simulate/outputs.ts';
import { isContact } from '../../station/kinds.ts';
import type { Plant, Sensor } from '../../station/plant.ts';
import { isMisfortune, MISFORTUNES, type MisfortuneKind, placesOf, type Trouble } from './misfortunes.ts';

export type Kind = FaultKind | MisfortuneKind;

/** A heater behind the switch of a pump: no gap names yet what only the wiring can close, so it is tried with `--fault` alone. */
const ONLY_BY_NAME: FaultKind = 'outputs-swapped';

export const KINDS: readonly Kind[] = [
  ...(Object.keys(FAULT_KINDS) as FaultKind[]).filter((kind) => kind !== ONLY_BY_NAME),
  ...(Object.keys(MISFORTUNES) as MisfortuneKind[]),
];

/** Half of all kinds are off in a night; one night in eight has no fault at all. */
const OFF = 0.5;
const QUIET_NIGHTS = 1 / 8;
const MOST_TROUBLES = 6;
/** Every second trouble is short, down to seconds; the others last for much of the night. */
const SHORTEST_MS = 5_000;

export function swarmFor(plant: Plant, seed: number, nightMs: number): readonly Trouble[] {
  const luck = (name: string, occasion = 0) => chance(seed, keyOf(name), occasion);
  if (luck('quiet night') < QUIET_NIGHTS) return [];
  const weights = KINDS.map((kind) => (luck(`off ${kind}`) < OFF ? 0 : 1 / (0.02 + luck(`weight ${kind}`))));
  const count = 1 + Math.floor(luck('count') ** 2 * MOST_TROUBLES);
  const found: Trouble[] = [];
  for (let nth = 0; nth < count; nth++) {
    const kind = weighted(weights, luck('kind', nth));
    const trouble = kind === undefined ? undefined : drawn(plant, kind, (name) => luck(name, nth), nightMs);
    if (trouble !== undefined) found.push(trouble);
  }
  return found;
}

function weighted(weights: readonly number[], luck: number): Kind | undefined {
  let left = luck * weights.reduce((sum, weight) => sum + weight, 0);
  return KINDS.find((_, at) => {
    left -= weights[at] ?? 0;
    return left < 0;
  });
}

function drawn(
  plant: Plant,
  kind: Kind,
  luck: (name: string) => number,
  nightMs: number,
): Trouble | undefined {
  const places = isMisfortune(kind) ? placesOf(kind, plant) : meaningful(plant, kind);
  const what = places[Math.floor(luck('place') * places.length)];
  if (what === undefined) return undefined;
  const value = valueFor(plant, kind, what, luck('value'));
  const fromMs = luck('start') < 0.2 ? 0 : seconds(luck('from') * 0.9 * nightMs);
  const rest = nightMs - fromMs;
  const isShort = luck('short') < 0.5;
  const length = isShort ? SHORTEST_MS * (rest / SHORTEST_MS) ** luck('length') : luck('length') * rest;
  const toMs = Math.min(nightMs, fromMs + Math.max(SHORTEST_MS, seconds(length)));
  return { kind, what, value, fromMs, toMs };
}

const seconds = (ms: number): number => Math.round(ms / 1000) * 1000;

/** A shut valve does not siphon, and a loop has nowhere to siphon to; only contacts have words, only totals have counts. */
function meaningful(plant: Plant, kind: FaultKind): readonly string[] {
  const places = placesFor(kind, plant);
  if (kind === 'swapped') return places.filter((id) => isContact(plant.sensors[id] as Sensor));
  if (kind === 'wobbles') return places.filter((id) => plant.sensors[id]?.measures === 'total');
  if (kind !== 'siphon') return places;
  return places.filter((id) => plant.routes[id]?.pumped && plant.routes[id]?.siphons !== 'never');
}

function valueFor(plant: Plant, kind: Kind, what: string, luck: number): string {
  if (isMisfortune(kind)) {
    if (kind === 'clock-wrong') return String(Math.round((luck - 0.5) * 2880));
    return 'usual' in MISFORTUNES[kind] ? luck.toFixed(2) : '';
  }
  if (kind === 'sends') return GARBAGE[Math.floor(luck * GARBAGE.length)] ?? '';
  switch (FAULT_KINDS[kind].value) {
    case 'none':
      return '';
    case 'switch':
      return luck < 0.5 ? 'on' : 'off';
    case 'number':
      return amountOf(kind, luck);
    case 'actuator':
      return othersFor(plant, what)[0] ?? '';
    case 'text':
      return saidBy(plant, plant.sensors[what], luck);
  }
}

/** From a third to three times what is usual; shares stay shares. */
function amountOf(kind: FaultKind, luck: number): string {
  if (kind === 'wobbles') return luck < 0.7 ? '1' : '2';
  if (kind === 'repeats') return luck < 0.5 ? '0' : (10 * (luck - 0.5)).toFixed(2);
  if (kind === 'reads-low') return (0.6 * (luck - 0.5)).toFixed(3);
  if (kind === 'compensates-to') return luck < 0.5 ? '25' : '20';
  if (kind === 'measures-off') return (6 * (luck - 0.5)).toFixed(2);
  if (kind === 'salt-share') return (0.5 + luck).toFixed(2);
  const { usual = '1' } = FAULT_KINDS[kind] as { usual?: string };
  const amount = Number(usual) * 3 ** (2 * luck - 1);
  return (kind === 'weak' || kind === 'siphon' ? Math.min(1, amount) : amount).toFixed(3);
}

const GARBAGE = ['', 'NaN', 'unavailable', 'null', '85', '-127', '0', '1e9', '{}'];

/** Every third conductivity is that of water on the target: the lie that is the hardest to see. */
function saidBy(plant: Plant, sensor: Sensor | undefined, luck: number): string {
  switch (sensor?.measures) {
    case undefined:
      return '0';
    case 'float':
    case 'leak':
      return luck < 0.5 ? 'wet' : 'dry';
    case 'top-off':
      return luck < 0.5 ? 'running' : 'resting';
    case 'level':
      return (luck * (plant.vessels[sensor.vessel]?.capacityL ?? 0)).toFixed(1);
    case 'flow':
    case 'total':
      return (luck * 2 * (plant.routes[sensor.route]?.flowMostLpm ?? 1)).toFixed(2);
    case 'temperature':
      return (45 * luck).toFixed(1);
    case 'conductivity':
      return luck < 0.3 ? '53.06' : (80 * (luck - 0.3)).toFixed(2);
    default:
      return (1000 * luck).toFixed(1);
  }
}
