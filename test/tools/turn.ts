// Long campaigns are run where they are measured (`npm run measure`); each commit plays a small part of them here, the next
// one another part. COMMIT=HASH plays the part of that commit again.
import { spawnSync } from 'node:child_process';

const commit =
  process.env.COMMIT ?? (spawnSync('git', ['rev-parse', 'HEAD'], { encoding: 'utf8' }).stdout || '0');

/** Which of so many parts it is this commit's turn to play, from 0; the first one where there is no commit. */
export const turnOf = (parts: number): number => Number.parseInt(commit.slice(0, 8), 16) % parts;
