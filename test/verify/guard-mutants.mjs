// Mistakes in the guard, one at a time, in a copy of the built product: do the accidents of the exploration notice?
//   npm run build && node test/verify/guard-mutants.mjs [station ...]
// First the accidents of each station are found, with the guard as it is (`prove --rows`). Then each mistake is judged by them
// in a process of its own: see guard-judge.mjs. MISTAKES=text takes some of those that are written here; DRAWN=200 SEED=1 draws
// so many others from the guard, by a number that is printed; WORKERS=n; KEEP=folder keeps what was found, for the next time.
// The last line says how many were noticed, and the interval (Wilson, 95 %) of the share among all that could be drawn.
import { execFileSync, spawn } from 'node:child_process';
import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import { basename, join, resolve } from 'node:path';
import { Instrumenter } from '@stryker-mutator/instrumenter';

/** What is written in place of what, in which file of `dist/control/guard`. */
const WRITTEN = [
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
/** Files of the guard that only say what is the case, and decide nothing. */
const TELLING = ['causes', 'looks', 'look', 'about-rows', 'response', 'message', 'types', 'guard'];
const LOOP_MS = 120_000;

const { MISTAKES, DRAWN, SEED = '1', WORKERS = String(availableParallelism()), KEEP } = process.env;
const stations = (
  process.argv.length > 2
    ? process.argv.slice(2)
    : ['one-vat', 'marram-point', 'unequal-vats'].map((id) => `schemas/examples/${id}.json`)
).map((file) => resolve(file));

const temporary = mkdtempSync(join(tmpdir(), 'mistakes-'));
const kept = KEEP === undefined ? temporary : resolve(KEEP);
mkdirSync(kept, { recursive: true });

/** A copy of the product that may be spoiled. */
function copy(name) {
  const folder = join(temporary, name);
  for (const part of ['dist', 'schemas', 'package.json'])
    cpSync(part, join(folder, part), { recursive: true });
  symlinkSync(resolve('node_modules'), join(folder, 'node_modules'));
  return folder;
}
const guardIn = (folder, file) => join(folder, 'dist', 'control', 'guard', `${file}.js`);
const judge = resolve('test/verify/guard-judge.mjs');
const recordOf = (station) => join(kept, `${basename(station, '.json')}.json`);

/** Accidents and runs of a station with the guard as it is; every accident that comes there all the same would be an error here. */
function recorded(station) {
  const file = recordOf(station);
  if (existsSync(file) && JSON.parse(readFileSync(file, 'utf8')).runs !== undefined) return;
  const options = { encoding: 'utf8', maxBuffer: 1 << 28, stdio: ['ignore', 'pipe', 'inherit'] };
  if (!existsSync(file))
    writeFileSync(
      file,
      execFileSync(
        'node',
        ['dist/cli/main.js', 'prove', station, '--rows', '--json', '--workers', WORKERS],
        options,
      ),
    );
  const { accidents } = JSON.parse(readFileSync(file, 'utf8'));
  writeFileSync(file, JSON.stringify({ accidents }));
  const { runs } = JSON.parse(execFileSync('node', [judge, '.', station, file], options));
  writeFileSync(file, JSON.stringify({ accidents, runs }));
  const { noticed } = JSON.parse(execFileSync('node', [judge, '.', station, file], options));
  if (noticed !== null) throw new Error(`${station}, with the guard as it is: ${noticed}`);
}

const asked = (folder, station, env) =>
  new Promise((done) => {
    const child = spawn('node', [judge, folder, station, recordOf(station)], {
      env: { ...process.env, ...env },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    let said = '';
    let wrong = '';
    child.stdout.on('data', (text) => (said += text));
    child.stderr.on('data', (text) => (wrong += text));
    const loops = setTimeout(() => child.kill('SIGKILL'), LOOP_MS);
    child.on('close', (code, signal) => {
      clearTimeout(loops);
      if (code === 0) done(JSON.parse(said).noticed);
      else
        done(signal === null ? `does not start: ${/\w*Error: .*/u.exec(wrong)?.[0] ?? code}` : 'never ends');
    });
  });

async function judged(folder, env = {}) {
  for (const station of stations) {
    const noticed = await asked(folder, station, env);
    if (noticed !== null) return `${basename(station, '.json')}: ${noticed}`;
  }
  return null;
}

function* written() {
  for (const { name, file, was, is } of WRITTEN.filter((one) => one.name.includes(MISTAKES ?? ''))) {
    const folder = copy(name.replaceAll(' ', '-'));
    const path = guardIn(folder, file);
    const text = readFileSync(path, 'utf8');
    if (text.split(was).length !== 2) throw new Error(`${file}.js does not have once: ${was}`);
    writeFileSync(path, text.replace(was, is));
    yield { name, judge: () => judged(folder).finally(() => rmSync(folder, { recursive: true })) };
  }
}

/** Mulberry32: the same mistakes for the same number. */
const drawing = (seed) => () => {
  seed = (seed + 0x6d2b79f5) | 0;
  let bits = Math.imul(seed ^ (seed >>> 15), 1 | seed);
  bits = (bits + Math.imul(bits ^ (bits >>> 7), 61 | bits)) ^ bits;
  return ((bits ^ (bits >>> 14)) >>> 0) / 4294967296;
};

async function* drawn(count) {
  const folder = copy('drawn');
  const silent = { debug() {}, info() {}, warn() {}, isDebugEnabled: () => false };
  const names = readdirSync(join(folder, 'dist', 'control', 'guard'))
    .filter((name) => name.endsWith('.js') && !TELLING.includes(basename(name, '.js')))
    .map((name) => guardIn(folder, basename(name, '.js')));
  const files = names.map((name) => ({ name, mutate: true, content: readFileSync(name, 'utf8') }));
  const { files: spoiled, mutants } = await new Instrumenter(silent).instrument(files, {
    plugins: null,
    ignorers: [],
    // Of a word or of what a row is called nothing depends that these judges could see.
    excludedMutations: ['StringLiteral'],
    noHeader: false,
  });
  for (const { name, content } of spoiled) writeFileSync(name, content);
  const random = drawing(Number(SEED));
  const left = [...mutants];
  console.log(`${count} of ${left.length}, drawn by ${SEED}`);
  for (let at = 0; at < count && left.length > 0; at++) {
    const [mutant] = left.splice(Math.floor(random() * left.length), 1);
    const { id, fileName, location, mutatorName, replacement } = mutant;
    const where = `${basename(fileName)}:${location.start.line + 1}:${location.start.column + 1}`;
    yield {
      name: `${where} ${mutatorName}: ${replacement.replaceAll(/\s+/gu, ' ').slice(0, 80)}`,
      judge: () => judged(folder, { __STRYKER_ACTIVE_MUTANT__: id }),
    };
  }
}

/** Wilson's interval of a share, 95 %. */
function interval(hits, all) {
  const z = 1.96;
  const share = hits / all;
  const middle = share + (z * z) / (2 * all);
  const half = z * Math.sqrt((share * (1 - share)) / all + (z * z) / (4 * all * all));
  return [middle - half, middle + half].map(
    (bound) => `${((100 * bound) / (1 + (z * z) / all)).toFixed(1)} %`,
  );
}

try {
  for (const station of stations) recorded(station);
  const mistakes = DRAWN === undefined ? written() : drawn(Number(DRAWN));
  let all = 0;
  let hits = 0;
  await Promise.all(
    Array.from({ length: Number(WORKERS) }, async () => {
      for (let next = await mistakes.next(); !next.done; next = await mistakes.next()) {
        const noticed = await next.value.judge();
        all += 1;
        hits += noticed === null ? 0 : 1;
        console.log(
          `${noticed === null ? 'NOT NOTICED' : 'noticed    '}  ${next.value.name}${noticed === null ? '' : `; ${noticed}`}`,
        );
      }
    }),
  );
  console.log(`${hits} of ${all} noticed; 95 % interval ${interval(hits, all).join(' to ')}`);
} finally {
  rmSync(temporary, { recursive: true, force: true });
}
