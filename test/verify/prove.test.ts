// The exhaustive exploration, in bounded parts: it ends, it holds where hardware and software hold, it finds by itself what
// no software can hold, and it can fail.
import { describe, expect, test } from 'vitest';
import { leaveOut, type Unplaced } from '../../src/control/interlocks.ts';
import { gapsOf } from '../../src/station/gaps.ts';
import { loadStation } from '../../src/station/load.ts';
import type { Plant } from '../../src/station/plant.ts';
import { defectsOf, nameOf } from '../../src/verify/prove/defects.ts';
import { type Ground, groundOf, type Run, runOf } from '../../src/verify/prove/explore.ts';
import { failedBy } from '../../src/verify/prove/failed.ts';
import { latentOf, neighboursOf } from '../../src/verify/prove/pairs.ts';
import { isOpen, type Proof, proofOf } from '../../src/verify/prove/proof.ts';
import { proofText } from '../../src/verify/prove/report.ts';
import { traceOf } from '../../src/verify/prove/trace.ts';
import { plantAt } from '../tools/coupled.ts';

const example = (id: string): Plant => plantAt(`schemas/examples/${id}.json`);
const kindOf = ({ id, key }: Unplaced): string => [id, ...key.split('/').slice(2)].join('/');

const provenOf = (plant: Plant, only: string): Promise<Proof> => proofOf(plant, { only, workers: 1 });

function faultOf(ground: Ground, name: string) {
  const found = defectsOf(ground.model).find((defect) => nameOf(defect) === name);
  if (found === undefined) throw new Error(`the station has no fault ${name}`);
  return found;
}

/** One station file with something taken out of it. */
function stationWithout(id: string, change: (file: Record<string, never>) => void): Plant {
  const file = JSON.parse(JSON.stringify(raw(id)));
  change(file);
  const loaded = loadStation(id, JSON.stringify(file));
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.errors));
  return loaded.plant;
}
