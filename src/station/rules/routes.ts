// Routes and the actuators in them.
import { member } from '../pointer.ts';
import { listed, type Mistake, quoted } from '../problem.ts';
import { entries, type Sketch, value } from '../sketch.ts';
import { roleOf } from './plumbing.ts';

export function* flowsRise(sketch: Sketch): Iterable<Mistake> {
  for (const { entry, pointer } of entries(sketch, 'routes')) {
    const least = value(entry.flow?.least, 'flow');
    const usual = value(entry.flow?.usual, 'flow');
    const most = value(entry.flow?.most, 'flow');
    if (least !== undefined && most !== undefined && least > most) {
      yield {
        pointer: `${pointer}/flow/most`,
        found: `${quoted(entry.flow?.most ?? '')}, less than the least flow ${quoted(entry.flow?.least ?? '')}`,
        accepted: 'a greatest flow that is not below the least',
      };
    } else if (usual !== undefined && (usual < (least ?? 0) || usual > (most ?? Number.POSITIVE_INFINITY))) {
      yield {
        pointer: `${pointer}/flow/usual`,
        found: `${quoted(entry.flow?.usual ?? '')}, not between the least and the most`,
        accepted: 'a usual flow between "least" and "most"',
      };
    }
  }
}

export function* endsMakeSense(sketch: Sketch): Iterable<Mistake> {
  for (const { entry, pointer } of entries(sketch, 'routes')) {
    if (roleOf(sketch, entry.to) === 'purified-water') {
      yield {
        pointer: `${pointer}/to`,
        found: `a route into the purified-water inlet ${quoted(entry.to ?? '')}`,
        accepted: 'a vessel that can be filled: the inlet only gives',
      };
    } else if (roleOf(sketch, entry.from) === 'waste') {
      yield {
        pointer: `${pointer}/from`,
        found: `a route out of the waste ${quoted(entry.from ?? '')}`,
        accepted: 'a vessel that gives water: what went to waste is gone',
      };
    }
  }
}

const MOVERS: readonly string[] = ['valve', 'pump'];

export function* actuatorsFitTheRoute(sketch: Sketch): Iterable<Mistake> {
  const kindOf = (id: string) => sketch.file.actuators?.[id]?.kind;
  for (const { id, entry, pointer } of entries(sketch, 'routes')) {
    for (const list of ['through', 'shut'] as const) {
      for (const [index, actuator] of (entry[list] ?? []).entries()) {
        const kind = kindOf(actuator);
        if (kind === undefined || MOVERS.includes(kind)) continue;
        yield {
          pointer: member(pointer, list, index),
          found: `the ${kind} ${quoted(actuator)} in the way of water`,
          accepted:
            kind === 'contactor'
              ? 'valves and pumps; name a contactor as "upstream" of the pump that it supplies'
              : 'valves and pumps',
        };
      }
    }
    const through: readonly string[] = entry.through ?? [];
    for (const [index, actuator] of (entry.shut ?? []).entries()) {
      if (!through.includes(actuator)) continue;
      yield {
        pointer: member(pointer, 'shut', index),
        found: `${quoted(actuator)}, which must be on for the same route`,
        accepted: 'an actuator either in "through" or in "shut"',
      };
    }
    if ((entry.notWith ?? []).includes(id)) {
      yield {
        pointer: member(pointer, 'notWith', (entry.notWith ?? []).indexOf(id)),
        found: 'the route itself',
        accepted: 'other routes',
      };
    }
    const kinds = through.map(kindOf);
    if (
      entry.from === entry.to &&
      through.length > 0 &&
      !kinds.some((k) => k === undefined || k === 'pump')
    ) {
      yield {
        pointer: `${pointer}/through`,
        found: `${listed(through.map(quoted))}: no pump, and nothing else moves water round inside one vessel`,
        accepted: 'a circulation route through a pump',
      };
    }
  }
}
