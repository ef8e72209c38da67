// The table of what was measured, in the README, says what measured.json says, and nothing else.
// UPDATE_MEASURED=1 writes it anew.
import { readFileSync, writeFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { KINDS } from '../../src/verify/lost.ts';
import { ACCIDENTS, UNSEEN } from './rows-off/accidents.ts';

const START = '<!-- measured: start, generated -->';
const END = '<!-- measured: end -->';
const ROWS = 'test/README.md';
const ROWS_START = '<!-- rows: start, generated -->';
const ROWS_END = '<!-- rows: end -->';

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

interface Rows extends Base {
  readonly accidents: number;
  readonly needs: readonly {
    readonly kind: string;
    readonly behind: readonly string[];
    readonly saves: { readonly words: string; readonly fault: string } | null;
  }[];
}
interface Hostile extends Base {
  readonly nights: number;
  readonly rows: Readonly<Record<string, { readonly held: number; readonly saved: number }>>;
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
    case 'guard': {
      const { repertoires, runs, whole, places, transitions } = figures as Base & Record<string, number>;
      return `the guard alone, against a process that wants anything in ${repertoires} repertoires: ${whole} of ${runs} runs to the end, the others to a bound; no harm that a guard could have held: ${count(places ?? 0)} places, ${count(transitions ?? 0)} ticks`;
    }
    case 'rows': {
      const { accidents, needs } = figures as Rows;
      const first = needs.filter(({ behind, saves }) => saves !== null && behind.length === 0).length;
      const none = needs.filter(({ saves }) => saves === null).length;
      return `${needs.length} kinds of rows by ${count(accidents)} ways to an accident: ${first} first lines, ${needs.length - first - none} behind others, ${none} by accidents of their own (table below)`;
    }
    case 'hostile': {
      const { nights, rows } = figures as Hostile;
      const saved = Object.values(rows).filter((row) => row.saved > 0).length;
      return `${count(nights)} nights of the guard below a process that wants at random: no harm but what hardware alone could have held; ${Object.keys(rows).length} kinds of rows forbade something, ${saved} of them saved a night`;
    }
    case 'guard-mutants': {
      const { mutants, noticed, interval } = figures as Base & Record<string, number | string>;
      return `${noticed} of ${mutants} mistakes in the guard noticed by the accidents of the exploration (${interval})`;
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

/** By kind of row: what it is in each station that was looked at. */
function rowsTable(): string {
  const stations = Object.entries(record).flatMap(([name, figures]) =>
    name.startsWith('rows ') ? [{ id: name.slice('rows '.length), needs: (figures as Rows).needs }] : [],
  );
  const cell = (needs: Rows['needs'], kind: string): string => {
    const need = needs.find((one) => one.kind === kind);
    if (need === undefined) return '-';
    if (need.saves === null) return 'own';
    return need.behind.length === 0 ? 'first' : `behind ${need.behind.join(', ')}`;
  };
  const kinds = KINDS.filter((kind) =>
    stations.some(({ needs }) => needs.some((need) => need.kind === kind)),
  );
  return [
    `| row | ${stations.map(({ id }) => id).join(' | ')} | by its own accident |`,
    `| --- |${' --- |'.repeat(stations.length + 1)}`,
    ...kinds.map(
      (kind) =>
        `| ${kind} | ${stations.map(({ needs }) => cell(needs, kind)).join(' | ')} | ${ownOf(kind)} |`,
    ),
  ].join('\n');
}

function ownOf(kind: string): string {
  const seen = ACCIDENTS.filter(({ row }) => row === kind).map(({ says }) => `the station ${says}`);
  const unseen = UNSEEN.filter(({ row }) => row === kind).map(({ why }) => why);
  return [...seen, ...unseen].join('; ');
}

test('every kind of row is accounted for', () => {
  for (const [name, figures] of Object.entries(record))
    if (name.startsWith('rows '))
      for (const { kind, saves } of (figures as Rows).needs)
        expect(saves !== null || ownOf(kind) !== '', `${name}: ${kind}`).toBe(true);
});

test('the table of rows is the one that was measured', () => {
  const now = `\n\n${rowsTable()}\n\n`;
  const [before, rest = ''] = readFileSync(ROWS, 'utf8').split(ROWS_START);
  const [inside = '', after = ''] = rest.split(ROWS_END);
  if (process.env.UPDATE_MEASURED) writeFileSync(ROWS, `${before}${ROWS_START}${now}${ROWS_END}${after}`);
  else expect(inside).toBe(now);
});

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
