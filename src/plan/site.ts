// A site as the plan sees it: the file with every quantity a number in the house unit and every default filled in.
// `siteOf` in `site-of.ts` makes one from a SiteFile (`file/site.ts`).
import type { Pipe } from '../engineering/hydraulics.ts';
import type { Body, Door } from '../engineering/passage.ts';
import type { PumpCurve } from '../engineering/pump.ts';
import type { Shape } from '../station/plant.ts';
import type { System } from '../units/systems.ts';

export interface Vat {
  readonly name: string;
  /** Inside. */
  readonly shape: Shape;
  /** Outside. */
  readonly body: Body;
  readonly lying: boolean;
  readonly capacityL: number;
  readonly massKg: number;
  readonly price: number | null;
}

export interface Line {
  readonly model: string | null;
  /** Null: no pump; the water falls through a valve. */
  readonly curve: PumpCurve | null;
  readonly powerW: number | null;
  readonly pipes: readonly Pipe[];
  /** Above the floor of the vat room; null: over the rim of the mixing vat. */
  readonly outletM: number | null;
  /** Its end dips into the water that it fills. */
  readonly endsUnderWater: boolean;
  /** Of its opening in the vat, above the vat's bottom, and its inside diameter. */
  readonly inletMm: number;
  readonly intakeMm: number;
  /** Fitted already: a siphon break at its highest point, or a valve that is closed without power. */
  readonly siphonBreak: boolean;
  readonly closedAtRest: boolean;
}

/** What has to be said of a way to waste, where it is said. */
export interface WasteLine {
  readonly lpm: number | null;
  readonly outletM: number | null;
  readonly siphonBreak: boolean;
  readonly closedAtRest: boolean;
}

export interface SoluteAim {
  readonly name: string;
  readonly presentMgPerL: number;
  readonly targetMgPerL: number;
  readonly productionMgPerLPerDay: number;
  readonly incomingMgPerL: number;
}

export interface Site {
  readonly id: string;
  readonly name: string;
  /** In which the report is printed. */
  readonly units: System;
  readonly prepared: { readonly for: string | null; readonly by: string | null; readonly on: string | null };
  readonly system: {
    readonly name: string;
    readonly parts: readonly { readonly name: string; readonly volumeL: number }[];
    readonly volumeL: number;
    readonly spareL: number;
    readonly salinity: number;
    readonly temperatureC: number;
    readonly mayMoveK: number;
    readonly freshUsePerDayL: number;
    readonly returnPumpModel: string | null;
    /** Of its water where the supply ends and the drain begins, above the floor of the vat room; null: not stated. */
    readonly levelM: { readonly least: number; readonly most: number } | null;
  };
  readonly room: {
    readonly lengthMm: number;
    readonly widthMm: number;
    readonly heightMm: number;
    readonly temperatureC: number;
    readonly doors: readonly (Door & { readonly name: string })[];
    readonly storey: number;
    readonly allowedKpa: number | null;
    readonly floorDrain: boolean;
  };
  readonly inlet: {
    readonly temperaturesC: readonly number[];
    readonly pressureKpa: number;
    readonly dissolvedMgPerL: number;
  };
  readonly purifier: {
    readonly ratedLpm: number;
    readonly ratedKpa: number;
    readonly ratedMgPerL: number;
    readonly recovery: number;
    /** Undefined: the two constants of thin-film membranes. */
    readonly constantK: number | undefined;
    readonly lossPerYear: number;
    /** What the reject pipe does when less water passes the membrane. */
    readonly restrictor: 'fixed' | 'set by hand';
    readonly lifeDays: number;
  };
  readonly salt: {
    readonly name: string;
    readonly yield: number;
    readonly bagKg: number;
    readonly price: number | null;
  };
  readonly mixing: {
    readonly dissolveMinutes: number;
    readonly settleMinutes: number;
    /** Null: ten times the vat in an hour. */
    readonly circulationLpm: number | null;
    readonly circulationW: number;
  };
  readonly transfer: Line;
  readonly supply: Line & { readonly outletM: number };
  readonly drain: WasteLine;
  /** One pump for transfer, circulation and supply, with valves as a manifold. */
  readonly onePump: boolean;
  readonly heater: {
    readonly powerW: number;
    readonly lossWPerK: number;
    readonly withinHours: number;
  } | null;
  readonly schedule: {
    readonly share: number;
    readonly intervalDays: number;
    readonly largeShare: number;
    readonly reserveShare: number;
  };
  readonly vats: {
    /** Null: to be proposed. */
    readonly candidates: readonly Vat[] | null;
    readonly fresh: string | null;
    readonly mixing: string | null;
    readonly standMm: number;
    /** Of each, where the two stand at different heights. */
    readonly freshStandMm: number;
    readonly mixingStandMm: number;
    readonly headroomMm: number;
    readonly clearanceMm: number;
    readonly gapMm: number;
  };
  readonly solutes: readonly SoluteAim[];
  readonly owner: {
    readonly absenceDays: number;
    readonly saltDelayHours: { readonly usual: number; readonly longest: number };
  };
  readonly tariffs: {
    readonly currency: string;
    readonly water: { readonly price: number; readonly perL: number } | null;
    readonly electricity: { readonly price: number; readonly perKwh: number } | null;
  } | null;
}

/** Everything that its owner has named. */
export function namesIn({ name, system, room, salt, transfer, supply, vats, solutes }: Site): string[] {
  return [
    name,
    system.name,
    salt.name,
    ...[...system.parts, ...room.doors, ...(vats.candidates ?? []), ...solutes].map((part) => part.name),
    ...[system.returnPumpModel, transfer.model, supply.model].filter((model) => model !== null),
  ];
}
