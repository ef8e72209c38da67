// Actuators: what may stand above what, and what may be used for what.
import { member } from '../pointer.ts';
import { type Mistake, quoted } from '../problem.ts';
import { entries, type Sketch, value } from '../sketch.ts';
import { roleOf, vesselsOf } from './plumbing.ts';

/** Renewed at a third of it, on a tick four times a second: less can't be held. */
const SHORTEST_LEASE_MS = 1000;

export function* leasesCanBeHeld(sketch: Sketch): Iterable<Mistake> {
  for (const { entry, pointer } of entries(sketch, 'actuators')) {
    const lastsMs = value(entry.lease?.lasts, 'duration-with-unit');
    if (lastsMs === undefined || lastsMs === 0 || lastsMs >= SHORTEST_LEASE_MS) continue;
    yield {
      pointer: `${pointer}/lease/lasts`,
      found: `${quoted(entry.lease?.lasts ?? '')}, too short to be renewed in time`,
      accepted: 'a lease of at least 1 s',
    };
  }
}

const MAY_CUT_OFF: readonly string[] = ['valve', 'contactor', 'pump'];

export function* upstreamMakesSense(sketch: Sketch): Iterable<Mistake> {
  const upstreamOf = (id: string) => sketch.file.actuators?.[id]?.upstream;
  const inCycle = new Set<string>();
  for (const { id, entry, pointer } of entries(sketch, 'actuators')) {
    if (entry.upstream === undefined) continue;
    const kind = sketch.file.actuators?.[entry.upstream]?.kind;
    if (kind !== undefined && !MAY_CUT_OFF.includes(kind)) {
      yield {
        pointer: `${pointer}/upstream`,
        found: `the ${kind} ${quoted(entry.upstream)}, which can't cut anything off`,
        accepted: `a ${MAY_CUT_OFF.join(', a ')}`,
      };
    }
    const chain = [id];
    for (let next = upstreamOf(id); next !== undefined && !chain.includes(next); next = upstreamOf(next)) {
      chain.push(next);
    }
    const closes = upstreamOf(chain.at(-1) ?? id) === id;
    if (!closes || inCycle.has(id)) continue;
    for (const member of chain) inCycle.add(member);
    yield {
      pointer: `${pointer}/upstream`,
      found: `a circle: ${[...chain, id].map(quoted).join(' below ')}`,
      accepted: 'a chain that ends at an actuator without "upstream"',
    };
  }
}

const SWITCHES: Readonly<Record<'heaters' | 'dosers', string>> = { heaters: 'heater', dosers: 'doser' };

export function* switchesFit(sketch: Sketch): Iterable<Mistake> {
  const usedBy = new Map<string, string>();
  for (const section of ['heaters', 'dosers'] as const) {
    const kind = SWITCHES[section];
    for (const { id, entry, pointer } of entries(sketch, section)) {
      const role = roleOf(sketch, entry.in);
      if (role !== undefined && role !== 'mixing' && vesselsOf(sketch, 'mixing').length > 0) {
        yield {
          pointer: `${pointer}/in`,
          found: `a ${kind} in ${quoted(entry.in ?? '')}, whose role is ${quoted(role)}`,
          accepted: `a ${kind} in the mixing vat: nothing else is this station's to control`,
        };
      }
      if (entry.switch === undefined) continue;
      const found = sketch.file.actuators?.[entry.switch]?.kind;
      if (found !== undefined && found !== kind) {
        yield {
          pointer: `${pointer}/switch`,
          found: `the ${found} ${quoted(entry.switch)}`,
          accepted: `an actuator with "kind": ${quoted(kind)}`,
        };
      }
      const other = usedBy.get(entry.switch);
      if (other !== undefined) {
        yield {
          pointer: `${pointer}/switch`,
          found: `${quoted(entry.switch)}, which switches ${quoted(other)} already`,
          accepted: `a switch of its own for each ${kind}, or one ${kind} that stands for both`,
        };
      }
      usedBy.set(entry.switch, id);
    }
  }
}

export function* exercisesAreMade(sketch: Sketch): Iterable<Mistake> {
  for (const { entry, pointer } of entries(sketch, 'actuators')) {
    const { exercise, kind } = entry;
    if (exercise === undefined) continue;
    if (kind !== undefined && kind !== 'valve')
      yield {
        pointer: `${pointer}/exercise`,
        found: `an exercise for a ${kind}`,
        accepted: 'an exercise for a valve only',
      };
  }
  for (const id of Object.keys(sketch.file.handValves ?? {})) {
    const pointer = member('', 'handValves', id);
    if (!sketch.ids('actuators').includes(id)) continue;
    yield {
      pointer,
      found: `the id ${quoted(id)}, which is among the actuators too`,
      accepted: 'an id of its own for what a person turns',
    };
  }
}

/** A signal moves nothing: whatever does must not be held on for a lamp. */
export function* signalsAreSignals(sketch: Sketch): Iterable<Mistake> {
  const named = [
    { pointer: '/alive', actuator: sketch.file.alive, purpose: 'the lamp or sounder of a living service' },
    ...Object.entries(sketch.file.process?.exchange ?? {}).map(([system, exchange]) => ({
      pointer: member('', 'process', 'exchange', system, 'inhibitTopOff'),
      actuator: exchange?.inhibitTopOff,
      purpose: "what keeps the system's top-off quiet",
    })),
  ];
  for (const { pointer, actuator, purpose } of named) {
    const kind = actuator === undefined ? undefined : sketch.file.actuators?.[actuator]?.kind;
    if (kind === undefined || kind === 'signal') continue;
    yield {
      pointer,
      found: `the ${kind} ${quoted(actuator ?? '')} for ${purpose}`,
      accepted: 'an actuator with "kind": "signal"',
    };
  }
}

/** An id must name one thing: people take devices out of service by id, and interlocks forbid what runs by id. */
export function* idsNameOneThing(sketch: Sketch): Iterable<Mistake> {
  for (const sections of [
    ['sensors', 'actuators'],
    ['routes', 'heaters', 'dosers'],
  ] as const) {
    const seen = new Map<string, string>();
    for (const section of sections) {
      for (const id of sketch.ids(section)) {
        const other = seen.get(id);
        seen.set(id, other ?? section);
        if (other === undefined) continue;
        yield {
          pointer: member('', section, id),
          found: `the id ${quoted(id)}, which is among the ${other} too`,
          accepted: `an id that is used once among ${sections.join(', ')}`,
        };
      }
    }
  }
}

export function* proofIsThere(sketch: Sketch): Iterable<Mistake> {
  for (const { id, entry, pointer } of entries(sketch, 'actuators')) {
    const at = `${pointer}/offProvenBy`;
    if (entry.offProvenBy === 'feedback' && sketch.lacks(`${pointer}/feedback`)) {
      yield {
        pointer: at,
        found: '"feedback" for a device that gives none',
        accepted: 'a "feedback" beside it',
      };
    }
    if (entry.offProvenBy === 'lease' && entry.lease?.countedBy === 'nobody') {
      yield {
        pointer: at,
        found: '"lease" for a device that does not count it',
        accepted: '"feedback", "no-flow" or "assumption"',
      };
    }
    if (entry.offProvenBy !== 'no-flow' || !sketch.isWhole('/routes') || !sketch.isWhole('/sensors'))
      continue;
    const metered = entries(sketch, 'routes').some(
      (route) =>
        route.entry.through?.includes(id) &&
        entries(sketch, 'sensors').some(
          ({ entry: sensor }) =>
            (sensor.measures === 'flow' || sensor.measures === 'total') && sensor.route === route.id,
        ),
    );
    if (!metered) {
      yield {
        pointer: at,
        found: '"no-flow" for an actuator in no metered route',
        accepted: 'a meter in one of its routes, or another proof',
      };
    }
  }
}
