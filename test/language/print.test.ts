// The one printer: names of the station, quantities in the reader's units, enumerations, lists, messages within messages.
import { expect, test } from 'vitest';
import de from '../../src/language/de.json' with { type: 'json' };
import { englishOf } from '../../src/language/english.ts';
import { type Message, message, sameMessage } from '../../src/language/message.ts';
import { namesOf } from '../../src/language/names.ts';
import { print } from '../../src/language/print.ts';
import { told } from '../../src/language/told.ts';
import { HOUSE_UNITS } from '../../src/language/units.ts';
import { plantAt } from '../tools/coupled.ts';

const plant = plantAt('schemas/examples/marram-point.json');
const say = englishOf(plant);

test('A thing is called by its name, and by its id where the station file does not have it', () => {
  expect(say(message('vessel-full', { vessel: 'fresh' }))).toBe(
    `the ${plant.vessels.fresh?.name} is full: its high float is wet`,
  );
  expect(say(message('vessel-full', { vessel: 'gone' }))).toContain('the gone is full');
});

test.each([
  [message('draining-to-go', { volumeL: 3.25 }), 'draining: 3.3 L left'],
  [message('bypass-lasts', { durationMs: 3_600_000 }), 'a bypass lasts from 1 to 60 min'],
  [message('asked-for-salt', { massKg: 0.25 }), 'asked for 250 g of salt'],
  [message('asked-for-salt', { massKg: 1.5 }), 'asked for 1.50 kg of salt'],
  [
    message('reserve-short', { share: 0.1, leastShare: 0.25 }),
    'water in reserve is 10 % of the system, less than 25 %',
  ],
])('Quantities have the digits that the sentence wants: %#', (said, english) => {
  expect(say(said)).toBe(english);
});

test('A list stands with what goes between its parts, and a message may hold messages', () => {
  const each = ['refill', 'batch'].map((unit) => message('unit-is', { unit, procedure: 'held' }));
  expect(say(message('units-are', { each }))).toBe('refill is held, batch is held');
});

const inGerman = (said: Message): string =>
  print(said, { language: 'de', catalogue: de, names: namesOf(plant, 'de'), units: HOUSE_UNITS });

test('Enumerations have sentences for people, and stay as programs know them on wires and in logs', () => {
  const phase = message('batch-phase', { procedure: 'running', stage: 'mix/assess' });
  expect(say(phase)).toBe('batch running, mix/assess');
  expect(inGerman(phase)).toBe('Ansatz: läuft, misst, was im Behälter ist');
});

test('What a person wrote stays as it is written', () => {
  const bypassed = message('row-bypassed-by', { row: 'I-13/tray', who: 'Ada', reason: 'held by hand' });
  expect(say(bypassed)).toBe(
    'I-13/tray is bypassed by Ada: held by hand. This interlock is OFF; all others stay on',
  );
});

test('An id that the catalogue does not have is told as it is', () => {
  expect(say({ id: 'of-tomorrow', values: {} } as unknown as Message)).toBe('of-tomorrow');
});

test('Two messages are the same by what they mean', () => {
  const one = message('draining-to-go', { volumeL: 3 });
  expect(sameMessage(one, message('draining-to-go', { volumeL: 3 }))).toBe(true);
  expect(sameMessage(one, message('draining-to-go', { volumeL: 4 }))).toBe(false);
  expect(sameMessage(one, message('delivering-to-go', { volumeL: 3 }))).toBe(false);
});

test('What is told has its sentence, and what it means beside it', () => {
  const task = {
    task: 'look',
    words: message('task-look', { vessel: 'system', volumeL: 400 }),
    massKg: null,
  };
  const { message: sentence, massKg } = told(say, task);
  expect(sentence.text).toContain('with 400 L in it');
  expect(sentence).toMatchObject(task.words);
  expect(massKg).toBeNull();
});

test('Nothing is missing of what does not compile', () => {
  // @ts-expect-error an unknown id
  message('no-such-sentence');
  // @ts-expect-error a place that is missing
  message('vessel-full', {});
  // @ts-expect-error a place that the sentence does not have
  message('vessel-full', { vessel: 'fresh', route: 'refill' });
  // @ts-expect-error a quantity is a number
  message('draining-to-go', { volumeL: '3 L' });
});
