// The protection report for a terminal or a text file: 100 columns.

import type { StepKind } from '../language/told.ts';
import { heading, wrap } from '../plan/text.ts';
import { EVENT_KINDS } from './events.ts';
import type { ProtectionReport, ReportedCause, ReportedGap, ReportedHazard, ReportedRow } from './report.ts';
import type { Leaf, TreeNode } from './tree.ts';
import { counted } from './words.ts';

export function textOf(report: ProtectionReport): string {
  const { station, summary } = report;
  const lines = [
    `${station.name} (${station.id}): protection report`,
    '',
    ...summary.flatMap((sentence) => wrap(sentence, '')),
    ...wrap('It claims no conformity and no safety level; see "What is not claimed" at the end.', ''),
    '',
    ...warnings(report),
    ...hazards(report),
    ...coverage(report),
    ...rows(report),
    ...proofTests(report),
    ...causes(report),
    ...trees(report),
    ...outside(report),
  ];
  return `${lines.join('\n').trimEnd()}\n`;
}

const item = (text: string, indent = '  '): string[] => hung(text, indent, `${indent}  `);

/** The first line at one indent, the others at another. */
function hung(text: string, first: string, others: string): string[] {
  return wrap(text, others).map((line, at) => (at === 0 ? first + line.slice(others.length) : line));
}

function warnings({ warnings: all }: ProtectionReport): string[] {
  if (all.length === 0) return [];
  return [
    ...heading(`Warnings (${all.length})`),
    ...all.flatMap(({ id, words, fit }) => [
      ...item(`${id}  ${words}`),
      ...wrap(`To close the gap: ${fit}`, '      '),
    ]),
    '',
  ];
}

function hazards({ hazards: all }: ProtectionReport): string[] {
  return [
    ...heading(`Hazards (${all.length})`),
    ...all.flatMap((hazard) => [
      `  ${hazard.id}  ${hazard.title}`,
      ...wrap(hazard.consequence, '        '),
      ...wrap(`Safeguards: ${heldWords(hazard)}`, '        '),
    ]),
    '',
  ];
}

/** Which rows hold a hazard; shared with the page. */
export function heldWords({ ownRows, generalRows }: ReportedHazard): string {
  const own = ownRows.length === 0 ? 'no interlock of its own' : ownRows.join(', ');
  return `${own}; and ${counted(generalRows.length, 'interlock')} that watch${generalRows.length === 1 ? 'es' : ''} readings, devices and the link on its way`;
}

function coverage({ coverage: { software, hardware, nothing } }: ProtectionReport): string[] {
  return [
    ...heading('Safeguards in software'),
    ...wrap(COVERED.software, '  '),
    ...software.map(
      ({ id, title, own, general }) =>
        `  ${id}  ${title.padEnd(64)} ${String(own).padStart(3)} of its own, ${String(general).padStart(3)} general`,
    ),
    '',
    ...heading(`Safeguards in hardware only (${hardware.length})`),
    ...wrap(COVERED.hardware, '  '),
    ...byFit(hardware).flatMap(([fit, gaps]) => [
      '',
      ...item(`[ ] ${fit}`),
      ...gaps.flatMap((gap) => item(gapWords(gap), '      ')),
    ]),
    '',
    ...heading('No safeguard'),
    ...wrap(COVERED.nothing, '  '),
    ...nothing.single.flatMap((gap) => item(`- ${gapWords(gap)}`)),
    ...nothing.withoutRows.flatMap(({ id, title }) => item(`- ${id} ${title}: no interlock of its own`)),
    ...nothing.missing.flatMap(({ id, words, fit }) => item(`- ${id}: ${words} ${fit}`)),
    ...(nothing.single.length + nothing.withoutRows.length + nothing.missing.length === 0
      ? ['  Nothing that the station file could tell.']
      : []),
    '',
  ];
}

/** `G-04  Transfer: siphons on -> H-02, H-04`. */
const gapWords = ({ id, when, hazards: all }: ReportedGap): string =>
  `${id}  ${when.join(' + ')} -> ${all.map((hazard) => hazard.id).join(', ')}`;

export const COVERED = {
  software:
    'For every failure that is not in the next table these interlocks are there: those of its own look at what threatens, the general ones at readings, devices and the link. Whether they are enough is tried by the commands prove and trial, on a model of the water.',
  hardware:
    'Where all of these fail at once, every command may be right and the harm comes all the same. The boxes are for whoever has looked that the hardware is there and tried it.',
  nothing:
    'While the hardware above is not fitted, one failure is enough for each of these; and what the station file itself says is missing.',
} as const;

/** What would close them, and the gaps that it closes. */
export function byFit(gaps: readonly ReportedGap[]): readonly (readonly [string, readonly ReportedGap[]])[] {
  const groups = new Map<string, ReportedGap[]>();
  for (const gap of gaps) groups.set(gap.fit, [...(groups.get(gap.fit) ?? []), gap]);
  return [...groups];
}

function rows({ chapters }: ProtectionReport): string[] {
  const count = chapters.reduce((sum, chapter) => sum + chapter.rows.length, 0);
  return [
    ...heading(`Interlocks (${count})`),
    ...chapters.flatMap(({ title, rows: all }) => [
      '',
      `  ${title} (${all.length})`,
      ...all.flatMap(rowLines),
    ]),
    '',
  ];
}

function rowLines({ key, words, does, latch, reset, bypass, hardware, steps }: ReportedRow): string[] {
  return [
    ...hung(`${key}  ${does}`, '    ', '        '),
    ...wrap(`Active while ${words}`, '        '),
    ...wrap(`${capital(latch)}; reset ${reset}. Needs: ${hardware}.`, '        '),
    ...wrap(bypassWords(bypass), '        '),
    ...steps.flatMap(({ step, text }) =>
      hung(`${STEP_WORDS[step].padEnd(9)}${text}`, '        ', ' '.repeat(17)),
    ),
  ];
}

/** What kind of step it is, for a column before it. */
export const STEP_WORDS: Readonly<Record<StepKind, string>> = {
  first: 'first',
  caution: 'caution',
  do: 'do',
  consequence: 'else',
  check: 'check',
  if: 'if',
  later: 'later',
  clears: 'ends',
  reset: 'reset',
  plain: 'do',
};

export const bypassWords = (where: string): string =>
  where === '' ? '' : `May be bypassed for a while, only where ${where}.`;

const capital = (text: string): string => text.replace(/^./u, (letter) => letter.toUpperCase());

function proofTests({ proof: { schedule, tests, untried } }: ProtectionReport): string[] {
  return [
    ...heading(`Proof-test plan (${tests.length})`),
    ...wrap(`${PROOF_WORDS} ${schedule}`, '  '),
    ...tests.flatMap(({ row, sensorName, instruction, everyDays, seconds }) => [
      ...item(`[ ] ${row}  every ${everyDays} d, answers within ${seconds} s: ${sensorName}`),
      ...wrap(instruction, '      '),
    ]),
    '',
    '  Without a test by hand:',
    ...untried.flatMap(([ids, why]) => item(`- ${ids}: ${why}`)),
    '',
  ];
}

export const PROOF_WORDS =
  'Diagnostics see no float that salt has glued down: only trying does. Hands dry, mains circuits of the vat off before anybody reaches into it.';

function causes({ causes: all, unplaced }: ProtectionReport): string[] {
  return [
    ...heading(`Common causes (${all.length})`),
    ...wrap(CAUSE_WORDS, '  '),
    ...all.flatMap((cause) => [
      ...item(`${cause.id}  ${cause.name}: ${cause.members.join('; ')}`),
      ...wrap(cause.words, '        '),
      ...lossLines(cause).flatMap((line) => wrap(line, '        ')),
    ]),
    ...wrap(unplacedWords(unplaced), '  '),
    '',
  ];
}

export const CAUSE_WORDS =
  'One thing, and everything that fails with it. The worst is assumed: all of it at the same moment and in the direction that hurts. Feedback is taken to come from the contact itself, not from the board that switches it.';

export const unplacedWords = (names: readonly string[]): string =>
  names.length === 0
    ? ''
    : `Nobody said what these share; they are taken to be independent: ${names.join('; ')}.`;

export function lossLines({ losses }: ReportedCause): string[] {
  const named = (many: 0 | 1) =>
    losses.filter(({ left }) => left === many).map(({ id, title }) => `${id} ${title}`);
  const [all, one] = [named(0), named(1)];
  return [
    ...(all.length === 0 ? [] : [`EVERY barrier lost: ${all.join('; ')}.`]),
    ...(one.length === 0 ? [] : [`One more failure is then enough: ${one.join('; ')}.`]),
    ...(all.length + one.length === 0 ? ['No hazard loses its last barriers by it.'] : []),
  ];
}

function trees({ hazards: all }: ProtectionReport): string[] {
  return [
    ...heading('Fault trees'),
    ...wrap(TREE_WORDS, '  '),
    ...EVENT_KINDS.flatMap(([kind, words]) => item(`- ${kind}: ${words}`)),
    ...all.flatMap(treeLines),
    '',
  ];
}

export const TREE_WORDS =
  'How each hazard comes about, after the table of gaps. ANY: one of the branches is enough. ALL: the branches must come together. Common causes stand where they take more than one branch of an ALL. Below each tree its minimal sets: what fails there is enough, and nothing can be left out.';

function treeLines(hazard: ReportedHazard): string[] {
  const { id, tree } = hazard;
  return [
    '',
    ...item(`${id}  ${tree === null ? hazard.title : nodeWords(tree)}`),
    ...(tree === null || !('children' in tree)
      ? []
      : tree.children.flatMap((child) => branch(child, '    '))),
    ...cutLines(hazard).flatMap((line) => item(line, '    ')),
  ];
}

function branch(node: TreeNode, indent: string): string[] {
  const lines = hung(nodeWords(node), `${indent}|- `, `${indent}|  `);
  return 'children' in node
    ? [...lines, ...node.children.flatMap((child) => branch(child, `${indent}|  `))]
    : lines;
}

function nodeWords(node: TreeNode): string {
  if (node.kind === 'cause') return `${node.event} ${node.words}`;
  if (node.kind === 'event') return node.words;
  const gate = `${node.kind.toUpperCase()} of:`;
  return node.words === '' ? gate : `${node.words.replace(/\.$/u, '')}. ${gate}`;
}

export function cutLines({ tree, cuts: { ones, twos, more } }: ReportedHazard): string[] {
  if (tree === null)
    return ['The table of gaps has no way to this hazard. That is no proof that there is none.'];
  const set = (leaves: readonly Leaf[]) =>
    leaves.map(({ kind, event, words }) => (kind === 'cause' ? `${event} ${words}` : words)).join(' + ');
  return [
    ones.length === 0
      ? 'No single failure is enough.'
      : `One failure is enough: ${ones.map(set).join('; ')}.`,
    twos.length === 0
      ? 'No two failures are enough.'
      : `Two together are enough: ${twos.map(set).join('; ')}.`,
    ...(more === 0 ? [] : [`Sets of three failures or more: ${more}.`]),
  ];
}

function outside({ askedFor, besides, notClaimed }: ProtectionReport): string[] {
  return [
    ...heading('The hard-wired layer that is asked for'),
    ...wrap(HARD_WIRED_WORDS, '  '),
    ...askedFor.flatMap(([what, words]) => item(`[ ] ${what}. ${words}`)),
    ...besides.flatMap((sentence) => wrap(sentence, '  ')),
    '',
    ...heading('What is not claimed'),
    ...notClaimed.flatMap((sentence) => item(`- ${sentence}`)),
  ];
}

export const HARD_WIRED_WORDS =
  'Software is the first layer, never the last. These work with the computer off:';
