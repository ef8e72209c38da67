// The page of results.json: README.md and its plots. Every figure on it comes from a run, every reason from reasons.json.
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { svgOf } from '../../src/plan/charts.ts';
import { AIMS, type Aim } from './aims.ts';
import type { Curve, Figure, Result, Results } from './results.ts';
import { slope } from './tools/figures.ts';

export type Reasons = Readonly<Record<string, string>>;

export const reasonsWritten = (): Reasons =>
  JSON.parse(readFileSync(new URL('./reasons.json', import.meta.url), 'utf8'));

/** A machine that had this much to do already says little about speed. */
const QUIET = 0.3;

export function isMet({ atLeast, atMost }: Aim, { value }: Figure): boolean {
  return (atLeast === undefined || value >= atLeast) && (atMost === undefined || value <= atMost);
}

export interface Judged {
  readonly aim: Aim;
  /** Null: not measured yet. */
  readonly figure: Figure | null;
  readonly met: boolean;
}

export const judged = ({ parts }: Results): readonly Judged[] =>
  AIMS.map((aim) => {
    const figure = parts[aim.part]?.figures[aim.figure] ?? null;
    return { aim, figure, met: figure !== null && isMet(aim, figure) };
  });

export function number(value: number): string {
  const digits = Math.abs(value) >= 1_000 ? Math.round(value) : Number(value.toPrecision(3));
  return digits.toLocaleString('en-GB', { maximumFractionDigits: 6 }).replaceAll(',', ' ');
}

const told = ({ value, unit }: Figure): string => `${number(value)}${unit === '' ? '' : ` ${unit}`}`;
const spread = ({ least, most, repetitions }: Figure): string =>
  repetitions < 2 ? 'once' : `${number(least)} to ${number(most)}, ${repetitions} runs`;
const bound = ({ atLeast, atMost }: Aim): string =>
  atLeast === undefined ? `<= ${number(atMost as number)}` : `>= ${number(atLeast)}`;

export function pageOf(results: Results, reasons: Reasons): string {
  const machines = [...new Set(Object.values(results.parts).map(({ machine }) => machine))];
  return `# What was measured

This page is written by \`npm run bench\`; no figure on it was typed. A figure is the median of its repetitions, with the least
and the most beside it; a ratio is taken pair by pair, both sides in the same minute. test/README.md says how to run it.

Measured on ${machines.join('; and on ')}.

## Aims

| what | measured | spread | against | aim | |
| --- | --- | --- | --- | --- | --- |
${judged(results).map(aimRow(results)).join('\n')}

${missed(results, reasons)}${failures(results)}${Object.entries(results.parts).map(partText).join('\n')}`;
}

const aimRow =
  ({ parts }: Results) =>
  ({ aim, figure, met }: Judged): string => {
    const beside = aim.beside.flatMap((name) => {
      const other = parts[aim.part]?.figures[name];
      return other === undefined ? [] : [`${name} ${told(other)}`];
    });
    const cells =
      figure === null
        ? ['not measured yet', '']
        : [`**${told(figure)}**${beside.length === 0 ? '' : ` (${beside.join(', ')})`}`, spread(figure)];
    const verdict = figure === null ? '' : met ? 'met' : `[missed](#${aim.id})`;
    return `| ${aim.words} | ${cells.join(' | ')} | ${aim.against} | ${bound(aim)} | ${verdict} |`;
  };

function missed(results: Results, reasons: Reasons): string {
  const open = judged(results).filter(({ figure, met }) => figure !== null && !met);
  if (open.length === 0) return '';
  const lines = open.map(
    ({ aim, figure }) =>
      `- <a id="${aim.id}"></a>**${aim.words}**: ${told(figure as Figure)}, aim ${bound(aim)}. ${reasons[aim.id] ?? 'No reason is written yet.'}`,
  );
  return `## What misses its aim, and why\n\n${lines.join('\n')}\n\n`;
}

function failures({ failed }: Results): string {
  const lines = Object.entries(failed).map(([part, { day, words }]) => `- ${part}, ${day}: ${words}`);
  return lines.length === 0 ? '' : `## What could not be measured when last tried\n\n${lines.join('\n')}\n\n`;
}

function partText([name, { figures, curves = {}, notes = [], day, machine, tookS, busy }]: [
  string,
  Result,
]): string {
  const rows = Object.entries(figures).map(
    ([id, figure]) => `| ${id} | ${told(figure)} | ${spread(figure)} |`,
  );
  const plots = Object.entries(curves).map(
    ([id, curve]) =>
      `![${curve.words}](plots/${name}-${id}.svg)\n\n${curve.words}: slope ${number(slope(curve))} (1 is linear).\n`,
  );
  const preliminary =
    busy > QUIET
      ? `**Preliminary**: when it began, ${number(busy)} processes for each processor wanted to run.\n\n`
      : '';
  return `## ${name}

${preliminary}${notes.map((note) => `${note}\n`).join('\n')}${notes.length > 0 ? '\n' : ''}| figure | median | spread |
| --- | --- | --- |
${rows.join('\n')}

${plots.join('\n')}${plots.length > 0 ? '\n' : ''}Measured on ${day} in ${number(tookS)} s on ${machine}.
`;
}

export function plotOf(id: string, { words, x, y }: Curve): string {
  const points = x.values.map((value, nth) => [value, y.values[nth] as number] as const);
  const axis = (name: string) => ({ name, unit: '' });
  const chart = { id, title: words, words: '', x: axis(x.words), y: { ...axis(y.words), least: 0 } };
  const series = [
    { name: 'measured', stroke: 'points', points },
    { name: 'through the points', stroke: 'solid', points },
  ] as const;
  // A page may be read on a dark ground.
  const paper = '<rect width="100%" height="100%" fill="#fff"/>';
  return `${svgOf({ ...chart, series }).replace(/(<svg [^>]*>)/u, `$1${paper}`)}\n`;
}

export function writePage(results: Results): void {
  const folder = new URL('./plots/', import.meta.url);
  mkdirSync(folder, { recursive: true });
  for (const [part, { curves = {} }] of Object.entries(results.parts)) {
    for (const [id, curve] of Object.entries(curves))
      writeFileSync(new URL(`${part}-${id}.svg`, folder), plotOf(`${part}-${id}`, curve));
  }
  writeFileSync(new URL('./README.md', import.meta.url), pageOf(results, reasonsWritten()));
}
