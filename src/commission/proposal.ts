// What a trial proposes for the station file: members to be set, taken out or exchanged, and the difference that they make in
// its text, as `diff -u` would print it.
import { withMember } from '../station/edit.ts';
import { follow } from '../station/pointer.ts';

export interface Edit {
  readonly path: readonly string[];
  /** Null: taken out. */
  readonly value: unknown;
}

export const changed = (text: string, edits: readonly Edit[]): string =>
  edits.reduce((now, { path, value }) => withMember(now, path, value === null ? undefined : value), text);

/** Exchanges members between two entries of a section, as the file writes them: where an entry names its device, that. */
export function exchanged(
  text: string,
  section: 'actuators' | 'sensors',
  [one, other]: readonly [string, string],
  keys: readonly string[],
): readonly Edit[] {
  const file = JSON.parse(text) as unknown;
  const of = (id: string, key: string) => follow(file, [section, id, key]);
  const named = ['device', 'channel'];
  const both = [one, other].some((id) => of(id, 'device') !== undefined) ? named : keys;
  return both.flatMap((key) => {
    const [a, b] = [of(one, key), of(other, key)];
    if (JSON.stringify(a) === JSON.stringify(b)) return [];
    return [
      { path: [section, one, key], value: b ?? null },
      { path: [section, other, key], value: a ?? null },
    ];
  });
}

const CONTEXT = 3;

/** One hunk from the first line that differs to the last; '' where nothing does. */
export function unifiedDiff(name: string, before: string, after: string): string {
  if (before === after) return '';
  const [a, b] = [before.split('\n'), after.split('\n')];
  let head = 0;
  while (head < a.length && head < b.length && a[head] === b[head]) head++;
  let tail = 0;
  while (tail < a.length - head && tail < b.length - head && a.at(-1 - tail) === b.at(-1 - tail)) tail++;
  const from = Math.max(0, head - CONTEXT);
  const lead = a.slice(from, head).map((line) => ` ${line}`);
  const trail = a.slice(a.length - tail, a.length - tail + CONTEXT).map((line) => ` ${line}`);
  // The empty piece behind the last line break is no line.
  if (tail <= CONTEXT && a.at(-1) === '') trail.pop();
  const minus = a.slice(head, a.length - tail);
  const plus = b.slice(head, b.length - tail);
  const middle = linesBetween(minus, plus);
  const counts = (sign: string) =>
    lead.length +
    trail.length +
    middle.filter((line) => line.startsWith(sign) || line.startsWith(' ')).length;
  return [
    `--- ${name}`,
    `+++ ${name}`,
    `@@ -${from + 1},${counts('-')} +${from + 1},${counts('+')} @@`,
    ...lead,
    ...middle,
    ...trail,
    '',
  ].join('\n');
}

/** Lines that both have stay: the longest common subsequence, which is small between two versions of one file. */
function linesBetween(a: readonly string[], b: readonly string[]): readonly string[] {
  const table = Array.from({ length: a.length + 1 }, () => new Array<number>(b.length + 1).fill(0));
  const at = (i: number, j: number): number => table[i]?.[j] ?? 0;
  for (let i = a.length - 1; i >= 0; i--)
    for (let j = b.length - 1; j >= 0; j--)
      (table[i] as number[])[j] = a[i] === b[j] ? at(i + 1, j + 1) + 1 : Math.max(at(i + 1, j), at(i, j + 1));
  const lines: string[] = [];
  let [i, j] = [0, 0];
  while (i < a.length || j < b.length) {
    if (i < a.length && j < b.length && a[i] === b[j]) {
      lines.push(` ${a[i++]}`);
      j++;
    } else if (i < a.length && (j >= b.length || at(i + 1, j) >= at(i, j + 1))) lines.push(`-${a[i++]}`);
    else lines.push(`+${b[j++]}`);
  }
  return lines;
}
