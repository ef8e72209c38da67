// The page of errors, printed from the table of codes.
import { BANDS, CODES } from '../../src/errors/codes.ts';

export function errorsPage(): string {
  const bands = Object.entries(BANDS).flatMap(([digit, { about, exit }]) => [
    `## E-${digit}xx: ${about} (exit code ${exit})`,
    '',
    '| code | when | what to do next |',
    '| --- | --- | --- |',
    ...Object.entries(CODES)
      .filter(([code]) => code[2] === digit)
      .map(([code, { when, next }]) => `| ${code} | ${when} | ${next} |`),
    '',
  ]);
  return [
    '# Errors',
    '',
    'Generated from `src/errors/codes.ts` by `npm run generate`. Every error ends in its code; a code keeps its meaning from',
    'release to release. `--verbose` behind any command adds where in the program it arose.',
    '',
    'Exit code 0: as asked. 1: it was done, and the answer is no (`check --strict` with warnings, water that came to harm, a',
    'command that nobody confirmed, a replay that differs, a broker on which nothing was heard). The others are those of the',
    'bands below. What becomes of a running station is no error here but an alarm: the panel and the status tell those.',
    '',
    ...bands,
  ].join('\n');
}
