// What can go wrong in the coarse world, one row for each kind, spread over the station's devices: the catalogue of
// single faults. `once` rows happen in one tick and are over; the others last until somebody mends them, at any tick.
//
// A sensor or a feedback under `lies` may say anything that its kind allows, anew at every tick: that covers stuck, reversed
// and fluttering ones. Silence and nonsense are rows of their own, because the core treats them differently.
import { isContact } from '../../station/kinds.ts';
import type { Plant } from '../../station/plant.ts';
import type { DefectKind } from './defect-kinds.ts';
import type { Model } from './model.ts';
import { spokenBy } from './spoken.ts';

export interface Defect {
  readonly kind: DefectKind;
  /** What it is at: an id of the plant, a failure domain, a request. */
  readonly what: string;
  /** What it says, where it says always the same. */
  readonly word: string;
  /** Index of the device, vessel, route or sensor, where it has one. */
  readonly at: number;
  readonly once: boolean;
  /** In how many ways it may go at each tick; above 1 it chooses anew at every tick. */
  readonly ways: number;
  /** The way it always goes, where it has but one. */
  readonly way: number;
}

export const nameOf = ({ kind, what, word }: Defect): string =>
  `${kind}:${what}${word === '' ? '' : `=${word}`}`;

/** What a person or a hub may ask at a bad moment. */
export const UNTIMELY = [
  'hold',
  'restart',
  'stop',
  'abort',
  'reset',
  'start',
  'reset-trip',
  'exchange-now',
  'salt-added',
] as const;

/**
 * Only said all the time, and last in their lists: what was said before, a share of what is so, and an amount that the core
 * discards as impossible.
 */
const CONSTANT: readonly string[] = ['frozen', 'low', 'high', 'counting-twice'];

/** Lies anew at every tick, and the truth is always among what it may say. */
export const canBeTrue = ({ sensors }: Model, { kind, at, ways }: Defect): boolean => {
  const sensor = sensors[at];
  return ways > 1 && (kind === 'feedback-lies' || (sensor !== undefined && spokenBy(sensor).hasTruth));
};

type Given = Partial<Pick<Defect, 'once' | 'ways' | 'way' | 'word'>>;
const defect = (kind: DefectKind, what: string, at: number, given: Given = {}): Defect => ({
  kind,
  what,
  word: '',
  at,
  once: false,
  ways: 1,
  way: 0,
  ...given,
});
const ONCE: Given = { once: true };

/** Every single fault of the catalogue that this station can have. */
export function defectsOf(model: Model): readonly Defect[] {
  return [
    ...ofActuators(model),
    ...ofRoutes(model),
    ...ofVessels(model),
    ...ofSensors(model),
    ...ofService(model),
  ];
}

function ofActuators({ switches }: Model): readonly Defect[] {
  return switches.flatMap(({ id, actuator, hasFeedback }, at) => {
    if (actuator.kind === 'signal') return [];
    const feedback = hasFeedback
      ? [
          defect('feedback-says', id, at, { word: 'off', way: 0 }),
          defect('feedback-says', id, at, { word: 'on', way: 1 }),
          defect('feedback-lies', id, at, { ways: 2 }),
          defect('feedback-silent', id, at),
        ]
      : [];
    return [
      defect('stuck-on', id, at),
      defect('stuck-off', id, at),
      defect('deaf', id, at),
      defect('ignores-lease', id, at),
      defect('restarts-on', id, at, ONCE),
      defect('foreign-on', id, at, ONCE),
      defect('foreign-off', id, at, ONCE),
      ...feedback,
      ...(actuator.kind === 'pump' ? [defect('weak', id, at)] : []),
    ];
  });
}

function ofRoutes({ pipes }: Model): readonly Defect[] {
  return pipes.flatMap(({ id, listed, loop, pumps, siphons }, at) => {
    if (loop || !listed) return [];
    // What passes a shut valve from the purifier is that valve's 'stuck-on'.
    return [...(pumps.length > 0 && siphons ? [defect('siphon', id, at)] : []), defect('hose-off', id, at)];
  });
}

function ofVessels({ plant, vessels, mixing, cold, warm }: Model): readonly Defect[] {
  const inlets = Object.values(plant.vessels).filter(({ role }) => role === 'purified-water');
  return [
    ...inlets.flatMap(({ id, conductivity }) => [
      defect('no-pressure', id, 0),
      ...(conductivity === null ? [] : [defect('exhausted', id, 0)]),
    ]),
    ...vessels.flatMap(({ id }, at) => [
      defect('leaks', id, at),
      defect('drawn-by-hand', id, at),
      ...(plant.systemIds.includes(id)
        ? [defect('top-off-runs', id, at), defect('return-stopped', id, at)]
        : []),
    ]),
    ...(cold < warm ? [defect('cools', plant.mixingId, mixing, ONCE)] : []),
    defect('grows-old', plant.mixingId, mixing, { ...ONCE, word: 'salinity' }),
    defect('grows-old', plant.mixingId, mixing, { ...ONCE, word: 'batch' }),
  ];
}

function ofSensors({ sensors }: Model): readonly Defect[] {
  return sensors.flatMap((sensor, at) => {
    const { id, measures, availability } = sensor;
    const words = spokenBy({ measures }).lies;
    return [
      ...words.flatMap((word, way) => (word === 'true' ? [] : [defect('says', id, at, { word, way })])),
      defect('lies', id, at, { ways: words.filter((word) => !CONSTANT.includes(word)).length }),
      defect('silent', id, at),
      ...(availability.length === 0 ? [] : [defect('offline', id, at)]),
      ...(isContact(sensor) ? [defect('chatters', id, at)] : []),
      ...(measures === 'total' ? [defect('resets', id, at, ONCE)] : []),
    ];
  });
}

function ofService({ plant }: Model): readonly Defect[] {
  const { mixingId } = plant;
  const saltedByHand = !Object.values(plant.dosers).some(({ vessel }) => vessel === mixingId);
  return [
    ...(saltedByHand ? [defect('salt-twice', mixingId, 0), defect('salt-never', mixingId, 0)] : []),
    defect('measures-off', mixingId, 0, { word: 'target' }),
    defect('measures-off', mixingId, 0, { word: 'too-salt' }),
    defect('nobody-there', 'all', 0),
    defect('power-cut', 'all', 0),
    ...domainsOf(plant).map((domain) => defect('power-cut', domain, 0)),
    defect('silent', 'all', -1),
    defect('link-lost', 'broker', 0),
    defect('link-mute', 'broker', 0),
    defect('service-restarts', 'service', 0, ONCE),
    defect('service-away', 'service', 0, ONCE),
    defect('memory-lost', 'service', 0, ONCE),
    defect('file-changed', 'service', 0, ONCE),
    defect('tick-late', 'service', 0, ONCE),
    defect('journal-full', 'service', 0),
    ...UNTIMELY.map((ask) => defect('asks', ask, 0, ONCE)),
  ];
}

function domainsOf(plant: Plant): readonly string[] {
  const devices = [...Object.values(plant.actuators), ...Object.values(plant.sensors)];
  return [...new Set(devices.flatMap(({ failureDomain }) => failureDomain ?? []))];
}
