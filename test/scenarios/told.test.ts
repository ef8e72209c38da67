// What a person gets of each accident of the fault book: the text that a hub and a phone's notification carry, in both
// languages, one file an accident. They are checked in to be read; `-u` writes them anew.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import de from '../../src/language/de.json' with { type: 'json' };
import { englishOf } from '../../src/language/english.ts';
import type { Message } from '../../src/language/message.ts';
import { namesOf } from '../../src/language/names.ts';
import { print } from '../../src/language/print.ts';
import { alarmText, responseOf, sentenceOf } from '../../src/language/told.ts';
import { HOUSE_UNITS } from '../../src/language/units.ts';
import type { Plant } from '../../src/station/plant.ts';
import { play } from '../tools/scenario.ts';
import { FAULT_CATALOGUE } from './fault-catalogue.ts';

const germanOf = (plant: Plant) => (said: Message) =>
  print(said, { catalogue: de, names: namesOf(plant), units: HOUSE_UNITS });

/** Each alarm that came, once, as it came. */
function toldIn(name: string): readonly string[] {
  const [script = ''] = readFileSync(`test/scenarios/${name}.txt`, 'utf8').split(/^---\n/m);
  const { plant, log } = play(script);
  const told = new Map<string, string>();
  for (const { effect } of log) {
    if (effect.do !== 'alarm' || effect.state !== 'unacknowledged') continue;
    const lines = [englishOf(plant), germanOf(plant)].map((say) =>
      alarmText(sentenceOf(say, effect.words), responseOf(say, effect.response)),
    );
    const key = `${effect.alarm} (${effect.priority})`;
    if (!told.has(key)) told.set(key, [key, ...lines].join('\n'));
  }
  return told.size === 0 ? ['No alarm: the station deals with it by itself.'] : [...told.values()];
}

describe('what a hub and a phone are told', () => {
  test.each(FAULT_CATALOGUE)('of $id, $words', async ({ id, words, scenarios }) => {
    const parts = scenarios.flatMap((name) => [`== ${name}`, ...toldIn(name)]);
    await expect(`${id}: ${words}\n\n${parts.join('\n\n')}\n`).toMatchFileSnapshot(`told/${id}.txt`);
  });
});
