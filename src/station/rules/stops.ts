// How water is stopped by hand: what is named must stop what it is named for.
import type { WrittenText } from '../file/parts.ts';
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
        found: `${said(what)}, which only ${way === 'inflow' ? 'takes water out of' : 'brings water into'} it`,
        accepted: `what stops the water that ${way === 'inflow' ? 'comes into' : 'leaves'} ${id}`,
      };
    }
  }
  for (const { id, entry, pointer } of entries(sketch, 'routes'))
    yield* offTheWay(sketch, entry.stop?.what, pointer, id, withUpstream(sketch, entry.through ?? []));
  for (const { id, entry, pointer } of entries(sketch, 'actuators'))
    yield* offTheWay(sketch, entry.stop?.what, pointer, id, withUpstream(sketch, [id]));
  for (const section of ['routes', 'actuators'] as const)
    for (const { entry, pointer } of entries(sketch, section))
      yield* closesNothing(sketch, entry.stop, pointer);
}

/** Only what lies on the way of the water, or cuts the power of what moves it, stops it. */
function* offTheWay(
  sketch: Sketch,
  what: WrittenText | undefined,
  pointer: string,
  id: string,
  way: ReadonlySet<string>,
): Iterable<Mistake> {
  const named = what === undefined ? [] : namedIn(sketch, what);
  if (what === undefined || named.length === 0 || named.some((actuator) => way.has(actuator))) return;
  yield {
    pointer: member(pointer, 'stop', 'what'),
    found: `${said(what)}, which can't stop ${id}`,
    accepted: `${[...way].join(', ')}, or what a person shuts off there by hand`,
  };
}

function* closesNothing(
  sketch: Sketch,
  stop: { readonly action?: string; readonly what?: WrittenText } | undefined,
  pointer: string,
): Iterable<Mistake> {
  if (stop?.action !== 'close' || stop.what === undefined) return;
  const kinds = namedIn(sketch, stop.what).map((id) => sketch.file.actuators?.[id]?.kind);
  if (kinds.length === 0 || kinds.some((kind) => kind === undefined || kind === 'valve')) return;
  yield {
    pointer: member(pointer, 'stop', 'action'),
    found: `"close" for ${said(stop.what)}`,
    accepted: '"switch off" or "unplug": only a valve is closed',
  };
}

interface Ends {
  readonly from?: string | undefined;
  readonly to?: string | undefined;
  readonly through?: readonly string[] | undefined;
}

const movers = (sketch: Sketch, isMeant: (route: Ends) => boolean): ReadonlySet<string> =>
  new Set(entries(sketch, 'routes').flatMap(({ entry }) => (isMeant(entry) ? (entry.through ?? []) : [])));

/** With everything that cuts one of them off; a chain that bites its tail is another rule's to tell. */
function withUpstream(sketch: Sketch, ids: readonly string[]): ReadonlySet<string> {
  const found = new Set(ids);
  for (const id of found) {
    const upstream = sketch.file.actuators?.[id]?.upstream;
    if (upstream !== undefined) found.add(upstream);
  }
  return found;
}

const textsOf = (written: WrittenText): readonly string[] =>
  typeof written === 'string' ? [written] : Object.values(written);
const said = (written: WrittenText): string => textsOf(written).map(quoted).join(', ');

/** The actuators whose name, or whose id in words, stands in a text. */
function namedIn(sketch: Sketch, written: WrittenText): readonly string[] {
  const texts = textsOf(written).map((text) => text.toLowerCase());
  return entries(sketch, 'actuators').flatMap(({ id, entry }) =>
    [...(entry.name === undefined ? [] : textsOf(entry.name)), id.replaceAll('-', ' ')].some((name) =>
      texts.some((text) => text.includes(name.toLowerCase())),
    )
      ? [id]
      : [],
  );
}
