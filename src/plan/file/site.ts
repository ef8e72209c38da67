// The site file, declared: what its owner may write, and what the plan reads from it. `schemas/site.schema.json` is printed
// from this.
import { CONCENTRATION, PRODUCTION } from '../../engineering/exchange.ts';
import type { Range } from '../../engineering/range.ts';
import { LEAST_RESERVE_SHARE } from '../../engineering/reserve.ts';
import { derived, group, optional, otherwise } from '../../station/file/absent.ts';
import {
  list,
  literal,
  named,
  namedQuantity,
  object,
  oneWordOf,
  printed,
  quantity,
  type Read,
  readFile,
  text,
  truth,
  type Written,
} from '../../station/file/declare.ts';
import { Duration, editorsSchema, Id, Ratio, Volume } from '../../station/file/parts.ts';
import type { Mistake } from '../../station/problem.ts';
import { told } from '../../station/quantities.ts';
import type { Partly } from '../../station/sketch.ts';
import { SYSTEMS } from '../../units/systems.ts';
import { CHANGE, Concentration, DAY_MS, HOUR_MS, Name, Price, SOME_TIME, SYSTEM, TIME } from './parts.ts';
import { Inlet, Purifier, Room, System } from './place.ts';
import { Drain, Heater, Line, Mixing, Salt, SupplyLine, Vats } from './station-to-be.ts';

const Prepared = named(
  'Prepared',
  object(
    {
      for: optional(Name('The client.')),
      by: optional(Name('The installer.')),
      on: optional(
        text({
          pattern: '^[0-9]{4}-[0-9]{2}-[0-9]{2}$',
          description: 'The date, for example "2026-03-02". The report never asks the clock.',
        }),
      ),
    },
    'What stands on the first page of the report.',
  ),
);

const Schedule = named(
  'Schedule',
  object({
    exchange: object({
      share: Ratio("Of the system's volume, in each change.", CHANGE),
      every: Duration('For example "1 d" (then spread over the day) or "7 d".', { ...TIME, least: HOUR_MS }),
    }),
    largeChange: derived(
      Ratio('One large change that must be possible on a bad day.', CHANGE),
      'the reserve',
      ({ reserve }: { reserve: number }) => reserve,
    ),
    reserve: otherwise(
      Ratio('Water on hand, fresh and mixed, as a share of the system.', CHANGE),
      told(LEAST_RESERVE_SHARE, 'ratio'),
      { remark: ' (common practice, no source)' },
    ),
  }),
);

const DISSOLVED: Range = { ...CONCENTRATION, most: 1e5 };
const Production = namedQuantity('Production', 'production', 'For example "0.4 mg/(L d)".');

const Solute = named(
  'Solute',
  object({
    name: Name(),
    present: Concentration(undefined, DISSOLVED),
    target: Concentration('At most this.', DISSOLVED),
    production: Production(
      'What the system adds to its own water, for example "0.4 mg/(L d)". Measure it: the rise over some days without a change.',
      { ...PRODUCTION, most: 1e4 },
    ),
    incoming: otherwise(Concentration('In the new water.', DISSOLVED), '0 mg/L'),
  }),
);

const Owner = named(
  'Owner',
  object({
    absence: otherwise(Duration('The longest time for which nobody comes.', TIME), '7 d'),
    saltDelay: derived(
      object(
        {
          usual: Duration('Mean time from the request for salt until it is in the vat.', SOME_TIME),
          longest: Duration(undefined, SOME_TIME),
        },
        'For the simulated year.',
      ),
      '4 h, at most 2 d',
      () => ({ usual: 4 * HOUR_MS, longest: 2 * DAY_MS }),
    ),
  }),
);

const Tariffs = named(
  'Tariffs',
  object({
    currency: text({ pattern: '^[A-Z]{3}$', description: 'Three letters, ISO 4217.' }),
    water: optional(
      object(
        { price: Price(), per: Volume(undefined, { ...SYSTEM, least: 0.001 }) },
        'Drinking water and what is charged for its way to the sewer.',
      ),
    ),
    electricity: optional(
      object({
        price: Price(),
        per: quantity('energy', 'For example "1 kWh".', { least: 0.001, most: 1e6, unit: 'kWh' }),
      }),
    ),
  }),
);

const SITE = object(
  {
    $schema: editorsSchema,
    format: literal(1, 'Version of this file format.'),
    id: Id(),
    name: Name('Name of the place.'),
    prepared: group(Prepared()),
    units: otherwise(
      oneWordOf(SYSTEMS, 'Of the report. The quantities of this file may be in any unit all the same.'),
      'metric',
    ),
    system: System(),
    room: Room(),
    inlet: Inlet(),
    purifier: Purifier(),
    salt: Salt(),
    mixing: group(Mixing()),
    transfer: Line(
      'From the fresh vat to the mixing vat. Without an `outlet` its pipe ends over the rim of the mixing vat.',
    ),
    supply: SupplyLine('From the mixing vat to the system.'),
    drain: optional(Drain()),
    onePump: otherwise(
      truth('One pump for transfer, circulation and supply, with valves that choose the way.'),
      false,
    ),
    heater: optional(Heater()),
    schedule: Schedule(),
    vats: Vats(),
    solutes: optional(
      list(Solute(), {
        description: 'What the exchange is for: substances that the system makes.',
        maxItems: 24,
      }),
    ),
    owner: group(Owner()),
    tariffs: optional(Tariffs()),
  },
  'A place where a saltwater mixing station shall stand, before anything is bought: the system, the room, the inlet water over a year, and what the installer has in mind. Quantities carry their unit.',
);

export type SiteFile = Written<typeof SITE>;
export type LineFile = SiteFile['transfer'];
export type VatFile = Exclude<SiteFile['vats']['candidates'], string>[number];

/** The file with every quantity in its house unit, every default filled in, and null for what there is not. */
export type SiteValues = Read<typeof SITE>;

export const siteSchema = () => printed(SITE, { $id: 'urn:vatwarden:site:1', title: 'SiteFile' });

/** @param file one that the loader has accepted */
export const readSiteFile = (file: SiteFile): SiteValues => readFile(SITE, file).values;

/** Every quantity of the file that lies outside its range. */
export const outOfRange = (file: Partly<SiteFile>): readonly Mistake[] => SITE.outside(file as SiteFile, '');
