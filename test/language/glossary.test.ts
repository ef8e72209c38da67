// One word means one thing, in everything that people are told: the sentences of the service and the texts of the page, in
// both languages. Each row is a word that was read two ways, and what is said instead.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';

const read = (path: string): Record<string, unknown> => JSON.parse(readFileSync(path, 'utf8'));
const told = (path: string): Readonly<Record<string, string>> => {
  const found = read(path);
  return (found.words ?? found) as Readonly<Record<string, string>>;
};

const SERVICE = { en: told('src/language/en.json'), de: told('src/language/de.json') };
const PAGE = { en: told('src/panel/page/texts/en.json'), de: told('src/panel/page/texts/de.json') };

interface Forbidden {
  readonly word: RegExp;
  readonly say: string;
  /** Ids where it means nothing else. */
  readonly but?: readonly string[];
}

const GLOSSARY: Readonly<Record<'en' | 'de', readonly Forbidden[]>> = {
  en: [
    { word: /\bgo(?:es)? over\b/u, say: 'transferring: "goes over" is an overflow' },
    { word: /\bfresh\b/u, say: 'purified water, or a live reading' },
    { word: /\bboards?\b/u, say: 'breaker panel, or relay' },
    { word: /\b(?:frozen|freez\w*)\b/u, say: 'reading stuck' },
    { word: /\brestart(?:s|ed|ing)?\b/u, say: 'resume' },
    { word: /\b(?:go|goes|gone|going|let \w+ go) on\b/u, say: 'resume, continue, keep' },
    { word: /\btop(?:ped|s)? (?:it )?up\b/u, say: 'refill' },
    { word: /\bmake ready\b/u, say: 'set to idle' },
    { word: /\b(?:hold|holds|held|holding)\b/u, say: 'pause, contain, keep, or active' },
    { word: /\bsuppl(?:y|ies)\b/u, say: 'delivery, power, or inlet' },
    { word: /(?<!\{)\brows?\b/u, say: 'interlock' },
    {
      word: /\b(?:the|this|that|an?|one|more|each|every|all|no) (?:\{count\} )?checks?\b|\bchecks\b/u,
      say: 'interlock, or proof test',
    },
    { word: /\btrip(?:s|ped)?\b/u, say: 'safety shutdown' },
    { word: /\bdisplay\b/iu, say: 'settings: a display is a tank' },
    { word: /\bexchang\w*\b/u, say: 'water change' },
    { word: /\bbefore (?:\{(?:valve|device|vessel|route)|the (?:purifier|valve|pump))/u, say: 'upstream of' },
    { word: /\bunplug|\bpull the plug\b/u, say: 'switch off at the breaker panel', but: ['stop-unplug'] },
    { word: /\bleases?\b/u, say: 'switch off by themselves' },
    { word: /\bmend\b|\bnonsense\b|\bshelf\b|\bliar\b|\blying\b|\bblind\b/u, say: 'plain words' },
    { word: /\bcontents is\b|\bgive or take\b|\btoo salt\b/u, say: 'plain words' },
  ],
  de: [
    { word: /Frischwasser/u, say: 'Reinwasser' },
    { word: /übergepumpt|überpumpen/u, say: 'Reinwasser wird gepumpt' },
    { word: /Verteil(?:ung|er)\b|Tafel/u, say: 'Sicherungskasten' },
    { word: /eingefroren/u, say: 'Messwert steht' },
    {
      word: /[Ww]eiterlaufen|auf Weiter\b|läuft wieder an\b(?!\.)/u,
      say: 'fortsetzen',
      but: ['shelve.care'],
    },
    {
      word: /Nachfüll|nachgefüllt|nachfüllen|[Aa]uffüllen/u,
      say: 'Reinwasser füllen, Verdunstungsausgleich',
    },
    { word: /[Bb]ereit (?:ge)?mach/u, say: 'bereit setzen' },
    { word: /[Aa]ngehalten|[Aa]nhalten|\bhält an\b/u, say: 'pausieren, oder das Wasser absperren, stoppen' },
    { word: /[Aa]ustausch/u, say: 'Wasserwechsel' },
    { word: /Auslösung|ausgelöst/u, say: 'Sicherheitsabschaltung' },
    { word: /Funktionsprüfung/u, say: 'Wiederholungsprüfung' },
    {
      word: /\b(?:diese|eine|weitere|alle \{count\}) Prüfung(?:en)?\b/iu,
      say: 'Verriegelung',
    },
    { word: /\bAnzeige(?:n)?\b/u, say: 'Einstellungen', but: ['check-level-by-eye'] },
    {
      word: /[Ss]tecker ziehen|[Aa]usstecken|[Aa]usgesteckt/u,
      say: 'am Sicherungskasten abschalten',
      but: ['stop-unplug'],
    },
    {
      word: /Wässer\b|Bottich|Gefäß\b|\bBecken\b/u,
      say: 'Wasserarten, Behälter',
      but: ['do-shut-off-or-catch'],
    },
    { word: /das Seine|\blügt\b|lügend|Unsinn|\bHirn\b|\bblind\b/u, say: 'klare Worte' },
    { word: /Standsensor|\bStand\b(?!ort)/u, say: 'Füllstand' },
    { word: /\bein Mensch\b/u, say: 'eine Person' },
    { word: /Merkmal/u, say: 'Sitzung' },
    { word: / davor\b/u, say: 'stromaufwärts' },
  ],
};

describe.each(['en', 'de'] as const)('%s', (language) => {
  const texts = { ...SERVICE[language], ...PAGE[language] };

  test.each(GLOSSARY[language])('says "$say"', ({ word, but = [] }) => {
    const wrong = Object.entries(texts).filter(([id, text]) => word.test(text) && !but.includes(id));
    expect(wrong).toEqual([]);
  });

  test('the steps of an alarm call a button what the button says', () => {
    const named = Object.entries(texts).flatMap(([id, text]) =>
      [...text.matchAll(language === 'en' ? /\b[Pp]ress ([A-Z]\w+)/gu : /„([^“]+)“ drück/gu)].map(
        ([, label = '']) => ({ id, label }),
      ),
    );
    const labels = [
      PAGE[language]['steer.restart'],
      PAGE[language]['steer.hold'],
      PAGE[language]['steer.start'],
    ];
    expect(named.length).toBeGreaterThan(5);
    expect(named.filter(({ label }) => !labels.includes(label))).toEqual([]);
  });

  test('the page and the service have one word for each state, each stage and each thing that may be asked', () => {
    const same = (one: string, other: string) =>
      expect(SERVICE[language][one]?.toLowerCase(), one).toBe(PAGE[language][other]?.toLowerCase());
    for (const state of [
      'idle',
      'running',
      'holding',
      'held',
      'restarting',
      'complete',
      'stopping',
      'stopped',
    ])
      same(`procedure-${state}`, `procedure.${state}`);
    for (const ask of ['start', 'hold', 'restart', 'stop', 'abort', 'reset'])
      same(`ask-${ask}`, `steer.${ask}`);
    same('unit-refill', 'unit.refill');
    same('unit-batch', 'unit.batch');
    same('ask-exchange-now', 'do.tell-exchange');
  });
});
