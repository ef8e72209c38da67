// Where SQLite is not Node's own, a file that was closed stays open until its statements are collected: a test that moves
// disks about, or looks at what lies there, has them collected first.
import { readdirSync } from 'node:fs';
import { setTimeout as after } from 'node:timers/promises';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';

const TURNS = 100;

/**
 * Waits until the file lies alone in its folder, without what is beside it while it is open: one collection does not promise
 * all of them. Gives up after that many turns, and leaves it to the test to say what it found.
 */
export async function collected(directory: string): Promise<void> {
  setFlagsFromString('--expose-gc');
  const collect = runInNewContext('gc') as () => void;
  for (let turn = 0; turn < TURNS && readdirSync(directory).length > 1; turn += 1) {
    collect();
    await after(10);
  }
}
