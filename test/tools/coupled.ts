// The stations of the test folder, coupled: see src/verify/coupled.ts.
import { readFileSync } from 'node:fs';
import { loadStation } from '../../src/station/load.ts';
import type { Plant } from '../../src/station/plant.ts';

export { type Coupled, couple, type Happened } from '../../src/verify/coupled.ts';

/** @param otherwise what the file says instead, or besides, by JSON Pointer; the places above it are there already */
export function plantAt(file: string, otherwise: Readonly<Record<string, unknown>> = {}): Plant {
  const loaded = loadStation(file, textWith(readFileSync(file, 'utf8'), otherwise));
  if (!loaded.ok) throw new Error(`${file}: ${JSON.stringify(loaded.errors, null, 1)}`);
  return loaded.plant;
}

function textWith(text: string, otherwise: Readonly<Record<string, unknown>>): string {
  const places = Object.entries(otherwise);
  if (places.length === 0) return text;
  const station: unknown = JSON.parse(text);
  for (const [pointer, value] of places) {
    const [last = '', ...above] = pointer.split('/').slice(1).reverse();
    const place = above.reduceRight((part, key) => (part as Record<string, unknown>)[key], station);
    (place as Record<string, unknown>)[last] = value;
  }
  return JSON.stringify(station, null, 2);
}
