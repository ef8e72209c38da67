// Sentences for a person who looks at no page: in their language, with its decimals, and enumerations in words.
import type { Plant } from '../station/plant.ts';
import de from './de.json' with { type: 'json' };
import en from './en.json' with { type: 'json' };
import type { Say } from './english.ts';
import { namesOf } from './names.ts';
import { type Catalogue, type Language, print, type Units } from './print.ts';
import { HOUSE_UNITS } from './units.ts';

const CATALOGUES: Readonly<Record<Language, Catalogue>> = { en, de };
export const LANGUAGES: readonly Language[] = ['en', 'de'];

const inGerman = Object.fromEntries(
  Object.entries(HOUSE_UNITS).map(([measure, write]) => [
    measure,
    (value: number, digits: string) => write(value, digits).replace('.', ',').replace('degC', '°C'),
  ]),
) as Units;

export function sayTo(plant: Plant, language: Language): Say {
  const units = language === 'de' ? inGerman : HOUSE_UNITS;
  const reader = { language, catalogue: CATALOGUES[language], names: namesOf(plant, language), units };
  return (message) => print(message, reader);
}
