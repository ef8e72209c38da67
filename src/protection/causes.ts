// Common causes: one thing, and everything that fails with it. Read off the station file: what devices say that they share,
// which messages and adapters carry several readings, what lies upstream of several devices, the broker, the mains.
//
// The worst is assumed: everything that hangs on the thing fails at the same moment and in the direction that hurts, relays
// on and floats lying, although a dead board more often falls silent, which the interlocks answer by switching off.
import { movers } from '../station/advice-parts.ts';
import { gapsOf } from '../station/gaps.ts';
import type { Availability, Plant } from '../station/plant.ts';
import type { Hazard } from './hazards.ts';
import { joined } from './words.ts';

export type CauseKind = 'domain' | 'adapter' | 'message' | 'upstream' | 'broker' | 'mains';

export interface Cause {
  /** `C-02`: its number in this report. */
  readonly id: string;
  readonly kind: CauseKind;
  readonly name: string;
  /** Names of what hangs on it. */
  readonly members: readonly string[];
  /** What fails with it, in the words of the table of gaps. */
  readonly fails: ReadonlySet<string>;
  /** How it takes them along. */
  readonly words: string;
}

type Unnumbered = Omit<Cause, 'id'>;

export function causesOf(plant: Plant): readonly Cause[] {
  const shared = [...domains(plant), ...adapters(plant), ...messages(plant)];
  const all = [
    ...shared.filter((cause, at) => !shared.slice(0, at).some((other) => covers(other, cause))),
    ...upstreams(plant),
    broker(plant),
    mains(plant),
  ];
  return all.map((cause, at) => ({ id: `C-${String(at + 1).padStart(2, '0')}`, ...cause }));
}

const covers = (one: Unnumbered, other: Unnumbered): boolean =>
  [...other.fails].every((event) => one.fails.has(event));

/** How a hazard stands once a thing has failed, with all that hangs on it. */
export interface Loss {
  /** Failures that must still come to it: 0, every barrier is gone; 1, one more is enough. */
  readonly left: 0 | 1;
  /** What failed with the cause, of the combination that it brings furthest; in the words of the table of gaps. */
  readonly by: readonly string[];
}

/**
 * What a cause does to a hazard, by the table of gaps; null: nothing that matters. A combination of a single failure is
 * none of its doing: that one is enough without it.
 */
export function lossOf(plant: Plant, { fails }: Pick<Cause, 'fails'>, { harm, about }: Hazard): Loss | null {
  const brought = gapsOf(plant)
    .filter((gap) => gap.harm === harm && gap.about === about && gap.when.length > 1)
    .map(({ when }) => ({ when, by: when.filter((event) => fails.has(event)) }))
    .filter(({ by }) => by.length > 0)
    .map(({ when, by }) => ({ by, left: when.length - by.length }));
  const [worst] = brought.toSorted((one, other) => one.left - other.left || one.by.length - other.by.length);
  return worst === undefined || worst.left > 1 ? null : { left: worst.left === 0 ? 0 : 1, by: worst.by };
}

/** Devices that name no failure domain: the report takes them to be independent, which nobody has said. */
export function unplaced(plant: Plant): readonly string[] {
  return [...Object.values(plant.sensors), ...movers(plant)]
    .filter(({ failureDomain }) => failureDomain === null)
    .map(({ name }) => name);
}

interface Member {
  readonly name: string;
  readonly event: string;
}

/** Gathers members by a key; a group of one is no common cause. */
function grouped(
  pairs: readonly (readonly [string | null, Member])[],
): readonly (readonly [string, Member[]])[] {
  const groups = new Map<string, Member[]>();
  for (const [key, member] of pairs) if (key !== null) groups.set(key, [...(groups.get(key) ?? []), member]);
  return [...groups].filter(([, members]) => members.length > 1);
}

function causeOf(kind: CauseKind, name: string, members: readonly Member[], words: string): Unnumbered {
  return {
    kind,
    name,
    members: [...new Set(members.map((member) => member.name))],
    fails: new Set(members.map(({ event }) => event)),
    words,
  };
}

function domains(plant: Plant): Unnumbered[] {
  const members = [
    ...Object.values(plant.actuators).map(
      (a) => [a.failureDomain, { name: a.name, event: `stop ${a.id}` }] as const,
    ),
    ...Object.values(plant.sensors).map(
      (s) => [s.failureDomain, { name: s.name, event: `truth ${s.id}` }] as const,
    ),
  ];
  return grouped(members).map(([domain, who]) =>
    causeOf(
      'domain',
      `Failure domain "${domain}"`,
      who,
      'A board, supply or enclosure that the station file names for all of them.',
    ),
  );
}

interface Spoken extends Member {
  readonly topic: string;
  readonly availability: readonly Availability[];
}

/** Everything that speaks to the service: sensors, and the feedback of actuators. */
const spoken = (plant: Plant): readonly Spoken[] => [
  ...Object.values(plant.sensors).map((s) => ({ ...s, event: `truth ${s.id}` })),
  ...Object.values(plant.actuators).flatMap(({ id, name, feedback }) =>
    feedback === null ? [] : [{ ...feedback, name: `${name} (feedback)`, event: `truth ${id}` }],
  ),
];

function adapters(plant: Plant): Unnumbered[] {
  const told = spoken(plant).flatMap((s) => s.availability.map(({ topic }) => [topic, s] as const));
  return grouped(told).map(([topic, who]) =>
    causeOf('adapter', `Adapter with the availability ${topic}`, who, 'One device speaks for all of them.'),
  );
}

function messages(plant: Plant): Unnumbered[] {
  return grouped(spoken(plant).map((s) => [s.topic, s])).map(([topic, who]) =>
    causeOf('message', `Messages on ${topic}`, who, 'They stand in one message.'),
  );
}

/** What is upstream of several devices is the second layer of each of them. */
function upstreams(plant: Plant): Unnumbered[] {
  return Object.values(plant.actuators).flatMap(({ id, name }) => {
    const below = Object.values(plant.actuators).filter(({ upstream }) => upstream === id);
    if (below.length < 2) return [];
    return [
      {
        kind: 'upstream',
        name,
        members: below.map((actuator) => actuator.name),
        fails: new Set([`stop ${id}`]),
        words: 'It is what cuts all of them off when their own switch fails.',
      } as const,
    ];
  });
}

function broker(plant: Plant): Unnumbered {
  const endless = movers(plant).filter(({ countsLease }) => !countsLease);
  const longestMs = Math.max(0, ...movers(plant).map((actuator) => actuator.longestMs));
  const words =
    endless.length === 0
      ? `Whatever is on drops out by itself when its lease ends, within ${longestMs / 1000} s. Until the link is back nobody is told of a siphon or a leak.`
      : `Nobody counts the lease of ${joined(endless.map(({ name }) => name))}: what is on then stays on. The rest drops out within ${longestMs / 1000} s.`;
  return {
    kind: 'broker',
    name: 'Broker, network or the computer of the service',
    members: ['every sensor and every device'],
    fails: new Set(endless.map(({ id }) => `stop ${id}`)),
    words,
  };
}

/** Without power pumps stand and heaters are cold. A valve does what its spring does, and the file knows of no springs. */
function mains(plant: Plant): Unnumbered {
  const valves = movers(plant).filter(({ kind }) => kind === 'valve');
  return {
    kind: 'mains',
    name: 'Mains power of the whole station',
    members: ['everything electrical'],
    fails: new Set(valves.map(({ id }) => `stop ${id}`)),
    words:
      valves.length === 0
        ? 'Pumps stand and heaters are cold; there are no valves.'
        : `Pumps stand and heaters are cold. The station file does not say which valves close without power; taken here is that none does: ${joined(valves.map(({ name }) => name))}.`,
  };
}
