// What a planned station switches: pumps, valves and contactors on placeholder topics, each with a lease and a report of
// its own. What closes a line that would run by itself is among them.
import type { ActuatorFile, StationFile } from '../station/file/station.ts';
import { hasValve } from './by-itself.ts';
import type { Design } from './design.ts';
import type { LinePlan } from './lines.ts';
import { type Pace, seconds } from './station-parts.ts';

export function actuatorsOf(design: Design, pace: Pace): StationFile['actuators'] {
  const switched = switchesOf(design, pace);
  const leased = (lastsS: number) => ({ lease: { lasts: seconds(lastsS), countedBy: 'device' as const } });
  const below = (upstream: string) => ({ upstream, failureDomain: 'relay-board-a' });
  // What cuts others off outlasts them, and sits in a box of its own.
  const box = (failureDomain: string) => ({ ...leased(1.5 * pace.leaseS), failureDomain });
  const pump = (name: string, tag: string, path: string, rest: Partial<ActuatorFile> = {}) =>
    switched('pump', name, tag, `pumps/${path}`, { ...below('pump-contactor'), ...rest });
  return {
    'master-valve': switched('valve', 'Master shut-off', 'XV-0', 'valves/master', box('valve-box')),
    'inlet-valve': switched('valve', 'Inlet valve', 'XV-1', 'valves/inlet', below('master-valve')),
    'pump-contactor': switched(
      'contactor',
      'Pump contactor',
      'K-1',
      'contactors/pumps',
      box('contactor-box'),
    ),
    ...movers({ design, switched, leased, pump, box: box('valve-box') }),
    'drain-pump': pump('Drain pump', 'P-4', 'drain', leased(DRAIN_LEASE_S)),
    ...(hasValve(design.rest.drain.closer)
      ? { 'drain-valve': closing(switched, 'Drain valve', 'XV-4', 'drain', leased(DRAIN_LEASE_S)) }
      : {}),
    ...(design.site.heater === null ? {} : heaterSwitches(switched, box('contactor-box'))),
    'top-off-inhibit': signal(design, pace, 'Top-off inhibit', 'Y-1', 'system/top-off/inhibit'),
    'alive-lamp': signal(design, pace, 'Service alive', 'Y-2', 'alive'),
  };
}

/** What runs on out of the system ends in the waste: a pump's usual lease. */
const DRAIN_LEASE_S = 30;

interface Movers {
  readonly design: Design;
  readonly switched: Switched;
  readonly leased: (lastsS: number) => Partial<ActuatorFile>;
  readonly pump: (name: string, tag: string, path: string, rest?: Partial<ActuatorFile>) => ActuatorFile;
  readonly box: Partial<ActuatorFile>;
}

/** What moves water from vat to vat and to the system: pumps, valves that close what would run by itself, or a manifold. */
function movers({ design, switched, leased, pump, box }: Movers): Record<string, ActuatorFile> {
  const { site, leases, rest, transfer, supply } = design;
  if (site.onePump) {
    const lease = leased(Math.min(leases.transferS, leases.supplyS));
    return {
      'draw-fresh': closing(switched, 'Draw valve, fresh vat', 'XV-2', 'draw-fresh', lease),
      'draw-mixing': closing(switched, 'Draw valve, mixing vat', 'XV-3', 'draw-mixing', lease),
      'shared-pump': pump('Pump', 'P-1', 'shared', lease),
      'to-mixing': closing(switched, 'Valve to the mixing vat', 'XV-5', 'to-mixing', lease),
      'to-system': closing(switched, 'Valve to the system', 'XV-6', 'to-system', lease),
    };
  }
  const line = (id: 'transfer' | 'supply', name: string, number: number, plan: LinePlan) => {
    const lease = leased(id === 'transfer' ? leases.transferS : leases.supplyS);
    const falls = plan.line.curve === null;
    const valve = closing(switched, `${name} valve`, `XV-${number}`, id, {
      ...lease,
      // Where height moves the water a second valve is the only thing that stops it when the first one sticks.
      ...(falls ? { upstream: `${id}-shutoff` } : {}),
    });
    const shutoff = switched('valve', `${name} shut-off`, `XV-${number}0`, `valves/${id}-shutoff`, box);
    if (falls) return { [`${id}-shutoff`]: shutoff, [`${id}-valve`]: valve };
    return {
      [`${id}-pump`]: pump(`${name} pump`, `P-${number === 2 ? 1 : 3}`, id, lease),
      ...(hasValve(rest[id].closer) ? { [`${id}-valve`]: valve } : {}),
    };
  };
  return {
    ...line('transfer', 'Transfer', 2, transfer),
    'circulation-pump': pump('Circulation pump', 'P-2', 'circulation'),
    ...line('supply', 'Supply', 3, supply),
  };
}

/** A valve that is closed without power. */
function closing(switched: Switched, name: string, tag: string, path: string, rest: Partial<ActuatorFile>) {
  return switched('valve', name, tag, `valves/${path}`, { failureDomain: 'relay-board-b', ...rest });
}

type Switched = (
  kind: ActuatorFile['kind'],
  name: string,
  tag: string,
  path: string,
  rest: Partial<ActuatorFile>,
) => ActuatorFile;

/** A relay that counts its lease and reports back. */
function switchesOf(design: Design, pace: Pace): Switched {
  return (kind, name, tag, path, rest) => ({
    name,
    tag,
    kind,
    command: {
      topic: `${design.site.id}/${path}/set`,
      on: { output: true, seconds: '$leaseS', number: '$sequence' },
      off: { output: false },
    },
    lease: { lasts: seconds(pace.leaseS), countedBy: 'device' },
    feedback: {
      topic: `${design.site.id}/${path}`,
      at: '/output',
      on: true,
      off: false,
      within: seconds(pace.withinS),
      republishes: seconds(pace.republishesS),
      maxAge: seconds(3 * pace.republishesS),
    },
    ...rest,
  });
}

function heaterSwitches(switched: Switched, box: Partial<ActuatorFile>): Record<string, ActuatorFile> {
  return {
    'heater-contactor': switched('contactor', 'Heater contactor', 'K-2', 'contactors/heater', box),
    'heater-relay': switched('heater', 'Heater relay', 'K-3', 'heater', {
      upstream: 'heater-contactor',
      failureDomain: 'relay-board-b',
    }),
  };
}

/** Moves neither water nor heat, so nothing needs to report back. */
function signal(design: Design, pace: Pace, name: string, tag: string, path: string): ActuatorFile {
  return {
    name,
    tag,
    kind: 'signal',
    command: { topic: `${design.site.id}/${path}/set`, on: 'on', off: 'off' },
    lease: { lasts: seconds(1.5 * pace.leaseS), countedBy: 'device' },
  };
}
