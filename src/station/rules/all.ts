// Everything that the schema can't see: parts that are each of the right shape and make no station together.

import { outOfRange } from '../file/station.ts';
import type { Mistake } from '../problem.ts';
import type { Sketch } from '../sketch.ts';
import {
  exercisesAreMade,
  idsNameOneThing,
  leasesCanBeHeld,
  proofIsThere,
  signalsAreSignals,
  switchesFit,
  upstreamMakesSense,
} from './actuators.ts';
import { announcementsReachTheirHub } from './announce.ts';
import { leasesFit, marksRise } from './marks.ts';
import {
  batchIsPossible,
  cutOutIsAboveLimit,
  exchangesArePossible,
  numbersAreAboveZero,
  quietHoursHaveAnEnd,
  refillHasARoute,
  saltIsPossible,
  temperaturesRise,
} from './process.ts';
import { danglingReferences } from './references.ts';
import { actuatorsFitTheRoute, endsMakeSense, flowsRise } from './routes.ts';
import {
  levelsCanBeRead,
  numbersCanBeRead,
  oneOfAKind,
  probesHaveWhatTheyNeed,
  readingsOutliveTheirInterval,
  sensorsFitTheVessel,
} from './sensors.ts';
import { stopsStopTheRightWay } from './stops.ts';
import {
  contentsFitTheVessel,
  mixingVatIsServed,
  oneMixingVat,
  statedForNothing,
  statedWhereNeeded,
} from './vessels.ts';
import {
  bitsAreOneOrZero,
  commandsAreAlone,
  partsAreWhole,
  payloadsMakeSense,
  placesAreReadOnce,
  questionsCommandNothing,
  topicsAreForeign,
  wordsDiffer,
} from './wire.ts';

/** What one kind of slip looks like. Reads the sketch, and says nothing about what it can't see. */
export type Rule = (sketch: Sketch) => Iterable<Mistake>;

export const RULES: readonly Rule[] = [
  danglingReferences,
  oneMixingVat,
  mixingVatIsServed,
  statedWhereNeeded,
  statedForNothing,
  contentsFitTheVessel,
  marksRise,
  leasesFit,
  flowsRise,
  endsMakeSense,
  actuatorsFitTheRoute,
  sensorsFitTheVessel,
  oneOfAKind,
  levelsCanBeRead,
  probesHaveWhatTheyNeed,
  numbersCanBeRead,
  readingsOutliveTheirInterval,
  leasesCanBeHeld,
  upstreamMakesSense,
  switchesFit,
  signalsAreSignals,
  exercisesAreMade,
  idsNameOneThing,
  proofIsThere,
  placesAreReadOnce,
  commandsAreAlone,
  partsAreWhole,
  stopsStopTheRightWay,
  questionsCommandNothing,
  topicsAreForeign,
  wordsDiffer,
  bitsAreOneOrZero,
  payloadsMakeSense,
  announcementsReachTheirHub,
  refillHasARoute,
  saltIsPossible,
  temperaturesRise,
  cutOutIsAboveLimit,
  batchIsPossible,
  exchangesArePossible,
  quietHoursHaveAnEnd,
  numbersAreAboveZero,
  ({ file }) => outOfRange(file),
];

export function mistakesAgainstSense(sketch: Sketch): Mistake[] {
  return RULES.flatMap((rule) => [...rule(sketch)]);
}
