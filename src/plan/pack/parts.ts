// The bill of materials of the drafted station: every device in one of three tiers, and what is lost without it. Which
// hazards remain is not written here: it is read off the interlocks that the core still derives, and off the gaps that only
// hardware closes.
import { deriveRows } from '../../control/guard/interlocks.ts';
import { ROW_KINDS } from '../../control/guard/rows.ts';
import { englishOf } from '../../language/english.ts';
import { plantOf } from '../../station/compile.ts';
import type { StationFile } from '../../station/file/station.ts';
import { gapsOf } from '../../station/gaps.ts';
import type { Plant } from '../../station/plant.ts';
import type { Design } from '../design.ts';
import { servedBy } from '../sections/protection.ts';
import { stationOf } from '../station.ts';
import type { Item } from './catalogue.ts';

export const TIERS = ['moves water', 'guarded', 'full'] as const;
export type Tier = (typeof TIERS)[number];

export interface Part {
  readonly tag: string;
  readonly id: string;
  readonly name: string;
  /** As in a catalogue. */
  readonly kind: string;
  readonly tier: Tier;
  /** Ids of the interlocks that go with it. */
  readonly rows: readonly string[];
  /** Box or board on which it hangs; what shares one fails together. */
  readonly box: string | null;
  readonly watts: number | null;
  readonly item: Item | null;
}

export interface TierSum {
  readonly tier: Tier;
  readonly parts: number;
  /** Of this tier and those before it; null where a part has no price. */
  readonly price: number | null;
  readonly unpriced: number;
  readonly interlocks: number;
  /** What nothing holds with no more than this: the hazard in words, by the id of its interlock. */
  readonly remaining: readonly (readonly [id: string, hazard: string])[];
}

export interface Bill {
  readonly parts: readonly Part[];
  readonly tiers: readonly TierSum[];
  /** Hardware beside the devices: what closes the gaps that no software can hold. */
  readonly hardware: readonly (readonly [id: string, words: string, fit: string])[];
}

/**
 * First what fills, mixes and delivers, with the floats in the vats and the leak sensors, without which water runs over
 * unseen. Then meters, levels and what cuts off a relay that sticks. Then probes and the system's own floats.
 */
function tierOf(id: string, kind: string): Tier {
  if (kind === 'leak') return 'moves water';
  if (kind === 'float') return id.startsWith('system-') ? 'guarded' : 'moves water';
  if (['total', 'flow', 'level'].includes(kind)) return 'guarded';
  if (['temperature', 'conductivity', 'top-off'].includes(kind)) return 'full';
  return UPSTREAM.test(id) ? 'guarded' : 'moves water';
}

const UPSTREAM = /^(?:master-valve|.*-contactor|.*-shutoff)$/u;

interface Given {
  readonly id: string;
  readonly kind: string;
  readonly name?: string | undefined;
  readonly tag?: string | undefined;
  readonly failureDomain?: string | undefined;
}

export function billOf(design: Design, items: ReadonlyMap<string, Item>): Bill {
  const station = stationOf(design);
  const plant = plantOf(station);
  const rows = deriveRows(plant);
  const served = new Map(servedBy(station, plant, rows).map((one) => [one.id, one.rows]));
  const partOf = (given: Given): Part => {
    const tag = given.tag ?? given.id;
    const item = items.get(tag) ?? items.get(given.kind) ?? null;
    return {
      id: given.id,
      tag,
      name: given.name ?? given.id,
      kind: given.kind,
      tier: tierOf(given.id, given.kind),
      rows: served.get(given.id) ?? [],
      box: given.failureDomain ?? null,
      watts: wattsOf(design, given.id) ?? item?.watts ?? null,
      item,
    };
  };
  const parts = [
    ...Object.entries(station.sensors).map(([id, sensor]) =>
      partOf({ ...sensor, id, kind: sensor.measures, name: plant.sensors[id]?.name }),
    ),
    ...Object.entries(station.actuators).map(([id, actuator]) =>
      partOf({ ...actuator, id, name: plant.actuators[id]?.name }),
    ),
  ];
  const gaps = new Map(gapsOf(plant).map(({ id, words, fit }) => [id, [id, words, fit] as const]));
  return {
    parts: parts.toSorted(
      (a, b) => TIERS.indexOf(a.tier) - TIERS.indexOf(b.tier) || a.tag.localeCompare(b.tag),
    ),
    tiers: TIERS.map((tier) => tierSum(tier, parts, station, plant)),
    hardware: [...gaps.values()].toSorted(([a], [b]) => a.localeCompare(b)),
  };
}

function wattsOf({ site, transfer, supply }: Design, id: string): number | null {
  switch (id) {
    case 'transfer-pump':
      return transfer.line.powerW;
    case 'supply-pump':
    case 'shared-pump':
      return supply.line.powerW;
    case 'circulation-pump':
      return site.mixing.circulationW;
    case 'heater-relay':
      return site.heater?.powerW ?? null;
    default:
      return null;
  }
}

function tierSum(tier: Tier, parts: readonly Part[], station: StationFile, whole: Plant): TierSum {
  const has = (part: Part) => TIERS.indexOf(part.tier) <= TIERS.indexOf(tier);
  const kept = parts.filter(has);
  const rows = deriveRows(plantOf(only(station, new Set(kept.map(({ id }) => id)))));
  const left = new Set(rows.map(({ key }) => key));
  const lost = new Set(deriveRows(whole).flatMap(({ id, key }) => (left.has(key) ? [] : [id])));
  const say = englishOf(whole);
  const unpriced = kept.filter(({ item }) => item === null).length;
  return {
    tier,
    parts: kept.length,
    price: unpriced > 0 ? null : kept.reduce((sum, { item }) => sum + (item?.price ?? 0), 0),
    unpriced,
    interlocks: rows.length,
    remaining: ROW_KINDS.filter(({ id, tests }) => tests === undefined && lost.has(id)).map(
      ({ id, hazard }) => [id, say(hazard)] as const,
    ),
  };
}

/** The station with these devices and no others; what stood upstream of one is gone with it. */
function only(station: StationFile, ids: ReadonlySet<string>): StationFile {
  const upstreamIn = (id: string | undefined) => (id !== undefined && ids.has(id) ? { upstream: id } : {});
  return {
    ...station,
    sensors: Object.fromEntries(Object.entries(station.sensors).filter(([id]) => ids.has(id))),
    actuators: Object.fromEntries(
      Object.entries(station.actuators).flatMap(([id, { upstream, ...rest }]) =>
        ids.has(id) ? [[id, { ...rest, ...upstreamIn(upstream) }]] : [],
      ),
    ),
  };
}
