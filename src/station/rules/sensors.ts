// Sensors: what they can be in, what they need beside them, and how many of a kind.
import { KINDS } from '../kinds.ts';
import type { VesselRole } from '../plant.ts';
import { listed, type Mistake, quoted } from '../problem.ts';
import { entries, type Sketch, value } from '../sketch.ts';
import { boundsOf, litres, roleOf } from './plumbing.ts';

const LENGTHS: readonly string[] = ['mm', 'cm', 'm', 'in'];

export function* sensorsFitTheVessel(sketch: Sketch): Iterable<Mistake> {
  for (const { entry, pointer } of entries(sketch, 'sensors')) {
    if (!('vessel' in entry) || entry.measures === undefined) continue;
    const role = roleOf(sketch, entry.vessel);
    const allowed: readonly VesselRole[] = KINDS[entry.measures].roles;
    if (role === undefined || allowed.includes(role)) continue;
    yield {
      pointer: `${pointer}/vessel`,
      found: `a ${entry.measures} sensor in ${quoted(entry.vessel ?? '')}, whose role is ${quoted(role)}`,
      accepted: `a vessel with the role ${allowed.map(quoted).join(' or ')}`,
    };
  }
}

export function* oneOfAKind(sketch: Sketch): Iterable<Mistake> {
  const seen = new Map<string, string>();
  for (const { id, entry, pointer } of entries(sketch, 'sensors')) {
    const what = whatItIs(entry);
    if (what === undefined) continue;
    const first = seen.get(what);
    if (first !== undefined) {
      yield {
        pointer,
        found: `a second ${what}, beside ${quoted(first)}`,
        accepted: 'one; two readings of one thing need a voter that this station does not have',
      };
    }
    seen.set(what, first ?? id);
  }
}

function whatItIs(entry: ReturnType<typeof entries<'sensors'>>[number]['entry']): string | undefined {
  switch (entry.measures) {
    case 'float':
      if (entry.vessel === undefined || entry.position === undefined) return undefined;
      return `${entry.position} float of ${quoted(entry.vessel)}`;
    case 'flow':
    case 'total':
      return entry.route === undefined ? undefined : `meter of the route ${quoted(entry.route)}`;
    case 'leak':
    case undefined:
      return undefined;
    default:
      return entry.vessel === undefined ? undefined : `${entry.measures} sensor of ${quoted(entry.vessel)}`;
  }
}

export function* levelsCanBeRead(sketch: Sketch): Iterable<Mistake> {
  for (const { entry, pointer } of entries(sketch, 'sensors')) {
    if (entry.measures !== 'level' || entry.unit === undefined || entry.vessel === undefined) continue;
    const isLength = LENGTHS.includes(entry.unit);
    const shape = `/vessels/${entry.vessel}/shape`;
    const isKnown = sketch.has('vessels', entry.vessel);
    if (isLength && isKnown && sketch.lacks(`${pointer}/table`) && sketch.lacks(shape)) {
      yield {
        pointer: `${pointer}/unit`,
        found: `a level in ${quoted(entry.unit)} in a vessel whose shape nobody knows`,
        accepted: `a "table" beside it, a "shape" of ${quoted(entry.vessel)}, or a level in "L", "gal" or "%"`,
      };
    }
    if (entry.table === undefined) continue;
    if (!isLength) {
      yield {
        pointer: `${pointer}/table`,
        found: `a table for a level that is given in ${quoted(entry.unit)}`,
        accepted: `a table only for a level in ${listed(LENGTHS.map(quoted))}`,
      };
      continue;
    }
    yield* tableRises(sketch, entry.vessel, entry.table, `${pointer}/table`);
  }
}

function* tableRises(
  sketch: Sketch,
  vessel: string,
  table: readonly (readonly [string, string])[],
  pointer: string,
): Iterable<Mistake> {
  const rows = table.map(([level, contents]) => [
    value(level, 'length') ?? 0,
    value(contents, 'volume') ?? 0,
  ]);
  for (const [index, [level = 0, contents = 0]] of rows.entries()) {
    const [levelBelow = -1, contentsBelow = -1] = rows[index - 1] ?? [];
    if (level > levelBelow && contents > contentsBelow) continue;
    yield {
      pointer: `${pointer}/${index}`,
      found: `${JSON.stringify(table[index])}, not above ${JSON.stringify(table[index - 1])}`,
      accepted: 'a table in which both level and contents rise',
    };
    return;
  }
  const { capacityL } = boundsOf(sketch, vessel);
  const topL = rows.at(-1)?.[1] ?? 0;
  if (capacityL !== undefined && topL > capacityL * 1.02) {
    yield {
      pointer: `${pointer}/${rows.length - 1}/1`,
      found: `${litres(topL)} in a vessel of ${litres(capacityL)}`,
      accepted: 'no more than the capacity',
    };
  }
}

export function* probesHaveWhatTheyNeed(sketch: Sketch): Iterable<Mistake> {
  for (const { entry, pointer } of entries(sketch, 'sensors')) {
    if (entry.measures !== 'conductivity') continue;
    const raw = sketch.lacks(`${pointer}/compensatedTo`);
    // Purified water is only compared with a limit; for seawater two kelvin are more than a whole unit of salinity.
    const counts = roleOf(sketch, entry.vessel) !== 'purified-water';
    if (raw && counts && sketch.lacks(`${pointer}/temperatureFrom`) && entry.vessel !== undefined) {
      yield {
        pointer,
        found: 'a raw conductivity without a temperature: nobody could tell the salinity from it',
        accepted:
          '"temperatureFrom" with a temperature sensor, or "compensatedTo" where the probe compensates',
      };
    }
    const thermometer = sketch.file.sensors?.[entry.temperatureFrom ?? ''];
    if (thermometer?.measures !== undefined && thermometer.measures !== 'temperature') {
      yield {
        pointer: `${pointer}/temperatureFrom`,
        found: `${quoted(entry.temperatureFrom ?? '')}, which measures ${thermometer.measures}`,
        accepted: 'a temperature sensor',
      };
    } else if (
      thermometer?.measures === 'temperature' &&
      thermometer.vessel !== undefined &&
      entry.vessel !== undefined &&
      thermometer.vessel !== entry.vessel
    ) {
      yield {
        pointer: `${pointer}/temperatureFrom`,
        found: `${quoted(entry.temperatureFrom ?? '')}, which is in ${quoted(thermometer.vessel)}`,
        accepted: `a temperature sensor in ${quoted(entry.vessel)}`,
      };
    }
    const route = sketch.file.routes?.[entry.validAfter?.route ?? ''];
    if (route?.from === undefined || route.to === undefined || entry.vessel === undefined) continue;
    if (route.from !== entry.vessel && route.to !== entry.vessel) {
      yield {
        pointer: `${pointer}/validAfter/route`,
        found: `the route ${quoted(entry.validAfter?.route ?? '')}, which does not pass ${quoted(entry.vessel)}`,
        accepted: `a route from or to ${quoted(entry.vessel)}`,
      };
    }
  }
}

export function* numbersCanBeRead(sketch: Sketch): Iterable<Mistake> {
  for (const { entry, pointer } of entries(sketch, 'sensors')) {
    if (entry.measures === 'total') {
      if (entry.unit === 'pulses' && sketch.lacks(`${pointer}/pulsesPerLitre`)) {
        yield {
          pointer: `${pointer}/unit`,
          found: '"pulses" without "pulsesPerLitre"',
          accepted: '"pulsesPerLitre" from the meter\'s data sheet, better from a measured bucket',
        };
      }
      if (entry.unit !== undefined && entry.unit !== 'pulses' && entry.pulsesPerLitre !== undefined) {
        yield {
          pointer: `${pointer}/pulsesPerLitre`,
          found: `"pulsesPerLitre" for a count in ${quoted(entry.unit)}`,
          accepted: 'it only for "unit": "pulses"',
        };
      }
    }
    if ('scale' in entry && entry.scale === 0) {
      yield {
        pointer: `${pointer}/scale`,
        found: '0, which makes every reading the same',
        accepted: 'another number than 0',
      };
    }
    const [low, high] = ('range' in entry ? entry.range : undefined) ?? [0, 1];
    if (low >= high) {
      yield {
        pointer: `${pointer}/range`,
        found: `${JSON.stringify([low, high])}, in which nothing lies`,
        accepted: 'the lowest believable value, then the highest',
      };
    }
  }
}

/** A reading that is stale before the next is due is stale for ever. */
export function* readingsOutliveTheirInterval(sketch: Sketch): Iterable<Mistake> {
  const habits = [
    ...entries(sketch, 'sensors'),
    ...entries(sketch, 'actuators').map(({ entry, pointer }) => ({
      entry: entry.feedback ?? {},
      pointer: `${pointer}/feedback`,
    })),
  ];
  for (const { entry, pointer } of habits) {
    const maxAgeMs = value(entry.maxAge, 'duration-with-unit');
    const republishesMs = value(entry.republishes, 'duration-with-unit');
    if (!maxAgeMs || !republishesMs || maxAgeMs > republishesMs) continue;
    yield {
      pointer: `${pointer}/maxAge`,
      found: `${quoted(entry.maxAge ?? '')}, no longer than "republishes": ${quoted(entry.republishes ?? '')}`,
      accepted: 'about three times "republishes", so that two messages may be lost',
    };
  }
}
