// The routes of a planned station: what opens each of them, and what its meter may show. One pump for all stands behind
// valves that choose where it draws from and where it delivers to.
import type { StationFile } from '../station/file/station.ts';
import { type Closer, hasValve } from './by-itself.ts';
import { type Design, NOMINAL_LPM } from './design.ts';
import type { FlowRange, LinePlan } from './lines.ts';

type RouteFile = StationFile['routes'][string];

const lpm = (value: number): string => `${Number(value.toPrecision(4))} L/min`;
const metres = (value: number): string => `${Number(value.toFixed(3))} m`;

export function routesOf(design: Design): StationFile['routes'] {
  const { transfer, supply, drainLpm, circulationLpm, rest, site } = design;
  const pumped = { priming: '10 s', runDown: '10 s', minimumRest: '30 s' };
  const ways = waysOf(design);
  return {
    refill: refillOf(design),
    transfer: {
      name: 'Transfer',
      from: 'fresh',
      to: 'mixing',
      ...ways.transfer,
      flow: flowOf(transfer.range),
      ...heights(transfer, rest.transfer.closer),
      ...pumped,
    },
    circulate: {
      name: 'Circulation',
      from: 'mixing',
      to: 'mixing',
      ...ways.circulate,
      flow: around(circulationLpm, 0.25),
      minimumRun: '60 s',
      ...pumped,
    },
    supply: {
      name: 'Supply',
      from: 'mixing',
      to: 'system',
      ...ways.supply,
      flow: flowOf(supply.range),
      ...heights(supply, rest.supply.closer),
      ...pumped,
    },
    drain: {
      name: 'Drain',
      from: 'system',
      to: 'waste',
      through: ['drain-pump', ...(hasValve(rest.drain.closer) ? ['drain-valve'] : [])],
      flow: around(drainLpm, 0.15),
      ...(site.drain.outletM === null ? {} : { outlet: metres(site.drain.outletM) }),
      ...(rest.drain.closer === 'siphon break' ? { siphonBreak: true } : {}),
      ...pumped,
    },
  };
}

type Way = Pick<RouteFile, 'through' | 'shut'>;

/** Which valves and pumps open which way. */
function waysOf(design: Design): Record<'transfer' | 'circulate' | 'supply', Way> {
  const { rest, transfer, supply, site } = design;
  if (site.onePump) {
    const all = ['draw-fresh', 'draw-mixing', 'to-mixing', 'to-system'];
    const way = (draw: string, to: string): Way => ({
      through: [draw, 'shared-pump', to],
      shut: all.filter((valve) => valve !== draw && valve !== to),
    });
    return {
      transfer: way('draw-fresh', 'to-mixing'),
      circulate: way('draw-mixing', 'to-mixing'),
      supply: way('draw-mixing', 'to-system'),
    };
  }
  const through = ({ line }: LinePlan, closer: Closer, id: string): Way => ({
    through:
      line.curve === null ? [`${id}-valve`] : [`${id}-pump`, ...(hasValve(closer) ? [`${id}-valve`] : [])],
  });
  return {
    transfer: through(transfer, rest.transfer.closer, 'transfer'),
    circulate: { through: ['circulation-pump'] },
    supply: through(supply, rest.supply.closer, 'supply'),
  };
}

function refillOf({ worst, best }: Design): RouteFile {
  return {
    name: 'Refill',
    from: 'purifier',
    to: 'fresh',
    through: ['inlet-valve'],
    flow: {
      least: lpm(0.9 * (worst.oldLpm || 0.1)),
      most: lpm(1.1 * (best.newLpm || 0.2)),
    },
    priming: '60 s',
    runDown: '10 s',
    minimumRest: '5 min',
    startsPerHour: 6,
  };
}

const around = (value: number, share: number) => ({
  least: lpm(value * (1 - share)),
  most: lpm(value * (1 + share)),
  usual: lpm(value),
});

/** A nominal flow where the plan says that it does not work. */
function flowOf(range: FlowRange | null) {
  if (range === null) return around(NOMINAL_LPM, 0.3);
  const { leastLpm, mostLpm, usualLpm } = range;
  return { least: lpm(leastLpm), most: lpm(mostLpm), usual: lpm(usualLpm) };
}

function heights({ outletM, line }: LinePlan, closer: Closer) {
  return {
    outlet: metres(line.outletM ?? outletM),
    ...(closer === 'siphon break' ? { siphonBreak: true as const } : {}),
  };
}
