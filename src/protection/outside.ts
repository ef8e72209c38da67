// What software does not hold, said every time: by `check` in short, by the protection report in full.
import type { Plant } from '../station/plant.ts';

const hasHeater = (plant: Plant): boolean => Object.keys(plant.heaters).length > 0;
const isOnTheMains = (plant: Plant): boolean =>
  Object.values(plant.vessels).some(({ role }) => role === 'purified-water');

/** These parts must work with the computer off. */
export function hardWired(plant: Plant): readonly string[] {
  return [
    'an overflow float in the supply of whatever fills a vessel, and valves that close without power;',
    'a low float in series with each pump that must not run dry;',
    ...(hasHeater(plant) ? ['a thermal cut-out on the heater, and its own low float;'] : []),
    'residual-current protection and drip loops for everything electrical: mains near salt water can kill;',
    'trays with a drain below every vessel and hose.',
  ];
}

/** Beside the hard-wired parts. */
export function besides(plant: Plant): readonly string[] {
  return [
    ...(isOnTheMains(plant)
      ? ['A purifier on drinking water needs the backflow protection of your local code.']
      : []),
    'Local codes and licensed practice come first. This report claims no conformity and no safety level.',
  ];
}

/** Whom and what to ask about the hard-wired layer, at greater length than a terminal likes. */
export function askedFor(plant: Plant): readonly (readonly [string, string])[] {
  return [
    [
      'Independent overflow float',
      'Its contact in the supply of whatever fills the vessel, so that it closes the water with the computer off; it shares no board, no supply and no cable with the other floats.',
    ],
    [
      'Residual-current protection',
      'For every circuit near the station, tested with its own button as its maker says; drip loops; enclosures above and away from water. Have it done by a licensed electrician.',
    ],
    ...(hasHeater(plant)
      ? [
          [
            'Thermal cut-out and low float of the heater',
            'In its supply, each opening it without any software; the cut-out a little above the limit in the station file, and reset by hand.',
          ] as const,
        ]
      : []),
    ['Low float in series with each pump', 'Where a pump would be ruined by running dry.'],
    [
      'Siphon break',
      'At the highest point of each pumped line whose end can lie below the water it comes from, or a valve there that closes without power.',
    ],
    [
      'Leak switch in the tray',
      'In the supply of pumps and valves; trays with a drain below every vessel and hose.',
    ],
    ...(isOnTheMains(plant)
      ? [
          [
            'Backflow protection',
            'At the connection to drinking water, of the kind that the local code demands; a tap that a person can reach and close.',
          ] as const,
        ]
      : []),
  ];
}

/** What the report is not about; nothing in the station file speaks of it. */
export const NOT_CLAIMED: readonly string[] = [
  'No safety level (SIL, PL or any other) and no conformity with any standard: nothing here was certified by anybody, and failure rates were neither measured nor assumed.',
  'Not that the list of failures is complete. It holds what the table of gaps knows; the commands prove and trial look for more, against a model of the water.',
  'Not that the hardware named as closing a gap is fitted, works, or is wired as meant: the station file can not show it. Somebody has to look, and to try it.',
  'Not that a combination listed here always does harm: interlocks may still notice it. The list errs on that side.',
  'Nothing about what is no part of the station file: the floor under the weight, the vats themselves, the wiring, the drinking water, fire, and whoever resets a trip without having looked.',
];
