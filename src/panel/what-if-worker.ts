// One run of the next days, on a thread of its own: the control loop has the other.
import { parentPort, workerData } from 'node:worker_threads';
import type { State } from '../control/process/state.ts';
import type { Plant } from '../station/plant.ts';
import { sevenDays } from './seven-days.ts';

const { plant, state, startMinute } = workerData as { plant: Plant; state: State; startMinute: number };
parentPort?.postMessage({
  result: sevenDays(plant, state, startMinute, (share) => parentPort?.postMessage({ share })),
});
