// The table of what was measured, in the README, says what measured.json says, and nothing else.
// UPDATE_MEASURED=1 writes it anew.
import { readFileSync, writeFileSync } from 'node:fs';
import { expect, test } from 'vitest';

const START = '<!-- measured: start, generated -->';
const END = '<!-- measured: end -->';

interface Base {
  readonly day: string;
  readonly machine: string;
  readonly seconds: number;
}
interface Trial extends Base {
  readonly nights: number;
  readonly held: number;
  readonly stationHours: number;
  readonly failures: number;
  readonly gaps: readonly { readonly gap: string; readonly nights: number }[];
}
interface Prove extends Base {
  readonly faults: number;
  readonly whole: number;
  /** Of those that were looked at to a bound only; null: there are none. */
  readonly leastDepth: number | null;
  readonly places: number;
  readonly transitions: number;
}
interface Plant extends Base {
  readonly days: number;
  readonly faults: number;
  readonly movedL: Readonly<Record<string, number>>;
  readonly spilledL: number;
  readonly offSpecL: number;
}
interface Families extends Base {
  readonly days: readonly {
    readonly tookS: number;
    readonly deliveredL: number;
    readonly restarted: readonly string[];
  }[];
}

const record = JSON.parse(readFileSync('test/verify/measured.json', 'utf8')) as Record<string, Base>;

const count = (n: number): string => n.toLocaleString('en-GB').replaceAll(',', ' ');
const took = ({ seconds }: Base): string =>
  seconds < 120 ? `${seconds} s` : `${(seconds / 60).toFixed(0)} min`;

function words(name: string, figures: Base): string {
  const [part = ''] = name.split(' ');
  switch (part) {
    case 'trial': {
      const { nights, held, stationHours, gaps } = figures as Trial;
      const byGap = new Map<string, number>();
      for (const { gap, nights: some } of gaps) byGap.set(gap, (byGap.get(gap) ?? 0) + some);
      const unheld = [...byGap].map(([gap, some]) => `${gap} ${some}`).join(', ');
      return `${count(held)} of ${count(nights)} nights held (${count(stationHours)} h of station time)${
        unheld === '' ? '' : `; accidents that only hardware can hold, by gap: ${unheld}`
      }`;
    }
    case 'prove': {
      const { faults, whole, leastDepth, places, transitions } = figures as Prove;
      const bounded =
        leastDepth === null
          ? ''
          : `, the other ${faults - whole} to a bound, ${leastDepth} ticks deep or more`;
      return `${whole} of ${faults} single faults explored to the end${bounded}; no harm but by missing hardware: ${count(places)} places, ${count(transitions)} ticks`;
    }
    case 'kills':
    case 'page':
    case 'journal-kills':
      return (figures as Base & { words: string }).words;
    case 'families': {
      const { days } = figures as Families;
      const litres = days.reduce((sum, { deliveredL }) => sum + deliveredL, 0);
      const restarts = days.reduce((sum, { restarted }) => sum + restarted.length, 0);
      const longestS = Math.max(...days.map(({ tookS }) => tookS));
      return `${days.length} whole cycles of devices of four families over mosquitto and the water of a rig, ${restarts} restarts of devices and broker in their middle: ${litres.toFixed(1)} L delivered, each within ${Math.ceil(longestS / 60)} min, nothing spilled, nothing tripped, nobody needed but for salt and a second instrument`;
    }
    case 'payloads':
      return `${count((figures as Base & { payloads: number }).payloads)} hostile payloads at the codec: no exception, nothing but sound inputs`;
    case 'sequences': {
      const { each, stations } = figures as Base & { each: number; stations: number };
      return `${count(each * stations)} random sequences of events at the core: no exception, no command that a row forbids`;
    }
    case 'plant': {
      const { days, faults, movedL, spilledL, offSpecL } = figures as Plant;
      return `${days} days of the second plant over mosquitto, ${faults} outages of its service, broker and nodes: ${count(Math.round(movedL.supply ?? 0))} L delivered, ${spilledL} L spilled, ${offSpecL} L of wrong water, no false alarm`;
    }
    case 'mutants': {
      const { mutants, noticed } = figures as Base & { mutants: number; noticed: number };
      const share = ((100 * noticed) / mutants).toFixed(1);
      return `${count(noticed)} of ${count(mutants)} mutants of the interlocks, the contents and the commands noticed (${share} %)`;
    }
    default:
      throw new Error(`measured.json: nobody knows how to say '${name}'`);
  }
}

const table = (): string =>
  [
    '| run | what came of it | took | on |',
    '| --- | --- | --- | --- |',
    ...Object.entries(record).map(
      ([name, figures]) =>
        `| ${name} | ${words(name, figures)} | ${took(figures)} | ${figures.day}, ${figures.machine} |`,
    ),
  ].join('\n');

test('the table in the README is the one that was measured', () => {
  const readme = readFileSync('README.md', 'utf8');
  const [before, rest = ''] = readme.split(START);
  const [inside = '', after = ''] = rest.split(END);
  const now = `\n\n${table()}\n\n`;
  if (process.env.UPDATE_MEASURED) writeFileSync('README.md', `${before}${START}${now}${END}${after}`);
  else expect(inside).toBe(now);
});

test('nothing that failed is in the record', () => {
  for (const [name, figures] of Object.entries(record)) {
    if (name.startsWith('trial')) expect((figures as Trial).failures).toBe(0);
    if (!name.startsWith('prove')) continue;
    const { faults, whole, leastDepth } = figures as Prove;
    expect(leastDepth === null, `${name}: what was not explored to the end is said`).toBe(whole === faults);
  }
});
