// The marks of a vessel must rise in the order in which water meets them, and what a lease lets through after the last
// word of a float must still fit below the brim.
import { member } from '../pointer.ts';
import type { Mistake } from '../problem.ts';
import { quoted } from '../problem.ts';
import { entries, type Sketch, value } from '../sketch.ts';
import { boundsOf, floatAt, litres, roleOf, vesselsOf } from './plumbing.ts';

interface Step {
  readonly words: string;
  readonly atL: number;
  /** Undefined for a default, which stands nowhere. */
  readonly pointer: string | undefined;
  /** May be level with the step below it. */
  readonly orEqual?: boolean;
  /** What the process fills it to. */
  readonly isAim?: boolean;
}

export function* marksRise(sketch: Sketch): Iterable<Mistake> {
  for (const role of ['fresh', 'mixing', 'system'] as const) {
    // The aims are those of the one fresh and the one mixing vat; a second one is refused elsewhere.
    const all = vesselsOf(sketch, role);
    for (const vessel of role === 'system' ? all : all.slice(0, 1)) {
      const steps = stepsOf(sketch, vessel);
      const ladder = steps
        .map(({ words, atL, orEqual }, index) => {
          const sign = index === 0 ? '' : orEqual ? '<= ' : '< ';
          return `${sign}${words} (${litres(atL)})`;
        })
        .join(' ');
      for (const [index, above] of steps.entries()) {
        const below = steps[index - 1];
        if (below === undefined || above.atL > below.atL || (above.orEqual && above.atL === below.atL))
          continue;
        yield {
          pointer: above.pointer ?? below.pointer ?? member('', 'vessels', vessel, 'capacity'),
          found: `${above.words} at ${litres(above.atL)}, not above ${below.words} at ${litres(below.atL)}`,
          accepted: `marks of ${quoted(vessel)} that rise: ${ladder}`,
        };
      }
    }
  }
}

/** The marks of a vessel from the floor up, those that are known. */
function stepsOf(sketch: Sketch, vessel: string): Step[] {
  const { minimumL, brimL } = boundsOf(sketch, vessel);
  const { process, vessels } = sketch.file;
  const own = (key: string) => {
    const pointer = member('', 'vessels', vessel, key);
    return sketch.lacks(pointer) ? undefined : pointer;
  };
  const float = (position: 'low' | 'high' | 'overflow') => {
    const mark = floatAt(sketch, vessel, position);
    return { words: `the ${position} float`, atL: mark?.markL, pointer: mark?.pointer };
  };
  const role = roleOf(sketch, vessel);
  const aims: Record<string, (Omit<Step, 'atL'> & { atL: number | undefined })[]> = {
    fresh: [
      {
        words: 'startBelow of the refill',
        atL: value(process?.refill?.startBelow, 'volume'),
        pointer: '/process/refill/startBelow',
      },
      {
        words: 'stopAt of the refill',
        atL: value(process?.refill?.stopAt, 'volume'),
        pointer: '/process/refill/stopAt',
        isAim: true,
      },
    ],
    mixing: [
      {
        words: 'the contents of a batch',
        atL: value(process?.batch?.contents, 'volume'),
        pointer: '/process/batch/contents',
        isAim: true,
      },
    ],
    system: [
      {
        words: 'the normal volume',
        atL: value(vessels?.[vessel]?.volume, 'volume'),
        pointer: member('', 'vessels', vessel, 'volume'),
        isAim: true,
      },
    ],
  };
  const all = [
    { words: 'the minimum', atL: minimumL, pointer: own('minimum') },
    float('low'),
    ...(aims[role ?? ''] ?? []),
    { ...float('high'), orEqual: true },
    float('overflow'),
    { words: 'the brim less its margin', atL: brimL, pointer: own('margin') ?? own('capacity') },
  ];
  return all.flatMap((step) => (step.atL === undefined ? [] : [{ ...step, atL: step.atL }]));
}

/** Where filling stops by evidence: the high float, else what the process aims at. */
function stopsAt(sketch: Sketch, vessel: string): { words: string; atL: number } | undefined {
  const high = floatAt(sketch, vessel, 'high');
  if (high !== undefined) {
    const words = `the high float (${litres(high.markL)} + ${litres(high.toleranceL)})`;
    return { words, atL: high.markL + high.toleranceL };
  }
  const aim = stepsOf(sketch, vessel).find(({ isAim }) => isAim);
  if (aim === undefined) return undefined;
  const offL = levelUncertaintyL(sketch, vessel);
  return { words: `${aim.words} (${litres(aim.atL)} + ${litres(offL)})`, atL: aim.atL + offL };
}

function levelUncertaintyL(sketch: Sketch, vessel: string): number {
  for (const { entry } of entries(sketch, 'sensors')) {
    if (entry.measures === 'level' && entry.vessel === vessel) return value(entry.uncertainty, 'volume') ?? 0;
  }
  return 0;
}

/**
 * When the link or the service dies in the very moment in which the float turns over, the water runs on until the lease
 * has ended. A lease that nobody counts has no end; that is advice, not a slip.
 */
export function* leasesFit(sketch: Sketch): Iterable<Mistake> {
  const worst = new Map<string, Mistake & { readonly overL: number }>();
  for (const { id, entry } of entries(sketch, 'routes')) {
    if (entry.from === undefined || entry.to === undefined || entry.from === entry.to) continue;
    const flowLpm = value(entry.flow?.most, 'flow');
    const { brimL } = boundsOf(sketch, entry.to);
    const stop = stopsAt(sketch, entry.to);
    const [longest] = (entry.through ?? [])
      .flatMap((actuator) => {
        const lease = sketch.file.actuators?.[actuator]?.lease;
        const lastsMs = value(lease?.lasts, 'duration-with-unit');
        const times = lease?.restartsInFull === true ? 2 : 1;
        if (lastsMs === undefined || lease?.countedBy === 'nobody') return [];
        return [{ actuator, lastsMs, times, mostMs: times * lastsMs }];
      })
      .sort((a, b) => b.mostMs - a.mostMs);
    if (flowLpm === undefined || brimL === undefined || stop === undefined || longest === undefined) continue;
    // Marks that don't rise have had their sentence; this one would only repeat it.
    const roomL = brimL - stop.atL;
    const runsOnL = (flowLpm * longest.mostMs) / 60_000;
    if (roomL <= 0 || runsOnL <= roomL) continue;
    const pointer = member('', 'actuators', longest.actuator, 'lease', 'lasts');
    const mostS = Math.floor(((roomL / flowLpm) * 60) / longest.times);
    const mistake = {
      pointer,
      overL: runsOnL - roomL,
      found: `a lease of ${longest.lastsMs / 1000} s${longest.times === 2 ? ' that begins anew when the device restarts' : ''}, in which the route ${quoted(id)} lets ${litres(runsOnL)} into ${quoted(entry.to)} after ${stop.words}, where ${litres(roomL)} are left below the brim and its margin`,
      accepted: `a lease of at most ${mostS} s, a lower mark, less flow or a larger vessel`,
    };
    const before = worst.get(pointer);
    if (before === undefined || before.overL < mistake.overL) worst.set(pointer, mistake);
  }
  for (const { overL: _, ...mistake } of worst.values()) yield mistake;
}
