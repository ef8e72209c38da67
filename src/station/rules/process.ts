// What the process aims at: whether it can be reached with this plumbing, and whether the numbers belong together.
import { member } from '../pointer.ts';
import { type Mistake, quoted } from '../problem.ts';
import { entries, type Sketch, value } from '../sketch.ts';
import { boundsOf, floatAt, knowsThePlumbing, litres, roleOf, routesFor, vesselsOf } from './plumbing.ts';

export function* refillHasARoute(sketch: Sketch): Iterable<Mistake> {
  if (!knowsThePlumbing(sketch)) return;
  const [route] = routesFor(sketch, 'refill');
  if (route !== undefined && sketch.file.process !== undefined && sketch.lacks('/process/refill')) {
    yield {
      pointer: '/process',
      found: `no "refill", while the route ${quoted(route.id)} fills the fresh vat`,
      accepted: '"refill" with "startBelow" and "stopAt"',
    };
  }
  if (route === undefined && sketch.file.process?.refill !== undefined) {
    const [fresh] = vesselsOf(sketch, 'fresh');
    yield {
      pointer: '/process/refill',
      found:
        fresh === undefined
          ? '"refill" without a fresh vat'
          : `"refill" without a route into ${quoted(fresh)}`,
      accepted: '"refill" only where a route leads from the purified-water inlet into the fresh vat',
    };
  }
}

/** The practical salinity scale of 1978 is defined from 2 to 42. */
const SALINITIES = [2, 42] as const;
/** A product can't hold more sea salts than its own mass; below a third it is no sea salt. */
const YIELDS = [0.3, 1] as const;

export function* saltIsPossible({ file }: Sketch): Iterable<Mistake> {
  const target = value(file.process?.salinity?.target, 'salinity');
  const tolerance = value(file.process?.salinity?.tolerance, 'salinity');
  const share = value(file.process?.salt?.yield, 'ratio');
  if (target !== undefined && (target < SALINITIES[0] || target > SALINITIES[1])) {
    yield {
      pointer: '/process/salinity/target',
      found: `a practical salinity of ${target}`,
      accepted: '2 to 42, where the practical salinity scale (PSS-78) is defined',
    };
  }
  if (target !== undefined && tolerance !== undefined && tolerance >= target && target > 0) {
    yield {
      pointer: '/process/salinity/tolerance',
      found: `a tolerance of ${tolerance}, which lets anything pass`,
      accepted: 'how far off a batch may be, for example "0.5 PSU"',
    };
  }
  if (share !== undefined && share > 0 && (share < YIELDS[0] || share > YIELDS[1])) {
    yield {
      pointer: '/process/salt/yield',
      found: `${quoted(file.process?.salt?.yield ?? '')}: ${share} kg of sea salts in 1 kg of product`,
      accepted: '0.3 to 1 kg/kg; the difference to 1 is mostly bound water',
    };
  }
}

export function* temperaturesRise(sketch: Sketch): Iterable<Mistake> {
  const { temperature } = sketch.file.process ?? {};
  const target = value(temperature?.target, 'temperature');
  const tolerance = value(temperature?.tolerance, 'temperature-difference');
  if (target === undefined || tolerance === undefined) return;
  const least = value(temperature?.least, 'temperature');
  const most = value(temperature?.most, 'temperature');
  if (least !== undefined && least > target - tolerance) {
    yield {
      pointer: '/process/temperature/least',
      found: `${quoted(temperature?.least ?? '')}, above the target less its tolerance`,
      accepted: 'a temperature below that: nothing would ever be warm enough',
    };
  }
  if (most !== undefined && most < target + tolerance) {
    yield {
      pointer: '/process/temperature/most',
      found: `${quoted(temperature?.most ?? '')}, below the target plus its tolerance`,
      accepted: 'a temperature above that: a batch at its target would be refused',
    };
  }
  for (const { entry, pointer } of entries(sketch, 'heaters')) {
    const limit = value(entry.limit, 'temperature');
    if (limit === undefined || limit > target + tolerance) continue;
    yield {
      pointer: `${pointer}/limit`,
      found: `${quoted(entry.limit ?? '')}, where the heater would trip before it reached its target`,
      accepted: `a limit above ${target + tolerance} degC`,
    };
  }
}

export function* cutOutIsAboveLimit(sketch: Sketch): Iterable<Mistake> {
  for (const { entry, pointer } of entries(sketch, 'heaters')) {
    const limit = value(entry.limit, 'temperature');
    const cutOut = value(entry.cutOut, 'temperature');
    if (limit === undefined || cutOut === undefined || cutOut > limit) continue;
    yield {
      pointer: `${pointer}/cutOut`,
      found: `${quoted(entry.cutOut ?? '')}, where the cut-out would open before the heater trips at ${limit} degC`,
      accepted: `a temperature above ${limit} degC: a person has to reset a cut-out at the station`,
    };
  }
}

export function* batchIsPossible(sketch: Sketch): Iterable<Mistake> {
  const { batch } = sketch.file.process ?? {};
  const contentsL = value(batch?.contents, 'volume');
  const leastL = value(batch?.least, 'volume');
  const [mixing] = vesselsOf(sketch, 'mixing');
  if (contentsL === undefined) return;
  if (leastL !== undefined && leastL > contentsL) {
    yield {
      pointer: '/process/batch/least',
      found: `${litres(leastL)}, more than the contents of a batch (${litres(contentsL)})`,
      accepted: 'no more than "contents"',
    };
  }
  for (const { entry, pointer } of entries(sketch, 'heaters')) {
    const coveredL = value(entry.covered, 'volume');
    if (coveredL === undefined || entry.in !== mixing || coveredL < contentsL) continue;
    yield {
      pointer: `${pointer}/covered`,
      found: `${litres(coveredL)}, which a batch of ${litres(contentsL)} never covers`,
      accepted: 'less than the contents of a batch: a heater must be under water',
    };
  }
}

export function* exchangesArePossible(sketch: Sketch): Iterable<Mistake> {
  for (const [system, exchange] of Object.entries(sketch.file.process?.exchange ?? {})) {
    const pointer = member('', 'process', 'exchange', system);
    const role = roleOf(sketch, system);
    if (role === undefined || exchange === undefined) continue;
    if (role !== 'system') {
      yield {
        pointer,
        found: `an exchange of ${quoted(system)}, whose role is ${quoted(role)}`,
        accepted: `a vessel with the role "system": ${vesselsOf(sketch, 'system').map(quoted).join(', ')}`,
      };
      continue;
    }
    yield* exchangeHasRoutes(sketch, system, pointer);
    yield* stepFits(sketch, system, pointer);
  }
}

function* exchangeHasRoutes(sketch: Sketch, system: string, pointer: string): Iterable<Mistake> {
  if (!knowsThePlumbing(sketch) || vesselsOf(sketch, 'mixing').length === 0) return;
  const supplied = routesFor(sketch, 'supply').some(({ entry }) => entry.to === system);
  const drained = routesFor(sketch, 'drain').some(({ entry }) => entry.from === system);
  if (supplied && drained) return;
  const missing = [
    ...(supplied ? [] : ['no route from the mixing vat into it']),
    ...(drained ? [] : ['no route from it to waste']),
  ];
  yield {
    pointer,
    found: `an exchange of ${quoted(system)}, but ${missing.join(' and ')}`,
    accepted: 'a supply and a drain route for every system that is exchanged',
  };
}

function* stepFits(sketch: Sketch, system: string, pointer: string): Iterable<Mistake> {
  const exchange = sketch.file.process?.exchange?.[system];
  const stepL = value(exchange?.step, 'volume');
  const largestL = value(exchange?.largest, 'volume');
  if (stepL === undefined) return;
  if (largestL !== undefined && largestL < stepL) {
    yield {
      pointer: `${pointer}/largest`,
      found: `${litres(largestL)}, less than one step (${litres(stepL)})`,
      accepted: 'at least one step',
    };
  }
  const volumeL = value(sketch.file.vessels?.[system]?.volume, 'volume');
  const low = floatAt(sketch, system, 'low');
  if (volumeL !== undefined && low !== undefined && low.markL < volumeL) {
    const roomL = volumeL - low.markL - low.toleranceL;
    if (stepL > roomL) {
      yield {
        pointer: `${pointer}/step`,
        found: `${litres(stepL)}, which drains ${quoted(system)} from ${litres(volumeL)} to its low float at ${litres(low.markL)}`,
        accepted: `a step of less than ${litres(Math.max(0, roomL))}, or a lower mark`,
      };
      return;
    }
  }
  const [mixing] = vesselsOf(sketch, 'mixing');
  const contentsL = value(sketch.file.process?.batch?.contents, 'volume');
  const { minimumL } = boundsOf(sketch, mixing ?? '');
  if (contentsL === undefined || minimumL === undefined || stepL <= contentsL - minimumL) return;
  yield {
    pointer: `${pointer}/step`,
    found: `${litres(stepL)}, more than a batch can give (${litres(contentsL - minimumL)})`,
    accepted: 'a step that one batch can refill: what is drained must be there to put back',
  };
}

export function* quietHoursHaveAnEnd({ file }: Sketch): Iterable<Mistake> {
  const { from, to } = file.process?.quietHours ?? {};
  if (from === undefined || from !== to) return;
  yield {
    pointer: '/process/quietHours/to',
    found: `${quoted(from)} for both ends`,
    accepted: 'another time of day than "from"',
  };
}

/** Where 0 is no number at all: nothing flows, nothing fits, nothing lasts. */
const ABOVE_ZERO: readonly RegExp[] = [
  /^\/vessels\/[^/]+\/(capacity|volume|shape\/(diameter|height|length|width))$/u,
  /^\/routes\/[^/]+\/flow\/(least|most|usual)$/u,
  /^\/heaters\/[^/]+\/(power|covered|lag)$/u,
  /^\/dosers\/[^/]+\/(rate|largest)$/u,
  /^\/sensors\/[^/]+\/(maxAge|republishes|validFor)$/u,
  /^\/actuators\/[^/]+\/(lease\/lasts|feedback\/(maxAge|republishes|within))$/u,
  /^\/process\/(salinity|temperature)\/tolerance$/u,
  /^\/process\/salinity\/target$/u,
  /^\/process\/salt\/yield$/u,
  /^\/process\/refill\/(stopAt|startBelow|longestRun)$/u,
  /^\/process\/batch\/(contents|least|dissolve|ageLimit|measurementServes|steady\/(within|over)|circulate\/(every|lasts))$/u,
  /^\/process\/exchange\/[^/]+\/(step|largest|errorBound)$/u,
  /^\/link\//u,
];

export function* numbersAreAboveZero(sketch: Sketch): Iterable<Mistake> {
  function* walk(part: unknown, pointer: string): Iterable<Mistake> {
    if (typeof part === 'object' && part !== null) {
      for (const [key, inner] of Object.entries(part)) yield* walk(inner, member(pointer, key));
    } else if (typeof part === 'string' && ABOVE_ZERO.some((pattern) => pattern.test(pointer))) {
      if (Number.parseFloat(part) !== 0) return;
      yield { pointer, found: quoted(part), accepted: 'more than nothing' };
    }
  }
  yield* walk(sketch.file, '');
}
