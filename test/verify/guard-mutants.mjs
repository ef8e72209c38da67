// Mistakes in the guard, one at a time, in a copy of the built product: does the exploration of the guard alone break?
//   npm run build && node test/verify/guard-mutants.mjs [station ...]      all mistakes; MUTANT=text takes some, WORKERS=n
// Each ends at its first accident. What is not noticed is printed as such: the other rows hold it under every single fault that is
// explored here, or this coarse world has nothing that it would spoil.
import { cpSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

/** What is written in place of what, in which file of `dist/control/guard`. */
const MISTAKES = [
  {
    name: 'stale sensors are believed',
    file: 'evidence',
    was: 'sensor.fault === null && sensor.live && sensor.ageMs <= maxAgeMs',
    is: 'sensor.fault === null && sensor.live',
  },
  {
    name: 'stale feedback is believed',
    file: 'evidence',
    was: 'return device.feedbackAgeMs > feedback.maxAgeMs ? null : device.feedback',
    is: 'return device.feedback',
  },
  {
    name: 'contents are a tenth too narrow',
    file: 'contents',
    was: 'held.mostL = clamp(held.settledMostL + pending.mostL, vessel)',
    is: 'held.mostL = clamp(held.settledMostL + pending.mostL - 0.1 * vessel.capacityL, vessel)',
  },
  {
    name: 'the sign of the book is turned',
    file: 'contents',
    was: 'held.bookMostL += mostL',
    is: 'held.bookMostL -= mostL',
  },
  {
    name: 'stored messages are believed',
    file: 'evidence',
    was: 'if (!input.live) {\n        if (!seen.live)',
    is: 'if (false) {\n        if (!seen.live)',
  },
  {
    name: 'evidence is kept over a lost link',
    file: 'evidence',
    was: 'Object.assign(sensor, { live: false, believed: null })',
    is: 'void sensor',
  },
  {
    name: 'a lease has run out at once',
    file: 'off-proof',
    was: 'return device.leaseLeftMs <= 0 && device.offsSent > 0',
    is: 'return device.offsSent > 0',
  },
  {
    name: 'whoever comes back takes everything to be off',
    file: 'evidence',
    was: '{ provenOff: false, offsSent: 0 })',
    is: '{ provenOff: true, offsSent: 1 })',
  },
  {
    name: 'the balance of the salt is not asked',
    file: 'acceptance',
    was: 'if (salinity < least - SECOND_INSTRUMENT || salinity > most + SECOND_INSTRUMENT)',
    is: 'if (false)',
  },
];

const { MUTANT = '', WORKERS } = process.env;
const stations =
  process.argv.length > 2 ? process.argv.slice(2) : ['one-vat', 'marram-point', 'unequal-vats'];

for (const { name, file, was, is } of MISTAKES.filter((one) => one.name.includes(MUTANT))) {
  const folder = mkdtempSync(join(tmpdir(), 'mistake-'));
  try {
    for (const part of ['dist', 'schemas', 'package.json'])
      cpSync(part, join(folder, part), { recursive: true });
    symlinkSync(resolve('node_modules'), join(folder, 'node_modules'));
    const path = join(folder, 'dist', 'control', 'guard', `${file}.js`);
    const text = readFileSync(path, 'utf8');
    if (text.split(was).length !== 2) throw new Error(`${file}.js does not have once: ${was}`);
    writeFileSync(path, text.replace(was, is));
    const from = (module) => import(pathToFileURL(join(folder, 'dist', module)).href);
    const { breakOf } = await from('verify/prove/necessity.js');
    const { plantIn } = await from('cli/files.js');
    let noticed = null;
    const began = performance.now();
    for (const station of stations) {
      const saved = await breakOf(plantIn(join(folder, 'schemas', 'examples', `${station}.json`)), {
        ...(WORKERS === undefined ? {} : { workers: Number(WORKERS) }),
      });
      if (saved === null) continue;
      noticed = `${station}: ${saved.words}, under ${saved.fault || 'no fault at all'}`;
      break;
    }
    const seconds = ((performance.now() - began) / 1000).toFixed(0);
    console.log(
      `${noticed === null ? 'NOT NOTICED' : 'noticed    '}  ${name}; ${noticed ?? 'held'} (${seconds} s)`,
    );
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
