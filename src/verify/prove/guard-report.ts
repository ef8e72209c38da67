// What `prove --guard` has shown, for whoever sits in front of it.
import type { Plant } from '../../station/plant.ts';
import type { GuardProof } from './guard-proof.ts';

/** What the claim does not cover; said every time. */
const OUTSIDE: readonly string[] = [
  'a row that a person has bypassed: nobody bypasses anything here',
  'three or more targets that the process wants together, beyond a circulation that one of them needs',
  'a fault that begins where contents, salt and acceptance are as in another place, but not what else is known',
  "the ledger of an exchange, which the process keeps: a system's level is held by its floats here",
  'rests between two starts, proof tests, spent resin, errors within what the file says of an instrument: tests of their own',
];

/** @param seconds how long it took */
export function guardText(plant: Plant, proof: GuardProof, seconds: number): string {
  const { runs, open, repertoires, faults, places, transitions, odds, unmet } = proof;
  const whole = runs.filter(({ complete }) => complete).length;
  return `${[
    `${plant.name} (${plant.id}): the guard alone, against a process that wants anything and a person who may do anything`,
    '',
    `  repertoires           ${repertoires}: pairs of targets that touch, any subset wanted at any tick`,
    `  single faults         ${faults}; ${runs.length} runs, ${whole} to the end, the others to a bound`,
    `  in all                ${places} places, ${transitions} ticks, ${seconds.toFixed(0)} s`,
    `  two places taken for one: odds below ${odds.toExponential(0)} (fingerprints of 64 bits)`,
    '',
    open.length === 0
      ? '  held  no harm that any guard could have held'
      : `  NO    harm that a guard could have held, in ${open.length} runs`,
    '',
    ...excused(proof),
    ...open.flatMap(({ broke }) =>
      broke.flatMap(({ words, fault, repertoire, trace }) => [
        `  ${words}`,
        `  under ${fault || 'no fault at all'}, wanted: any of ${repertoire}`,
        ...trace.map((line) => `  ${line}`),
        '',
      ]),
    ),
    'What this does not say',
    ...OUTSIDE.map((words) => `  ${words}`),
    `  not looked at, because the process is hostile anyway or nobody is needed: ${unmet.join(', ')}`,
  ].join('\n')}\n`;
}

/** What came although everything would have gone off in the first tick in which no healthy station could say what was heard. */
function excused({ runs }: GuardProof): readonly string[] {
  const found = new Map<string, Set<string>>();
  for (const { fault, excused: keys } of runs)
    for (const key of keys) found.set(key, (found.get(key) ?? new Set()).add(fault));
  if (found.size === 0) return [];
  return [
    'What no guard could hold: it comes as well with everything off as soon as the fault can be seen (worked out for each)',
    ...[...found].map(([key, faults]) => `  ${key}: ${[...faults].join(', ')}`),
    '',
  ];
}
