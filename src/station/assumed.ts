// What was assumed because the file does not say it, as lines for a person: a tolerance that nobody wrote decides as much as
// one that somebody did.
import type { Assumed } from './file/declare.ts';

/** One line for each value: what it is, where it was assumed, and where another one is stated. */
export function assumedLines(assumed: readonly Assumed[]): readonly string[] {
  const groups = new Map<string, Assumed[]>();
  for (const one of assumed) {
    const key = `${one.key} ${one.value}`;
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return [...groups.values()].flatMap((group) => {
    const [first] = group;
    if (first === undefined) return [];
    const who = group.map(({ of }) => of).filter(Boolean);
    return [
      `${first.key.replace('*', 'ID')}  ${first.value}${who.length > 0 ? `  (${who.join(', ')})` : ''}`,
    ];
  });
}
