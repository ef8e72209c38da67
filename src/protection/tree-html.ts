// A fault tree drawn with lists: the branches hang on a single line where any of them is enough, on a double line where they
// must come together. A list wraps its words on a telephone and breaks over pages, which one large picture does not.
import { type Markup, markup } from '../plan/markup.ts';
import type { ReportedHazard } from './report.ts';
import { cutLines } from './text.ts';
import type { TreeNode } from './tree.ts';

/** Beside its word, or, where it stands alone, with a label. */
const mark = (inner: Markup, label = ''): Markup =>
  label === ''
    ? markup`<svg class="mark" viewBox="0 0 10 10" aria-hidden="true">${inner}</svg>`
    : markup`<svg class="mark" viewBox="0 0 10 10" role="img" aria-label="${label}">${inner}</svg>`;

/** A failure by itself. */
const RING = markup`<circle cx="5" cy="5" r="4"/>`;
export const FAILURE = mark(RING);
export const ONE_MORE = mark(RING, 'one more failure is then enough');
/** A thing that takes several along. */
const SQUARE = markup`<rect class="solid" x="1" y="1" width="8" height="8"/>`;
export const SHARED = mark(SQUARE);
export const ALL_LOST = mark(SQUARE, 'every barrier is lost with it');
const ANY = mark(markup`<path d="M2 0V10M2 2H9M2 8H9"/>`);
const ALL = mark(markup`<path d="M1 0V10M4 0V10M4 2H9M4 8H9"/>`);

const GATES = { any: 'any of:', all: 'all of:' } as const;

export const LEGEND = markup`<ul class="legend"><li>${ANY} any of: one is enough</li><li>${ALL} all of: they must come together</li><li>${FAILURE} a failure</li><li>${SHARED} a common cause</li></ul>
`;

/** Its top is the hazard that stands above it, so only the gate is told. */
export function treePart(tree: TreeNode): Markup {
  return markup`<div class="tree">
${head('children' in tree ? { ...tree, words: '' } : tree)}${below(tree)}</div>
`;
}

function head(node: TreeNode): Markup {
  if (node.kind === 'event') return markup`${FAILURE} ${node.words}`;
  if (node.kind === 'cause')
    return markup`${SHARED} <a href="#${node.event}">${node.event}</a> ${node.words}`;
  return markup`${node.words} <span class="gate">${GATES[node.kind]}</span>`;
}

function below(node: TreeNode): Markup {
  if (!('children' in node)) return markup``;
  return markup`
<ul class="${node.kind}">
${node.children.map((child) => markup`<li>${head(child)}${below(child)}</li>\n`)}</ul>
`;
}

/** `One failure is enough: ...`, its first words bold. */
export function cutsPart(hazard: ReportedHazard): Markup {
  return markup`${cutLines(hazard).map((line) => {
    const at = line.indexOf(': ') + 1;
    return markup`<p class="sets"><b>${line.slice(0, at)}</b>${line.slice(at)}</p>\n`;
  })}`;
}
