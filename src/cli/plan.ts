// The command `plan`: the sizing report that an installer hands to a client.
import { type Command, Option } from 'commander';
import { Coded } from '../errors/coded.ts';
import { compare } from '../plan/compare.ts';
import { compareText } from '../plan/compare-text.ts';
import { type Design, designOf } from '../plan/design.ts';
import { type Draft, draftOf } from '../plan/draft.ts';
import { inUnits, sentence } from '../plan/in-units.ts';
import { planOf, reportOf } from '../plan/plan.ts';
import type { Report, Section } from '../plan/report.ts';
import { badDay } from '../plan/sections/bad-day.ts';
import { promises } from '../plan/sections/promises.ts';
import { year } from '../plan/sections/year.ts';
import { namesIn, type Site } from '../plan/site.ts';
import { textOf } from '../plan/text.ts';
import { simulateYear } from '../plan/year/run.ts';
import { SYSTEMS, type System } from '../units/systems.ts';
import { writeText } from './files.ts';
import { catalogueIn, emptyFolder, writePack } from './pack.ts';
import { siteIn } from './site-file.ts';
import { wholeNumber } from './values.ts';

interface Options {
  readonly html?: string;
  readonly json?: true;
  readonly compare?: readonly string[];
  readonly station?: string;
  readonly pack?: string;
  readonly catalogue?: string;
  readonly simulate?: number;
  readonly promises?: true;
  readonly seed: number;
  readonly units?: System;
}

/** Adds `plan` to the program. */
export function addPlan(program: Command): void {
  program
    .command('plan')
    .description(
      'Sizes a mixing station for a site: vats, purifier, pumps, heat, salt, floor, with the warnings first',
    )
    .argument('[file]', 'the site file, JSON')
    .option('--html <file>', 'also write the report as one page that needs nothing else')
    .option('--json', 'print the report as JSON')
    .option('--compare <files...>', 'two site files, side by side, instead of one report')
    .option(
      '--station <file>',
      'also write the station that the plan describes, as a station file to fill in',
    )
    .option(
      '--pack <folder>',
      'also write the client pack: drawings, parts in three tiers, cables, labels, card, first filling, price',
    )
    .option('--catalogue <file>', "with --pack: the installer's prices, CSV: kind,item,price,currency,watts")
    .option(
      '--promises',
      'also let the drafted station run: the reserve over a month, and the large change of a bad day done otherwise',
    )
    .option(
      '--simulate <days>',
      'let the planned station run through so many days of weather',
      wholeNumber(1, 3660),
    )
    .option(
      '--seed <n>',
      'of the weather and of the owner: the same seed, the same year',
      wholeNumber(0, 2 ** 32 - 1),
      1,
    )
    .addOption(
      new Option('--units <system>', 'of the report; default: what the site file says').choices(SYSTEMS),
    )
    .addHelpText('after', HELP)
    .action(async (file: string | undefined, options: Options) => {
      await (options.compare === undefined
        ? planOne(file, options)
        : planTwo(file, options.compare, options));
    });
}

const HELP = `
Examples:
  $ vatwarden plan site.json
  $ vatwarden plan site.json --html report.html --station station.json
  $ vatwarden plan site.json --simulate 2
  $ vatwarden plan site.json --promises
  $ vatwarden plan site.json --units us --pack client --catalogue prices.csv
  $ vatwarden plan --compare site.json other.json
\`vatwarden example marram-point.site\` prints a site file to begin with.
Exit code 0: a report was made, warnings or not; 2: no report, or none of what was asked for beside it.`;

async function planOne(file: string | undefined, options: Options): Promise<void> {
  if (file === undefined)
    throw new Coded(
      'E-103',
      'name a site file, or two of them after --compare; `vatwarden example` lists some to begin with',
    );
  const { pack } = options;
  if (options.catalogue !== undefined && pack === undefined)
    throw new Coded('E-105', '--catalogue is for --pack: name a folder as well');
  if (pack !== undefined) emptyFolder(pack);
  const site = siteIn(file);
  const items = catalogueIn(options.catalogue, site.tariffs?.currency ?? null);
  const design = designOf(site);
  const draft = draftOf(design);
  if (options.station !== undefined && draft.ok) writeText('the station', options.station, draft.text);
  const more =
    options.simulate === undefined || !draft.ok ? [] : [simulated(design, options.simulate, options.seed)];
  if (options.promises && draft.ok) more.unshift(promised(design));
  if (draft.ok) more.unshift(badDay(design, options.promises === true));
  const report = spoken(reportOf(design, more), site, options);
  if (options.html !== undefined) {
    // The drawing library is half of the start-up time; who wants text does not wait for it.
    const { htmlOf } = await import('../plan/html.ts');
    writeText('the page', options.html, htmlOf(report));
  }
  if (pack !== undefined && draft.ok) {
    const { packOf } = await import('../plan/pack/pages.ts');
    const speech = { system: options.units ?? site.units, isFloor: false, names: namesIn(site) };
    const say = (text: string) => sentence(text, speech);
    const currency = site.tariffs?.currency ?? items.values().next().value?.currency ?? null;
    writePack(pack, packOf({ design, report, say, items, currency, stationText: draft.text }));
  }
  print(options.json ? `${JSON.stringify(report, null, 2)}\n` : textOf(report));
  if (options.station !== undefined) refuseUndrafted(draft, 'make no station');
  if (pack !== undefined) refuseUndrafted(draft, 'make no pack');
  if (options.simulate !== undefined || options.promises) refuseUndrafted(draft, 'can not be simulated');
}

/** In the reader's units; what the site has named stays as it is. */
function spoken(report: Report, site: Site, { units }: Pick<Options, 'units'>): Report {
  return inUnits(report, units ?? site.units, namesIn(site));
}

/** As long as the worst of the year lasts, from its first day. */
const PROMISED_DAYS = 30;

function promised(design: Design): Section {
  return promises(design, simulateYear(design, PROMISED_DAYS, 1));
}

/** The steps of progress that are told on standard error. */
const PROGRESS_STEPS = 10;

function simulated(design: Design, days: number, seed: number): Section {
  const begun = performance.now();
  const every = Math.max(1, Math.floor(days / PROGRESS_STEPS));
  const done = simulateYear(design, days, seed, (passed) => {
    if (passed % every !== 0 && passed !== days) return;
    const perSecond = passed / ((performance.now() - begun) / 1000);
    process.stderr.write(`plan: ${passed} of ${days} d simulated, ${perSecond.toFixed(1)} d/s\n`);
  });
  return year(design, done);
}

async function planTwo(file: string | undefined, files: readonly string[], options: Options): Promise<void> {
  // `plan A --compare B` means the same as `plan --compare A B`.
  const [a, b, ...more] = file === undefined ? files : [file, ...files];
  if (a === undefined || b === undefined || more.length > 0) {
    throw new Coded('E-103', '--compare takes two site files');
  }
  if (options.station !== undefined || options.simulate !== undefined || options.promises || options.pack) {
    throw new Coded(
      'E-105',
      '--station, --pack, --simulate and --promises are for one site, not for a comparison',
    );
  }
  const [siteA, siteB] = [siteIn(a), siteIn(b)];
  const units = options.units ?? siteA.units;
  const comparison = compare(
    spoken(planOf(siteA), siteA, { units }),
    spoken(planOf(siteB), siteB, { units }),
  );
  if (options.html !== undefined) {
    const { compareHtml } = await import('../plan/compare-html.ts');
    writeText('the page', options.html, compareHtml(comparison));
  }
  print(options.json ? `${JSON.stringify(comparison, null, 2)}\n` : compareText(comparison));
}

/** What stands in the way of the station is told after the report, never instead of it. */
function refuseUndrafted(draft: Draft, what: string): void {
  if (!draft.ok)
    throw new Coded('E-214', [`the report is made, but these parts ${what}:`, ...draft.reasons].join('\n'));
}

function print(text: string): void {
  process.stdout.write(text);
}
