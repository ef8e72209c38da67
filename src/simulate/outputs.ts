// Which output is wired to which load: each to its own, unless two were swapped at their board.
import type { Plant } from '../station/plant.ts';

/** Outputs that can be swapped with this one: any other that neither lies upstream. */
export function othersFor({ actuators }: Plant, what: string): readonly string[] {
  const chain = (id: string): readonly string[] => {
    const upstream = actuators[id]?.upstream ?? null;
    return upstream === null ? [id] : [id, ...chain(upstream)];
  };
  return Object.keys(actuators).filter((id) => !chain(id).includes(what) && !chain(what).includes(id));
}

/** By load, the output that is wired to it where that is another's. A terminal takes one wire: the first fault at it stands. */
export function wiredAs(
  faults: Iterable<{ readonly what: string; readonly value: string }>,
): ReadonlyMap<string, string> {
  const swapped = new Map<string, string>();
  for (const { what, value } of faults)
    if (!swapped.has(what) && !swapped.has(value)) swapped.set(what, value).set(value, what);
  return swapped;
}
