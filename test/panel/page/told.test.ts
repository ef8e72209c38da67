// What a person gets of each accident of the fault book, in both languages: the text that a hub and a phone's notification carry,
// and the page on a phone, one file and two pictures an accident. They are checked in to be read; `-u` writes the texts anew, and
// UPDATE_SCREENS=1 the pictures.
import { describe, expect, test } from 'vitest';
import { englishOf } from '../../../src/language/english.ts';
import { sayTo } from '../../../src/language/for-people.ts';
import { alarmText, responseOf, sentenceOf } from '../../../src/language/told.ts';
import { FAULT_CATALOGUE } from '../../scenarios/fault-catalogue.ts';
import { type Accident, accidentOf, servedAccident } from '../../tools/accidents.ts';
import { drawn, hasBrowser, openPage, PHONE, sharedBrowser } from '../../tools/browser.ts';
import { inFewColours } from '../../tools/few-colours.ts';
import { unlike } from '../../tools/looks.ts';

const LONG = 120_000;
const SCENARIOS = [...new Set(FAULT_CATALOGUE.flatMap(({ scenarios }) => scenarios))];

function textsOf({ plant, told }: Accident): readonly string[] {
  const texts = told.map(({ alarm, priority, words, response }) =>
    [
      `${alarm} (${priority})`,
      ...[englishOf(plant), sayTo(plant, 'de')].map((say) =>
        alarmText(sentenceOf(say, words), responseOf(say, response)),
      ),
    ].join('\n'),
  );
  return texts.length === 0 ? ['No alarm: the station deals with it by itself.'] : texts;
}

describe('what a hub and a phone are told', () => {
  test.each(FAULT_CATALOGUE)('of $id, $words', async ({ id, words, scenarios }) => {
    const parts = scenarios.flatMap((name) => [`== ${name}`, ...textsOf(accidentOf(name))]);
    await expect(`${id}: ${words}\n\n${parts.join('\n\n')}\n`).toMatchFileSnapshot(
      `../../scenarios/told/${id}.txt`,
    );
  });

  test('stands on one page, with the pictures', async () => {
    const rows = FAULT_CATALOGUE.flatMap(({ id, words, scenarios }) => [
      `## ${id}: ${words}`,
      '',
      `[What a hub and a phone's notification get](${id}.txt)`,
      '',
      ...scenarios.map((name) =>
        accidentOf(name).called === null
          ? `\`${name}\`: nobody is called.\n`
          : `\`${name}\`\n\n<img src="${name}.en.png" width="390" alt="${name}, in English"> <img src="${name}.de.png" width="390" alt="${name}, in German">\n`,
      ),
    ]);
    const head = [
      '# What a person gets of each accident',
      '',
      'Made by `test/panel/page/told.test.ts`: each accident of the fault book, three minutes after the worst of its alarms came (or, where none comes, its task), on a phone of 390 x 844, in both languages.',
      '',
    ];
    await expect([...head, ...rows].join('\n')).toMatchFileSnapshot('../../scenarios/told/README.md');
  });
});

interface Box {
  readonly top: number;
  readonly bottom: number;
  readonly height: number;
}

interface Measured {
  readonly card: Box | null;
  readonly next: Box | null;
  readonly tick: Box | null;
  readonly pause: Box | null;
  /** Where the strip at the bottom begins. */
  readonly floor: number;
  readonly wide: boolean;
}

describe.runIf(hasBrowser)(
  'the card of an incident fits a phone, its next step and the pause in reach',
  () => {
    const browser = sharedBrowser();

    test.each(SCENARIOS)(
      '%s',
      async (name) => {
        const accident = accidentOf(name);
        if (accident.called === null) return;
        const panel = await servedAccident(accident);
        const wrong: string[] = [];
        for (const [language, locale] of [
          ['en', 'en-GB'],
          ['de', 'de-DE'],
        ] as const) {
          const stands = Object.values(accident.called.state.alarms).some(({ state }) =>
            state.includes('acknowledged'),
          );
          const phone = await openPage(browser, `${panel.url}/#${stands ? 'alarms' : 'now'}`, {
            ...PHONE,
            locale,
          });
          const { page } = phone;
          await drawn(page);
          await page.locator(`html[lang=${language}]`).waitFor();
          await page.waitForFunction(() => document.querySelector('.next-step, .alarm, .task, #do') !== null);
          const measured = await page.evaluate((): Measured => {
            const boxOf = (selector: string): Box | null => {
              const box = document.querySelector(selector)?.getBoundingClientRect();
              return box ? { top: box.top, bottom: box.bottom, height: box.height } : null;
            };
            const pause = boxOf('.pause-all .button');
            const strip = boxOf('.pause-all') ?? boxOf('.top nav');
            return {
              card: boxOf('.alarm'),
              next: boxOf('.alarm:first-child > .next-step'),
              tick: boxOf('.alarm:first-child > .next-step input[type=checkbox]'),
              pause,
              floor: strip?.top ?? 0,
              wide: document.documentElement.scrollWidth > innerWidth,
            };
          });
          const { card, next, tick, pause, floor, wide } = measured;
          const says = (broken: boolean, what: string) => {
            if (broken) wrong.push(`${language}: ${what} ${JSON.stringify(measured)}`);
          };
          says(wide, 'wider than the phone');
          if (stands) says(card === null || card.bottom > floor, 'the card goes below the fold');
          if (next !== null) says(next.bottom > floor, 'the next step goes below the fold');
          if (tick !== null)
            says(tick.height < 44 || tick.bottom > floor, 'its box is small, or below the fold');
          const { refill, batch, exchange } = accident.called.state;
          const goes = [refill, batch, ...Object.values(exchange)].some(
            ({ procedure }) => procedure === 'running',
          );
          if (goes)
            says(pause === null || pause.height < 44 || pause.bottom > 844, 'Pause all is out of reach');
          const odd = unlike(
            `test/scenarios/told/${name}.${language}.png`,
            inFewColours(await page.screenshot()),
          );
          if (odd !== null) wrong.push(odd);
          await phone.close();
        }
        await panel.close();
        expect(wrong).toEqual([]);
      },
      LONG,
    );
  },
);
