// What the files that an owner writes have in common: names, quantities, shapes.

import type { OwnText } from '../plant.ts';
import { optional } from './absent.ts';
import {
  type Bounds,
  type JsonSchema,
  named,
  namedQuantity,
  object,
  oneKindOf,
  oneWordOf,
  type Part,
  text,
} from './declare.ts';

export const Id = named(
  'Id',
  text({
    pattern: '^[a-z0-9]+(-[a-z0-9]+)*$',
    description: 'Lower-case letters and digits, hyphens between them.',
  }),
);

/** What an owner writes for people to read: for all readers the same, or for each language. */
export type WrittenText = string | { readonly en?: string; readonly de?: string };
/** A hint, where the name alone does not say what is meant. */
export const ownText = named<Part<WrittenText, OwnText>>('OwnText', {
  schema: {
    description:
      'A text, or one for each language: { "en": "Fresh vat", "de": "Reinwasserbehälter" }. A language that is left out reads the other.',
    type: ['string', 'object'],
    minLength: 1,
    minProperties: 1,
    additionalProperties: false,
    properties: { en: { type: 'string', minLength: 1 }, de: { type: 'string', minLength: 1 } },
  } satisfies JsonSchema,
  named: {},
  read: (written) => {
    if (typeof written === 'string') return written;
    const { en = written.de ?? '', de = en } = written;
    return en === de ? en : { en, de };
  },
  outside: () => [],
  say: (value) => (typeof value === 'string' ? value : value.en),
});
export const name = ownText();

/** How a person stops water or a device by hand. */
export const HandStop = named(
  'HandStop',
  object({
    action: oneWordOf(
      ['close', 'switch off', 'unplug'],
      'Unplug only what has a plug that is reached with dry feet.',
    ),
    what: ownText('For example "the ball valve".'),
    where: optional(ownText('For example "under the fresh vat".')),
  }),
);
export const editorsSchema = optional(text('Where an editor finds this schema.'));

export const Volume = namedQuantity('Volume', 'volume', 'For example "240 L" or "63 gal".');
export const Flow = namedQuantity('Flow', 'flow', 'For example "12 L/min" or "100 gal/d".');
export const Duration = namedQuantity(
  'Duration',
  'duration-with-unit',
  'For example "20 s", "45 min", "14 d".',
);
export const Temperature = namedQuantity('Temperature', 'temperature', 'For example "25 degC" or "77 degF".');
export const TemperatureDifference = namedQuantity(
  'TemperatureDifference',
  'temperature-difference',
  'For example "0.5 K".',
);
export const Salinity = namedQuantity('Salinity', 'salinity', 'Practical salinity, for example "35 PSU".');
export const Conductivity = namedQuantity('Conductivity', 'conductivity', 'For example "20 uS/cm".');
export const Ratio = namedQuantity('Ratio', 'ratio', 'For example "20 %" or "0.88 kg/kg".');
export const Mass = namedQuantity('Mass', 'mass', 'For example "8.6 kg".');
export const MassFlow = namedQuantity('MassFlow', 'mass-flow', 'For example "0.5 kg/min".');
export const Power = namedQuantity('Power', 'power', 'For example "600 W".');
export const Pressure = namedQuantity(
  'Pressure',
  'pressure',
  'Above atmosphere, for example "4.1 bar" or "60 psi".',
);
export const Length = namedQuantity('Length', 'length', 'For example "600 mm" or "2.3 m".');

export const Height = namedQuantity(
  'Height',
  'height',
  'Above one floor that serves for all heights of the file, for example "1.4 m"; below it with a minus.',
);

/** How seldom something may be tried or moved, ms. */
export const DAY_TO_YEAR: Bounds = { least: 86_400_000, most: 366 * 86_400_000, unit: 'ms' };

/** @param size of a length of it */
export const shape = (size = Length(), hint = 'Inside dimensions.') =>
  oneKindOf(
    'kind',
    {
      'upright-cylinder': { diameter: size, height: size },
      'lying-cylinder': { diameter: size, length: size },
      box: { length: size, width: size, height: size },
    },
    { description: hint },
  );
export const Shape = named('Shape', shape());
