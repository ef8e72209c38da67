// A service that hears nothing, stood still, or can't write down what it does, tells nothing to run.
import { SLOW_REACTION_MS } from './bounds.ts';
import type { Check, Seen } from './check.ts';
import { notebook } from './check.ts';

interface Unfit {
  readonly about: string;
  readonly is: (seen: Seen) => boolean;
}

const UNFIT: readonly Unfit[] = [
  {
    about: 'dead link',
    is: (seen) => lasts(seen, ['link-lost', 'link-mute'], seen.plant.link.provenWithinMs),
  },
  { about: 'late step', is: ({ plant, elapsedMs }) => elapsedMs > plant.link.tickWithinMs },
  { about: 'journal', is: (seen) => lasts(seen, ['journal-full'], 0) },
];

export function unfit(): Check {
  const { note, findings } = notebook();
  return {
    name: 'unfit',
    promise:
      'over a dead link, after standing still, or with a journal that can not be written nothing is told to run',
    see: (seen) => {
      if (seen.sent.length === 0) return;
      const whys = UNFIT.filter(({ is }) => is(seen));
      if (whys.length === 0) return;
      for (const { actuator, on } of seen.sent)
        for (const { about } of whys)
          if (on && seen.plant.actuators[actuator]?.kind !== 'signal')
            note({ check: 'unfit', harm: null, about, words: `${actuator} was told to be on: ${about}` });
    },
    findings,
  };
}

/** It has lasted for so long that it must be known, and still does. */
const lasts = ({ troubles, nowMs }: Seen, kinds: readonly string[], knownMs: number): boolean =>
  troubles.some(
    ({ kind, fromMs, toMs }) =>
      kinds.includes(kind) && nowMs > fromMs + knownMs + SLOW_REACTION_MS && nowMs < toMs,
  );
