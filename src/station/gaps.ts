// What no software can hold: which things must fail, alone or together, so that water or heat does harm although every
// command was right, and the hardware that would close the gap. Worked out from the plumbing. `check` prints it, `prove`
// finds the same by trying and asks here what would help, and a campaign's nights are judged with it.
//
// A failing thing is written as two words, what is lost and at what: `stop inlet-valve` (it can't be stopped: welded,
// jammed, or it ignores its lease while the link is dead), `stray transfer-pump` (it ran unasked, and was then stopped),
// `truth fresh-high` (what it says is not so, or it says nothing), `hose drain`, `siphon transfer`, `water mixing` (it
// leaks, or is drawn off), `salt mixing`, `measure mixing` (a person errs), `cut-out heater` (it does not open).
import { floatAt, heaters, isBounded, routes, sensors, vessels } from './advice-parts.ts';
import type { Plant, Route, Vessel } from './plant.ts';

export type Harm = 'spilled' | 'dry' | 'on the floor' | 'heater bare' | 'too hot' | 'wrong water' | 'crossed';

export interface Gap {
  /** `G-02`. */
  readonly id: string;
  readonly harm: Harm;
  /** A vessel, pump, heater or route. */
  readonly about: string;
  /** All of these fail at once. */
  readonly when: readonly string[];
  readonly words: string;
  /** What closes the gap. */
  readonly fit: string;
}

interface GapRow {
  readonly id: string;
  readonly words: string;
  readonly fit: string;
  readonly of: (plant: Plant) => readonly Pick<Gap, 'harm' | 'about' | 'when'>[];
}

export const FIT = {
  contactor: 'A contactor before the relay, named as "upstream".',
  master:
    'A second valve in the line before it, spring-return and closed without power, named as "upstream"; and the overflow float hard-wired into its supply.',
  hardWiredFloat:
    'An overflow float hard-wired into the supply of whatever fills the vessel, and a low float in series with each pump: they work when relays weld and computers are off.',
  siphonBreak: 'A siphon break at the highest point of the line, or a valve that closes without power.',
  secondEvidence:
    'A second piece of evidence that fails for other reasons: an overflow float, a level sensor, or a meter in the line.',
  leakSwitch: 'A leak sensor in every tray, and a hard-wired leak switch in the supply of pumps and valves.',
  cutOut:
    'A thermal cut-out and a low float, hard-wired into the supply of the heater, tried now and then as their makers say.',
  thermalCutOut:
    'A thermal cut-out in the supply of the heater, a little above its limit, independent of the thermometer, named as "cutOut"; and tried now and then as its maker says.',
  instrument: 'A second instrument: compare the probe with it before a batch is used, and weigh the salt.',
  thermometer:
    'A second thermometer in the vat, or a thermostat of the system that is independent of this station.',
  endSwitch:
    'Feedback from where it matters: end switches at valves, the current through pumps; or a pump of its own for each way.',
} as const;

export function gapsOf(plant: Plant): readonly Gap[] {
  return GAPS.flatMap(({ id, words, fit, of }) => of(plant).map((gap) => ({ id, words, fit, ...gap })));
}

/** The gap that explains this harm by what failed, the one with the fewest failures first; undefined: none does. */
export function gapFor(
  plant: Plant,
  harm: Harm,
  about: string,
  failed: ReadonlySet<string>,
): Gap | undefined {
  return gapsOf(plant)
    .filter((gap) => gap.harm === harm && gap.about === about && gap.when.every((lost) => failed.has(lost)))
    .toSorted((one, other) => one.when.length - other.when.length)[0];
}

const stop = (id: string): string => `stop ${id}`;
const truth = (id: string): string => `truth ${id}`;
const moving = (plant: Plant): readonly Route[] => routes(plant).filter(({ loop }) => !loop);
const vesselOf = (plant: Plant, id: string): Vessel | undefined => plant.vessels[id];

/** Everything that must fail before water goes on by this route against orders. */
const cuttersOf = ({ through, upstream }: Route): readonly string[] => [...through, ...upstream].map(stop);

/** What water does that goes on by a route: over the brim, out from under a pump, wrongly into a system. */
function consequences(plant: Plant, route: Route): readonly Pick<Gap, 'harm' | 'about'>[] {
  const to = vesselOf(plant, route.to);
  const from = vesselOf(plant, route.from);
  const pumps = route.through.filter((id) => plant.actuators[id]?.kind === 'pump');
  return [
    ...(to && isBounded(to) ? [{ harm: 'spilled', about: route.to } as const] : []),
    ...(from && isBounded(from) ? pumps.map((about) => ({ harm: 'dry', about }) as const) : []),
    ...reached(plant, route).map((about) => ({ harm: 'wrong water', about }) as const),
  ];
}

/** What must run unasked so that other water comes into the mixing vat. */
const unasked = (plant: Plant): readonly (readonly string[])[] =>
  moving(plant)
    .filter(({ to }) => to === plant.mixingId)
    .map(({ through }) => through.map((id) => `stray ${id}`));

/** Systems that this water comes to: by itself, or out of the mixing vat that it spoils. */
function reached(plant: Plant, route: Route): readonly string[] {
  if (plant.systemIds.includes(route.to)) return [route.to];
  if (route.to !== plant.mixingId) return [];
  return moving(plant).flatMap(({ from, to }) =>
    from === plant.mixingId && plant.systemIds.includes(to) ? [to] : [],
  );
}

/** Everything that can say how much is in a vessel, besides arithmetic. */
function evidenceOf(
  plant: Plant,
  vessel: Vessel,
  floats: readonly ('low' | 'high' | 'overflow')[],
): string[] {
  const positions = floats.flatMap((position) => floatAt(plant, vessel.floats[position])?.id ?? []);
  return [...positions, ...(vessel.level === null ? [] : [vessel.level])].map(truth);
}

const leakSensors = (plant: Plant): string[] =>
  sensors(plant).flatMap(({ id, measures }) => (measures === 'leak' ? [truth(id)] : []));

const GAPS: readonly GapRow[] = [
  {
    id: 'G-01',
    words: 'A valve that jams open has nothing before it that could be shut.',
    fit: FIT.master,
    of: (plant) => unstoppable(plant, (route) => !route.pumped && route.upstream.length === 0),
  },
  {
    id: 'G-02',
    words: 'A pump whose relay welds has nothing before it that could be switched off.',
    fit: FIT.contactor,
    of: (plant) => unstoppable(plant, (route) => route.pumped && route.upstream.length === 0),
  },
  {
    id: 'G-03',
    words: 'Everything on the way sticks, what lies upstream included: no command stops the water.',
    fit: FIT.hardWiredFloat,
    of: (plant) => unstoppable(plant, (route) => route.upstream.length > 0),
  },
  {
    id: 'G-04',
    words: 'Water siphons on though its pump rests: no valve is in its way.',
    fit: FIT.siphonBreak,
    of: (plant) =>
      moving(plant)
        .filter(({ pumped }) => pumped)
        .flatMap((route) => [
          ...consequences(plant, route).map((gap) => ({ ...gap, when: [`siphon ${route.id}`] })),
          {
            harm: 'on the floor',
            about: route.id,
            when: [`siphon ${route.id}`, `hose ${route.id}`],
          } as const,
        ]),
  },
  {
    id: 'G-05',
    words: 'Everything that could say that it is full lies.',
    fit: FIT.secondEvidence,
    of: (plant) =>
      vessels(plant)
        .filter((vessel) => isBounded(vessel) && vessel.into.length > 0)
        .map((vessel) => ({
          harm: 'spilled',
          about: vessel.id,
          when: evidenceOf(plant, vessel, ['high', 'overflow']),
        })),
  },
  {
    id: 'G-06',
    words: 'Everything that could say that it is empty lies.',
    fit: FIT.secondEvidence,
    of: (plant) =>
      routes(plant).flatMap((route) => {
        const from = vesselOf(plant, route.from);
        if (from === undefined || !isBounded(from)) return [];
        const when = [
          ...evidenceOf(plant, from, ['low']),
          ...(route.meter === null ? [] : [truth(route.meter)]),
        ];
        const pumps = route.through.filter((id) => plant.actuators[id]?.kind === 'pump');
        return pumps.map((about) => ({ harm: 'dry', about, when }) as const);
      }),
  },
  {
    id: 'G-07',
    words: 'A hose comes off and nothing in the tray says so.',
    fit: FIT.leakSwitch,
    of: (plant) =>
      moving(plant).map(({ id }) => ({
        harm: 'on the floor',
        about: id,
        when: [`hose ${id}`, ...leakSensors(plant)],
      })),
  },
  {
    id: 'G-08',
    words: 'The heater can not be switched off, and the water leaves it.',
    fit: FIT.cutOut,
    of: (plant) =>
      heaters(plant).flatMap(({ id, vessel, actuator, cutOutC }) => {
        const way = chainOf(plant, actuator).map(stop);
        return [
          { harm: 'heater bare', about: id, when: [...way, `water ${vessel}`] } as const,
          { harm: 'too hot', about: vessel, when: [...way, ...cutOutOf(id, cutOutC)] } as const,
        ];
      }),
  },
  {
    id: 'G-09',
    words:
      'What says how salt the water is and what went into it are both wrong: nothing contradicts anything.',
    fit: FIT.instrument,
    of: (plant) => {
      const probe = vesselOf(plant, plant.mixingId)?.conductivity ?? null;
      const measured = probe === null ? [`measure ${plant.mixingId}`] : [truth(probe)];
      return plant.systemIds.flatMap((about) => [
        {
          harm: 'wrong water',
          about,
          when: [...measured, `salt ${plant.mixingId}`],
        },
        ...(probe === null
          ? []
          : [
              { harm: 'wrong water', about, when: [...measured, `measure ${plant.mixingId}`] } as const,
              ...unasked(plant).map(
                (when) => ({ harm: 'wrong water', about, when: [...measured, ...when] }) as const,
              ),
            ]),
      ]);
    },
  },
  {
    id: 'G-10',
    words: 'The one thermometer of the vat lies: nothing else knows how warm the water is.',
    fit: FIT.thermometer,
    of: (plant) => {
      const thermometer = vesselOf(plant, plant.mixingId)?.temperature ?? null;
      if (thermometer === null || plant.process.temperature === null) return [];
      return plant.systemIds.map((about) => ({ harm: 'wrong water', about, when: [truth(thermometer)] }));
    },
  },
  {
    id: 'G-11',
    words:
      'A pump or valve stands open and its feedback denies it, or is silent: the software takes it for off.',
    fit: FIT.endSwitch,
    of: (plant) =>
      moving(plant).flatMap((route) => {
        const when = route.through.flatMap((id) =>
          plant.actuators[id]?.feedback === null ? [stop(id)] : [stop(id), truth(id)],
        );
        return consequences(plant, route).map((gap) => ({ ...gap, when }));
      }),
  },
  {
    id: 'G-12',
    words:
      'The one thermometer of the vat lies, and now and then seems to follow the heater: heating never ends.',
    fit: FIT.thermalCutOut,
    of: (plant) =>
      heaters(plant).flatMap(({ id, vessel, cutOutC }) => {
        const thermometer = vesselOf(plant, vessel)?.temperature ?? null;
        if (thermometer === null) return [];
        const when = [truth(thermometer), ...cutOutOf(id, cutOutC)];
        return [{ harm: 'too hot', about: vessel, when } as const];
      }),
  },
];

/** What must fail besides, where a cut-out is fitted. */
const cutOutOf = (heater: string, cutOutC: number | null): readonly string[] =>
  cutOutC === null ? [] : [`cut-out ${heater}`];

/** Also what it takes besides: a hose that is off, or a vessel that loses the water round which a pump turns it. */
function unstoppable(
  plant: Plant,
  isMeant: (route: Route) => boolean,
): Pick<Gap, 'harm' | 'about' | 'when'>[] {
  return routes(plant)
    .filter(isMeant)
    .flatMap((route) => {
      const stuck = cuttersOf(route);
      const pumps = route.through.filter((id) => plant.actuators[id]?.kind === 'pump');
      if (route.loop) {
        const waysOut = moving(plant).filter(({ from }) => from === route.from);
        const gone = [[`water ${route.from}`], ...waysOut.map(cuttersOf)];
        return pumps.flatMap((about) =>
          gone.map((lost) => ({ harm: 'dry', about, when: [...new Set([...stuck, ...lost])] }) as const),
        );
      }
      return [
        ...consequences(plant, route).map((gap) => ({ ...gap, when: stuck })),
        { harm: 'on the floor', about: route.id, when: [...stuck, `hose ${route.id}`] } as const,
      ];
    });
}

/** An actuator and everything upstream of it. */
function chainOf(plant: Plant, actuator: string): string[] {
  const chain: string[] = [];
  for (
    let id: string | null = actuator;
    id !== null && !chain.includes(id);
    id = plant.actuators[id]?.upstream ?? null
  )
    chain.push(id);
  return chain;
}
