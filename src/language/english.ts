// English with the house units: what goes over wires, into logs and into reports.
import type { Plant } from '../station/plant.ts';
import en from './en.json' with { type: 'json' };
import type { Message } from './message.ts';
import { namesOf } from './names.ts';
import { print } from './print.ts';
import { HOUSE_UNITS } from './units.ts';

export type Say = (message: Message) => string;

export function englishOf(plant: Plant): Say {
  const reader = {
    language: 'en' as const,
    catalogue: en,
    names: namesOf(plant),
    units: HOUSE_UNITS,
    isCoded: true,
  };
  return (message) => print(message, reader);
}
