// What the files that an owner writes have in common: names, quantities, shapes.
import { optional } from './absent.ts';
import { type Bounds, named, namedQuantity, oneKindOf, text } from './declare.ts';

export const Id = named(
  'Id',
  text({
    pattern: '^[a-z0-9]+(-[a-z0-9]+)*$',
    description: 'Lower-case letters and digits, hyphens between them.',
  }),
);
export const name = text({ minLength: 1 });
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
