// When a step has to be in the journal, seen from the wire. The bridge decides by the order of its calls:
//
//   1. publish the `off` commands: nothing may delay them, least of all a slow disk;
//   2. 'first': `append`, and only if it says ok publish the `on` commands and the answers;
//      'soon':  publish the rest, then `append`;
//      'later': publish the rest, then `appendLater`.
//
// If the power fails after an `on` that no journal knows of, the service wakes up and believes that nothing ran. If it
// fails after an `off` that no journal knows of, it believes that too much ran, which is the safe side. An answer is a
// promise to a person (the salt is noted), so it too is given only when it is kept.
import type { Effect } from '../control/guard/types.ts';

export type Order = 'first' | 'soon' | 'later';

export function orderOf(effects: readonly Effect[]): Order {
  if (effects.some((effect) => (effect.do === 'command' && effect.on) || effect.do === 'answer'))
    return 'first';
  return effects.length > 0 ? 'soon' : 'later';
}
