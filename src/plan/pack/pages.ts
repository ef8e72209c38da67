// The pages of a client pack: two for the client, a card for the wall, labels, the parts, and the whole report as appendix.
import type { Design } from '../design.ts';
import { htmlOf, pageOf, preparedWords, tablePart, warningsPart } from '../html.ts';
import { type Markup, markup } from '../markup.ts';
import { type Cell, type Report, type Table, timeText } from '../report.ts';
import { stationOf } from '../station.ts';
import { counted, kilograms, litres, percent } from '../words.ts';
import type { Say } from './canvas.ts';
import type { Item } from './catalogue.ts';
import { elevation, floorPlan } from './drawing.ts';
import { firstFillOf } from './first-fill.ts';
import { labelsPart } from './labels.ts';
import { type Bill, billOf, type Part, TIERS, type TierSum } from './parts.ts';

export interface PackFile {
  readonly name: string;
  readonly text: string;
}

export interface Pack {
  readonly design: Design;
  /** In the reader's units. */
  readonly report: Report;
  readonly say: Say;
  readonly items: ReadonlyMap<string, Item>;
  readonly currency: string | null;
  readonly stationText: string;
}

export function packOf(pack: Pack): PackFile[] {
  const { design, report, say, items, stationText } = pack;
  const bill = billOf(design, items);
  const { id, name } = design.site;
  return [
    { name: '1-client.html', text: clientPage(pack, bill) },
    { name: '2-owners-card.html', text: ownersCard(pack, bill) },
    { name: '3-parts.html', text: partsPage(pack, bill) },
    {
      name: '4-labels.html',
      text: pageOf(
        `${name}: labels`,
        'One for each valve, float and pump. Cut out and stick on.',
        [labelsPart(id, bill.parts)],
        {
          style: STYLE,
          footer:
            'Each code holds the tag, the name and the path of the device in the station file, and no address.',
        },
      ),
    },
    { name: '5-report.html', text: htmlOf(report) },
    { name: 'elevation.svg', text: `${elevation(design, say).markup}\n` },
    { name: 'floor-plan.svg', text: `${floorPlan(design, say).markup}\n` },
    { name: 'station.json', text: stationText },
  ];
}

const STYLE = `
svg.drawn { max-width: 100%; height: auto; display: block; margin: .75rem auto; }
.labels { display: grid; grid-template-columns: repeat(auto-fill, minmax(15rem, 1fr)); gap: 0; }
.label { display: flex; gap: .5rem; align-items: center; border: 1px dashed var(--rule); padding: .4rem; break-inside: avoid; }
.label svg { width: 5.5rem; height: 5.5rem; flex: none; }
.label p { margin: 0; }
`;

/** Two pages of A4, whatever has to be settled first. */
const CLIENT_STYLE = `${STYLE}
h2 { margin: 1rem 0 .4rem; }
.pipes { font-size: .8125rem; max-width: none; }
@media print {
  body { font-size: 9.5pt; line-height: 1.35; padding: 0; }
  h1 { font-size: 16pt; }
  p { max-width: none; margin: 0 0 .3rem; }
  ul.cautions li { margin: 0 0 .35rem; padding: .3rem .6rem; }
  svg.drawn { margin: .25rem auto; }
  footer { margin-top: 1rem; }
}
`;

function clientPage({ design, report, say, currency }: Pack, bill: Bill): string {
  const { site } = design;
  return pageOf(
    `${site.name}: your mixing station`,
    preparedWords(report),
    [
      markup`<section><h2>What stands there</h2>
${[sizeWords(design), fillWords(design)].map(
  (text) => markup`<p>${say(text)}</p>
`,
)}${elevation(design, say)}${pipesPart(design, say)}</section>
`,
      dangers(report),
      markup`<section><h2>Where it stands</h2>${floorPlan(design, say)}</section>
`,
      markup`<section><h2>What it costs</h2><p>${priceWords(design, bill, currency)}</p>${tablePart(tiersTable(bill, currency))}</section>
`,
    ],
    { style: CLIENT_STYLE },
  );
}

/** The numbers of the drawing. */
function pipesPart(design: Design, say: Say): Markup {
  const { routes, actuators } = stationOf(design);
  const words = ['refill', 'transfer', 'supply', 'drain'].map((id, index) => {
    const route = routes[id];
    const tags = (route?.through ?? []).map((device) => actuators[device]?.tag ?? device);
    const ends = route?.outlet === undefined ? '' : `, ends at ${route.outlet}`;
    return `${index + 1} ${route?.name ?? id}: ${tags.join(', ')}${ends}`;
  });
  return markup`<p class="pipes">${say(`${words.join('. ')}. Heights of floats: above the bottom of their vat; all others above the floor of the vat room.`)}</p>`;
}

/** Those that can hurt somebody or the building; all others are in the report. */
function dangers({ cautions }: Report): Markup {
  const heavy = cautions.filter(({ weight }) => weight !== 'look');
  return heavy.length === 0
    ? markup`<p>No danger was found by this plan; what to think about is in the report.</p>`
    : warningsPart(heavy, 'What must be settled first');
}

function sizeWords({ site, fresh, mixing, freshL, mixedL, exchangePerDayL }: Design): string {
  const onHandL = freshL + mixedL;
  return `Two vats, ${fresh.name} for purified water and ${mixing.name} for mixing, for ${litres(site.system.volumeL)} of saltwater. Full, they hold ${litres(onHandL)} ready, ${percent(onHandL / site.system.volumeL)} of the system. ${litres(exchangePerDayL)} a day are exchanged without anybody's hand; a person brings the salt.`;
}

function fillWords(design: Design): string {
  const { batches, saltKg, bags, purifiedL, days } = firstFillOf(design);
  const { bagKg } = design.site.salt;
  const lasts =
    days === null
      ? 'it can not be said how long, because something moves no water'
      : `${timeText(24 * days.least)} in the best month and ${timeText(24 * days.most)} in the worst`;
  return `The first filling takes ${counted(batches, 'batch', 'batches')}, ${kilograms(saltKg)} of salt (${counted(bags, 'bag')} of ${kilograms(bagKg)}) and ${litres(purifiedL)} of purified water: ${lasts}, somebody there with the salt each time.`;
}

function priceWords({ fresh, mixing }: Design, { tiers }: Bill, currency: string | null): string {
  const vats = fresh.price === null || mixing.price === null ? null : fresh.price + mixing.price;
  const whole = tiers.at(-1);
  const parts =
    whole === undefined || whole.price === null
      ? `${counted(whole?.unpriced ?? 0, 'part')} of ${whole?.parts ?? 0} have no price in the catalogue.`
      : `All parts together: ${whole.price.toFixed(2)} ${currency ?? ''}.`;
  return `${parts} ${vats === null ? 'No price is stated for the vats.' : `Both vats: ${vats.toFixed(2)} ${currency ?? ''}.`} Pipes, cable, purifier, work and the electrician are not in it.`;
}

const TIER_WORDS: Readonly<Record<TierSum['tier'], string>> = {
  'moves water': 'Moves water, and feels it where it must not be',
  guarded: 'Guarded: what flows is measured, and what sticks is cut off',
  full: 'Full: what is delivered is measured too',
};

function tiersTable({ tiers }: Bill, currency: string | null): Table {
  return {
    id: 'tiers',
    title: 'Three ways to fit it out, each with what the one before has',
    columns: [
      { title: 'Tier' },
      { title: 'parts', digits: 0 },
      { title: 'interlocks', digits: 0 },
      { title: 'price', ...(currency === null ? {} : { unit: currency }), digits: 2 },
      { title: 'against these hazards it lacks an interlock' },
    ],
    rows: tiers.map(({ tier, parts, interlocks, price, remaining }): Cell[] => [
      TIER_WORDS[tier],
      parts,
      interlocks,
      price,
      remaining.length === 0 ? 'none' : hazardsIn(remaining),
    ]),
  };
}

/** `overflow (I-02, I-03); dry running (I-06)`. */
function hazardsIn(remaining: TierSum['remaining']): string {
  const hazards = [...new Set(remaining.map(([, hazard]) => hazard))];
  const idsOf = (hazard: string) =>
    [...new Set(remaining.flatMap(([id, other]) => (other === hazard ? [id] : [])))].join(', ');
  return hazards.map((hazard) => `${hazard} (${idsOf(hazard)})`).join('; ');
}

function ownersCard({ design, say }: Pack, { parts }: Bill): string {
  const { site, batch } = design;
  const valve = parts.find(({ id }) => id === 'master-valve');
  const rules = [
    'Water on the floor, or something smells of burning: switch the circuit off at the breaker panel first. Do not reach into the water or pull a plug before that.',
    `Then close the tap before the purifier, by hand${valve === undefined ? '' : ` (it is before ${valve.tag})`}.`,
    'Pause on the panel stops everything by software. It is no emergency stop.',
    `When the station asks for salt: ${kilograms(batch.saltKg)} for a whole batch, or what it asks for; weigh it, pour it slowly, then confirm what you poured.`,
    'After a safety shutdown: look at the vats, the valves and the floor first. Only then reset it.',
    `Nobody there for more than ${site.owner.absenceDays} days: shut the tap before the purifier.`,
    'Try the floats and the leak sensors when the panel says that they are due.',
  ];
  return pageOf(
    `${site.name}: owner's card`,
    'Hang it beside the breaker panel.',
    [
      markup`<ol>${rules.map(
        (rule) => markup`<li><p>${say(rule)}</p></li>
`,
      )}</ol>
<h2>Whom to call</h2>
<p>Installer: ${site.prepared.by ?? '______________________'}, telephone ______________________</p>
<p>Electrician: ______________________ telephone ______________________</p>
`,
    ],
    { style: STYLE, footer: 'This card replaces no instruction of a maker and no local rule.' },
  );
}

function partsPage({ design, currency }: Pack, bill: Bill): string {
  const { site } = design;
  const priced = currency === null ? {} : { unit: currency };
  const watts = bill.parts.reduce((sum, part) => sum + (part.watts ?? 0), 0);
  const tables: Table[] = [
    tiersTable(bill, currency),
    {
      id: 'parts',
      title: 'Bill of materials',
      columns: [
        { title: 'Tag' },
        { title: 'part' },
        { title: 'kind' },
        { title: 'item' },
        { title: 'price', ...priced, digits: 2 },
        { title: 'tier' },
        { title: 'interlocks that go with it' },
      ],
      rows: bill.parts.map(({ tag, name, kind, item, tier, rows }): Cell[] => [
        tag,
        name,
        kind,
        item?.item ?? 'to be chosen',
        item?.price ?? null,
        `${TIERS.indexOf(tier) + 1}`,
        rows.length === 0 ? 'none of its own' : rows.join(', '),
      ]),
    },
    {
      id: 'hardware',
      title: 'Hard-wired, beside all of it: what no software can hold',
      columns: [{ title: 'Gap' }, { title: 'what happens' }, { title: 'what closes it' }],
      rows: bill.hardware.map((row): Cell[] => [...row]),
    },
    {
      id: 'cables',
      title: 'Cables and loads',
      columns: [
        { title: 'Tag' },
        { title: 'from' },
        { title: 'cable' },
        { title: 'load', unit: 'W', digits: 0 },
        { title: 'length, to be measured' },
      ],
      rows: bill.parts.map((part): Cell[] => [
        part.tag,
        part.box ?? 'its own',
        cableOf(part),
        part.watts,
        '',
      ]),
    },
  ];
  return pageOf(
    `${site.name}: parts, cables and loads`,
    '',
    [
      markup`<p>All loads that are stated together: ${watts.toFixed(0)} W. A licensed electrician chooses cross-sections, breakers and residual-current protection; every cable gets a drip loop. What hangs on one board fails with it: overflow floats stay on another than the high floats.</p>`,
      ...tables.map(tablePart),
    ],
    { style: STYLE },
  );
}

/** Common practice, no source. */
function cableOf({ kind }: Part): string {
  switch (kind) {
    case 'float':
    case 'leak':
      return '2 cores, signal';
    case 'level':
    case 'temperature':
    case 'conductivity':
      return "the probe's own lead";
    case 'total':
      return '3 cores, signal';
    case 'pump':
    case 'heater':
    case 'contactor':
      return '3 cores with protective earth, mains';
    case 'valve':
      return '3 cores, as its drive asks';
    default:
      return '2 cores, signal';
  }
}
