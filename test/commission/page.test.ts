// The hand-over page: valid, fetches nothing, says what nobody has shown, and lets no user text become a tag.
import { HtmlValidate } from 'html-validate';
import { describe, expect, it } from 'vitest';
import { html, items } from '../tools/hand-over.ts';

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
