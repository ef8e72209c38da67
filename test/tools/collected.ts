// Where SQLite is not Node's own, a file that was closed stays open until its statements are collected: a test that moves
// disks about, or looks at what lies there, has them collected now.
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';

export async function collected(): Promise<void> {
  setFlagsFromString('--expose-gc');
  const collect = runInNewContext('gc') as () => void;
  for (let turn = 0; turn < 3; turn += 1) {
    collect();
    await new Promise(setImmediate);
  }
}
