// A rest of a batch that is too cold to deliver and too little to warm must not stop the exchange: the next batch takes it in.
import { expect, test } from 'vitest';
import { step } from '../../src/control/step.ts';
import { baseline } from './baseline.ts';

const { plant, draft } = baseline('marram-point');

function coldRest(litres: number) {
  const state = draft();
  Object.assign(state.vessels.mixing as object, {
    leastL: litres - 3,
    mostL: litres + 3,
    settledLeastL: litres - 3,
    settledMostL: litres + 3,
    bookLeastL: null,
    bookMostL: null,
  });
  for (const sensor of Object.values(state.sensors)) Object.assign(sensor, { live: true, ageMs: 0 });
  Object.assign(state.sensors['mixing-high'] as object, { value: false, believed: false });
  Object.assign(state.sensors['mixing-temperature'] as object, { value: 14 });
  Object.assign(state.exchange.system as object, { procedure: 'running', cause: null, dueL: 10 });
  state.link.echoAgeMs = 0;
  return step(plant, state, { elapsedMs: 1_000, inputs: [{ type: 'echo' }], tick: true }).state.batch;
}

test('enough over the heater: the batch is warmed', () => {
  const covered = plant.heaters.heater?.coveredL ?? Number.NaN;
  expect(coldRest(covered + 40)).toMatchObject({ stage: 'heat', procedure: 'running' });
});

test('too little over the heater: the rest counts as used up, and the next batch may begin', () => {
  const covered = plant.heaters.heater?.coveredL ?? Number.NaN;
  expect(coldRest(covered - 10)).toMatchObject({ stage: 'idle', procedure: 'complete' });
});
