// The hand-over page: valid, fetches nothing, fits a telephone, says what nobody has shown, and lets no user text become a tag.
import { readFileSync } from 'node:fs';
import { HtmlValidate } from 'html-validate';
import { describe, expect, it } from 'vitest';
import { itemsOf } from '../../src/commission/items.ts';
import { handOverPage } from '../../src/commission/page.ts';
import { emptyRecord, standingsOf, waiverOf, withEntry } from '../../src/commission/record.ts';
import { message } from '../../src/language/message.ts';
import { loadStation } from '../../src/station/load.ts';
import { hasBrowser, PHONE, sharedBrowser } from '../tools/browser.ts';

const NOW = Date.UTC(2026, 10, 30);
const loaded = loadStation('station.json', readFileSync('test/stations/bench-rig.json', 'utf8'));
if (!loaded.ok) throw new Error('the rig has a mistake');
const { plant, station } = loaded;
const items = itemsOf(plant, station);
const digestOf = (key: string) => items.find((item) => item.key === key)?.digest ?? '';
const entry = {
  who: 'Kim <b>',
  wallMs: NOW,
  stated: { ready: '', filled: '1.34' },
  measured: {},
  change: [],
};
const record = [
  {
    ...entry,
    item: 'identity/fill',
    digest: digestOf('identity/fill'),
    verdict: 'passed' as const,
    words: message('commission-identified', { device: 'fill' }),
  },
  {
    ...entry,
    item: 'lease/fill',
    digest: 'of another day',
    verdict: 'passed' as const,
    words: message('commission-identified', { device: 'fill' }),
  },
  {
    ...entry,
    item: 'power/fill',
    digest: digestOf('power/fill'),
    verdict: 'failed' as const,
    words: message('commission-power-restores-on', { device: 'fill' }),
  },
  waiverOf('Ada', 'until "Monday" & <i>', NOW, 86_400_000),
].reduce(withEntry, emptyRecord('bench-rig'));
const html = handOverPage(plant, standingsOf(items, record), record, NOW);

describe('the hand-over page', () => {
  it('is valid HTML with the rules of accessibility that the validator recommends, and runs and fetches nothing', async () => {
    const { results } = await new HtmlValidate({ extends: ['html-validate:recommended'] }).validateString(
      html,
    );
    expect(
      results.flatMap(({ messages }) =>
        messages.map(({ ruleId, message: words, line }) => `${line} ${ruleId}: ${words}`),
      ),
    ).toEqual([]);
    expect(html).not.toMatch(/<script|<link|<img|url\(|https?:\/\//iu);
  });

  it('says how every item stands, by whom, when, and what was stated; a changed entry is not commissioned', () => {
    const rowOf = (key: string) =>
      new RegExp(`<tr><td data-label="Item">${key}</td>.*</tr>`, 'u')
        .exec(html)?.[0]
        .replace(/<[^>]+>/gu, '|');
    expect(rowOf('identity/fill')).toMatch(
      /\|passed\|.*feedback came.*filled: 1\.34.*Kim &lt;b&gt;, 2026-11-30/u,
    );
    expect(rowOf('lease/fill')).toMatch(/not commissioned/u);
    expect(rowOf('power/fill')).toMatch(/FAILED/u);
    expect(rowOf('lease/drain')).toMatch(/never tried/u);
    expect(html.match(/data-label="Item"/gu)).toHaveLength(items.length);
    expect(html).toContain(`1 of ${items.length} items have passed`);
  });

  it('names who waived what, and no text of theirs becomes a tag', () => {
    expect(html).toContain(
      'Ada has waived the rest until 2026-12-01: until &quot;Monday&quot; &amp; &lt;i&gt;',
    );
    expect(html).not.toMatch(/<b>[^0-9]|<i>/u);
  });

  it('lists what nobody has shown, and has lines to sign', () => {
    expect(html).toContain(`Not shown (${items.length - 1})`);
    expect(html).toMatch(/Commissioned by: name, date, signature.*Taken over by/su);
  });
});

describe.runIf(hasBrowser)('on a telephone', () => {
  const browser = sharedBrowser();
  it('nothing is wider than the screen', async () => {
    const context = await browser.newContext(PHONE);
    const page = await context.newPage();
    await page.setContent(html);
    expect(await page.evaluate('document.documentElement.scrollWidth')).toBe(390);
    await context.close();
  });
});
