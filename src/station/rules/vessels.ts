// Which vessels a station must have, what each must state, and what makes no sense where it stands.
import { OutOfRange } from '../../engineering/range.ts';
import { BOUNDED } from '../kinds.ts';
import type { Shape, VesselRole } from '../plant.ts';
import { member } from '../pointer.ts';
import { listed, type Mistake, quoted } from '../problem.ts';
import { contentsAt, heightOf, type ShapeFile, writtenShape } from '../shape.ts';
import { entries, type Sketch, value } from '../sketch.ts';
import { boundsOf, knowsThePlumbing, litres, routesFor, vesselsOf } from './plumbing.ts';
import { dangles } from './references.ts';

export function* oneMixingVat(sketch: Sketch): Iterable<Mistake> {
  const mixing = vesselsOf(sketch, 'mixing');
  if (mixing.length === 0 && sketch.isWhole('/vessels') && !dangles(sketch, 'vessels')) {
    yield {
      pointer: '/vessels',
      found: 'no mixing vat',
      accepted: 'exactly one vessel with "role": "mixing", where salt is added',
    };
  }
  for (const { role, ids } of [
    { role: 'mixing', ids: mixing },
    { role: 'fresh', ids: vesselsOf(sketch, 'fresh') },
  ]) {
    const [first = '', ...others] = ids;
    for (const id of others) {
      yield {
        pointer: member('', 'vessels', id, 'role'),
        found: `a second vessel with the role ${quoted(role)}, beside ${quoted(first)}`,
        accepted: `one ${role} vat in a station; a second one is a station of its own`,
      };
    }
  }
}

/** Water must come to the mixing vat, and something must stir it. */
export function* mixingVatIsServed(sketch: Sketch): Iterable<Mistake> {
  const [mixing] = vesselsOf(sketch, 'mixing');
  if (mixing === undefined || !knowsThePlumbing(sketch)) return;
  const [fresh] = vesselsOf(sketch, 'fresh');
  if (routesFor(sketch, 'transfer').length === 0) {
    const source = fresh === undefined ? 'the purified-water inlet' : quoted(fresh);
    yield {
      pointer: '/routes',
      found: `no route by which water reaches the mixing vat ${quoted(mixing)}`,
      accepted: `a route from ${source} to ${quoted(mixing)}`,
    };
  }
  if (!routesFor(sketch, 'circulate').some(({ entry }) => entry.from === mixing)) {
    yield {
      pointer: '/routes',
      found: `no circulation in the mixing vat ${quoted(mixing)}: salt would lie on the floor`,
      accepted: `a route from ${quoted(mixing)} to ${quoted(mixing)} through a pump`,
    };
  }
}

export function* statedWhereNeeded(sketch: Sketch): Iterable<Mistake> {
  for (const { entry, pointer } of entries(sketch, 'vessels')) {
    if (entry.role === undefined) continue;
    if (BOUNDED.includes(entry.role) && sketch.lacks(`${pointer}/capacity`)) {
      yield {
        pointer,
        found: `no "capacity" for a vessel with the role ${quoted(entry.role)}`,
        accepted: 'the volume to the brim, for example "capacity": "320 L"',
      };
    }
    if (entry.role === 'system' && sketch.lacks(`${pointer}/volume`)) {
      yield {
        pointer,
        found: 'no "volume" for a system',
        accepted:
          'its normal contents, of which reserve and exchange are shares, for example "volume": "2400 L"',
      };
    }
  }
}

const ONLY_FOR: Readonly<Record<string, readonly VesselRole[]>> = {
  capacity: BOUNDED,
  margin: BOUNDED,
  minimum: BOUNDED,
  shape: BOUNDED,
  handDrawn: BOUNDED,
  volume: ['system'],
  purityLimit: ['purified-water'],
};

/** What would be read by nobody is refused: its owner believes that it does something. */
export function* statedForNothing(sketch: Sketch): Iterable<Mistake> {
  for (const { entry, pointer } of entries(sketch, 'vessels')) {
    const { role } = entry;
    if (role === undefined) continue;
    for (const [key, roles] of Object.entries(ONLY_FOR)) {
      if (!Object.hasOwn(entry, key) || roles.includes(role)) continue;
      yield {
        pointer: member(pointer, key),
        found: `${quoted(key)} of a vessel with the role ${quoted(role)}, where it would do nothing`,
        accepted: `it for vessels with the role ${listed(roles.map(quoted))}`,
      };
    }
  }
}

export function* contentsFitTheVessel(sketch: Sketch): Iterable<Mistake> {
  for (const { id, entry, pointer } of entries(sketch, 'vessels')) {
    const { capacityL } = boundsOf(sketch, id);
    if (capacityL === undefined) continue;
    const initialL = value(entry.initial?.contents, 'volume') ?? 0;
    if (initialL > capacityL) {
      yield {
        pointer: `${pointer}/initial/contents`,
        found: `${litres(initialL)} to begin with in a vessel of ${litres(capacityL)}`,
        accepted: 'no more than its capacity',
      };
    }
    if (entry.shape?.kind === undefined || !sketch.isWhole(`${pointer}/shape`)) continue;
    const shape = writtenShape(entry.shape as ShapeFile);
    // A side of nothing has its own sentence.
    if (Object.values(shape).includes(0)) continue;
    const holdsL = sizeOf(shape);
    if (typeof holdsL === 'string') {
      yield { pointer: `${pointer}/shape`, found: holdsL, accepted: 'inside dimensions of up to 20 m' };
      continue;
    }
    if (holdsL < capacityL) {
      yield {
        pointer: `${pointer}/shape`,
        found: `a shape that holds ${litres(holdsL)}, less than the capacity of ${litres(capacityL)}`,
        accepted: 'inside dimensions of a vessel that holds its capacity, or a smaller capacity',
      };
    }
  }
}

/** Litres to the rim, or why no vessel is like that. */
function sizeOf(shape: Shape): number | string {
  try {
    return contentsAt(shape, heightOf(shape));
  } catch (error) {
    if (!(error instanceof OutOfRange)) throw error;
    return error.message;
  }
}
