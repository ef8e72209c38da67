// What the core says, in the words that people get: for tests that read it as a person would.

import type { Task } from '../../src/control/guard/types.ts';
import { describe, type ToldStatus } from '../../src/control/process/describe.ts';
import type { State } from '../../src/control/process/state.ts';
import { englishOf } from '../../src/language/english.ts';
import type { Message } from '../../src/language/message.ts';
import { type Told, told } from '../../src/language/told.ts';
import type { Plant } from '../../src/station/plant.ts';
import { plantAt } from './coupled.ts';

const marram = plantAt('schemas/examples/marram-point.json');

/** @param words nothing is said as nothing */
export const say = (words: Message | null | undefined, plant: Plant = marram): string =>
  words === null || words === undefined ? '' : englishOf(plant)(words);

/** The status as it goes over the wire. */
export const statusOf = (plant: Plant, state: State): ToldStatus =>
  told(englishOf(plant), describe(plant, state));

/** A task as a person gets it. */
export const taskOf = (plant: Plant, task: Task | null): Told<Task> | null => told(englishOf(plant), task);
