// How water is stopped by hand: what is named must stop what it is named for.
import { member } from '../pointer.ts';
import { type Mistake, quoted } from '../problem.ts';
import { entries, type Sketch } from '../sketch.ts';

/** Whoever unplugs the drain pump of a sump that runs over has made it worse. */
export function* stopsStopTheRightWay(sketch: Sketch): Iterable<Mistake> {
  for (const { id, entry, pointer } of entries(sketch, 'vessels')) {
    const into = movers(sketch, ({ to, from }) => to === id && from !== id);
    const outOf = movers(sketch, ({ to, from }) => from === id && to !== id);
    for (const [way, right, wrong] of [
      ['inflow', into, outOf],
      ['outflow', outOf, into],
    ] as const) {
      const what = entry.stop?.[way]?.what;
      if (what === undefined) continue;
      const named = namedIn(sketch, what);
      if (!named.some((actuator) => wrong.has(actuator)) || named.some((actuator) => right.has(actuator)))
        continue;
      yield {
        pointer: member(pointer, 'stop', way, 'what'),
        found: `${quoted(what)}, which only ${way === 'inflow' ? 'takes water out of' : 'brings water into'} it`,
        accepted: `what stops the water that ${way === 'inflow' ? 'comes into' : 'leaves'} ${id}`,
      };
    }
  }
}

interface Ends {
  readonly from?: string | undefined;
  readonly to?: string | undefined;
  readonly through?: readonly string[] | undefined;
}

const movers = (sketch: Sketch, isMeant: (route: Ends) => boolean): ReadonlySet<string> =>
  new Set(entries(sketch, 'routes').flatMap(({ entry }) => (isMeant(entry) ? (entry.through ?? []) : [])));

/** The actuators whose name, or whose id in words, stands in a text. */
function namedIn(sketch: Sketch, text: string): readonly string[] {
  const said = text.toLowerCase();
  return entries(sketch, 'actuators').flatMap(({ id, entry }) =>
    [entry.name, id.replaceAll('-', ' ')].some(
      (name) => name !== undefined && said.includes(name.toLowerCase()),
    )
      ? [id]
      : [],
  );
}
