// The stations of the test folder, coupled: see src/verify/coupled.ts.
import { readFileSync } from 'node:fs';
import { loadStation } from '../../src/station/load.ts';
import type { Plant } from '../../src/station/plant.ts';

export { type Coupled, couple, type Happened } from '../../src/verify/coupled.ts';

export function plantAt(file: string): Plant {
  const loaded = loadStation(file, readFileSync(file, 'utf8'));
  if (!loaded.ok) throw new Error(`${file}: ${JSON.stringify(loaded.errors, null, 1)}`);
  return loaded.plant;
}
