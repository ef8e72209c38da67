// What `trial` and `prove` share: the station, whole numbers, and a line that says how far they are.
import { readFileSync } from 'node:fs';
import { InvalidArgumentError } from 'commander';
import { loadStation } from '../station/load.ts';
import type { Plant } from '../station/plant.ts';
import { wordsOf } from '../station/problem.ts';

/** @throws Error with every problem of the file */
export function plantIn(file: string): Plant {
  const loaded = loadStation(file, readFileSync(file, 'utf8'));
  if (!loaded.ok)
    throw new Error(`the station file can't be used:\n${loaded.errors.map(wordsOf).join('\n')}`);
  return loaded.plant;
}

export function wholeNumber(text: string): number {
  if (!/^\d{1,9}$/u.test(text)) throw new InvalidArgumentError('Give a whole number from 0 to 999999999.');
  return Number(text);
}

/** On a terminal one line that is written over; elsewhere a line for every tenth. Standard error, so that a pipe stays clean. */
export function progress(what: string): (done: number, all: number, now: string) => void {
  let tenths = 0;
  return (done, all, now) => {
    if (process.stderr.isTTY) {
      process.stderr.write(`\r${done} of ${all} ${what}  ${now}`.padEnd(78).slice(0, 78));
      if (done === all) process.stderr.write('\n');
      return;
    }
    const reached = Math.floor((10 * done) / all);
    if (reached <= tenths) return;
    tenths = reached;
    process.stderr.write(`${done} of ${all} ${what}\n`);
  };
}
