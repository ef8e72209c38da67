// The table of gaps, one row for each kind.
//
// A failing thing is written as two words, what is lost and at what: `stop inlet-valve` (it can't be stopped: welded,
// jammed, or it ignores its lease while the link is dead), `stray transfer-pump` (it ran unasked, and was then stopped),
// `truth fresh-high` (what it says is not so, or it says nothing), `hose drain`, `siphon transfer`, `flow supply` (it moves
// more or less than the file says), `water mixing` (it leaks, or is drawn off), `salt mixing`, `measure mixing` (a person
// errs), `cut-out heater` (it does not open).
import { floatAt, heaters, isBounded, routes, sensors, vessels } from './advice-parts.ts';
import { FIT } from './fits.ts';
import type { GapPlace } from './gaps.ts';
import type { Plant, Route, Vessel } from './plant.ts';

interface GapRow {
  readonly id: string;
  readonly words: string;
  readonly fit: string;
  readonly of: (plant: Plant) => readonly GapPlace[];
}

const stop = (id: string): string => `stop ${id}`;
const truth = (id: string): string => `truth ${id}`;
const moving = (plant: Plant): readonly Route[] => routes(plant).filter(({ loop }) => !loop);
const vesselOf = (plant: Plant, id: string): Vessel | undefined => plant.vessels[id];

/** Everything that must fail before water goes on by this route against orders. */
const cuttersOf = ({ through, upstream }: Route): readonly string[] => [...through, ...upstream].map(stop);

/** What water does that goes on by a route: over the brim, out from under a pump, wrongly into a system. */
function consequences(plant: Plant, route: Route, when: readonly string[]): readonly GapPlace[] {
  const to = vesselOf(plant, route.to);
  const from = vesselOf(plant, route.from);
  const runsOn = { when, by: route.id, ordered: false };
  return [
    ...(to && isBounded(to) ? [{ harm: 'spilled', about: route.to, ...runsOn } as const] : []),
    ...(from && isBounded(from)
      ? pumpsOf(plant, route).map((about) => ({ harm: 'dry', about, ...runsOn }) as const)
      : []),
    ...reached(plant, route).map((about) => ({ harm: 'wrong water', about, ...runsOn }) as const),
  ];
}

const pumpsOf = (plant: Plant, { through }: Route): readonly string[] =>
  through.filter((id) => plant.actuators[id]?.kind === 'pump');

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

/**
 * What must lie together before nobody knows how much is in a vessel. Where nothing looks into it all that is known is
 * reckoned from what flowed: then one wrong flow, or one meter that lies, is enough.
 */
function deceived(plant: Plant, vessel: Vessel, says: readonly string[]): readonly (readonly string[])[] {
  if (says.length > 0) return [says];
  return [...vessel.into, ...vessel.outOf].flatMap((id) => {
    const meter = plant.routes[id]?.meter ?? null;
    return [[meter === null ? `flow ${id}` : truth(meter)]];
  });
}

const leakSensors = (plant: Plant): string[] =>
  sensors(plant).flatMap(({ id, measures }) => (measures === 'leak' ? [truth(id)] : []));

export const GAP_ROWS: readonly GapRow[] = [
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
        .filter(({ pumped, siphons }) => pumped && siphons !== 'never')
        .flatMap((route) => {
          const siphons = `siphon ${route.id}`;
          const onTheFloor = { harm: 'on the floor', about: route.id, by: route.id, ordered: false } as const;
          return [
            // Its pump rests meanwhile, and a pump that rests does not run dry.
            ...consequences(plant, route, [siphons]).filter(({ harm }) => harm !== 'dry'),
            { ...onTheFloor, when: [siphons, `hose ${route.id}`] },
          ];
        }),
  },
  {
    id: 'G-05',
    words: 'Everything that could say that it is full lies.',
    fit: FIT.secondEvidence,
    of: (plant) =>
      vessels(plant)
        .filter((vessel) => isBounded(vessel) && vessel.into.length > 0)
        .flatMap((vessel) =>
          deceived(plant, vessel, evidenceOf(plant, vessel, ['high', 'overflow'])).map(
            (when) => ({ harm: 'spilled', about: vessel.id, when, by: null, ordered: true }) as const,
          ),
        ),
  },
  {
    id: 'G-06',
    words: 'Everything that could say that it is empty lies.',
    fit: FIT.secondEvidence,
    of: (plant) =>
      routes(plant).flatMap((route) => {
        const from = vesselOf(plant, route.from);
        if (from === undefined || !isBounded(from)) return [];
        const says = [
          ...evidenceOf(plant, from, ['low']),
          ...(route.meter === null ? [] : [truth(route.meter)]),
        ];
        return pumpsOf(plant, route).flatMap((about) =>
          deceived(plant, from, says).map(
            (when) => ({ harm: 'dry', about, when, by: route.id, ordered: true }) as const,
          ),
        );
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
        by: id,
        ordered: true,
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
          {
            harm: 'heater bare',
            about: id,
            when: [...way, `water ${vessel}`],
            by: id,
            ordered: false,
          } as const,
          {
            harm: 'too hot',
            about: vessel,
            when: [...way, ...cutOutOf(id, cutOutC)],
            by: id,
            ordered: false,
          } as const,
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
      const errors = [
        [...measured, `salt ${plant.mixingId}`],
        ...(probe === null
          ? []
          : [
              [...measured, `measure ${plant.mixingId}`],
              ...unasked(plant).map((when) => [...measured, ...when]),
            ]),
      ];
      return plant.systemIds.flatMap((about) =>
        errors.map((when) => ({ harm: 'wrong water', about, when, by: null, ordered: true }) as const),
      );
    },
  },
  {
    id: 'G-10',
    words: 'The one thermometer of the vat lies: nothing else knows how warm the water is.',
    fit: FIT.thermometer,
    of: (plant) => {
      const thermometer = vesselOf(plant, plant.mixingId)?.temperature ?? null;
      if (thermometer === null || plant.process.temperature === null) return [];
      return plant.systemIds.map((about) => ({
        harm: 'wrong water',
        about,
        when: [truth(thermometer)],
        by: null,
        ordered: true,
      }));
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
        return consequences(plant, route, when);
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
        return [{ harm: 'too hot', about: vessel, when, by: id, ordered: true } as const];
      }),
  },
];

/** What must fail besides, where a cut-out is fitted. */
const cutOutOf = (heater: string, cutOutC: number | null): readonly string[] =>
  cutOutC === null ? [] : [`cut-out ${heater}`];

/** Also what it takes besides: a hose that is off, or a vessel that loses the water round which a pump turns it. */
function unstoppable(plant: Plant, isMeant: (route: Route) => boolean): readonly GapPlace[] {
  return routes(plant)
    .filter(isMeant)
    .flatMap((route) => {
      const stuck = cuttersOf(route);
      const runsOn = { by: route.id, ordered: false } as const;
      if (!route.loop)
        return [
          ...consequences(plant, route, stuck),
          { harm: 'on the floor', about: route.id, when: [...stuck, `hose ${route.id}`], ...runsOn } as const,
        ];
      const waysOut = moving(plant).filter(({ from }) => from === route.from);
      const gone = [[`water ${route.from}`], ...waysOut.map(cuttersOf)];
      return pumpsOf(plant, route).flatMap((about) =>
        gone.map(
          (lost) => ({ harm: 'dry', about, when: [...new Set([...stuck, ...lost])], ...runsOn }) as const,
        ),
      );
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
