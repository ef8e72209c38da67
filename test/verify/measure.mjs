// The long runs behind the table of the README: node test/verify/measure.mjs [trial] [kinds] [prove] [guard] [rows] [hostile] [guard-mutants] [kills] [journal-kills] [payloads] [sequences] [mutants] [plant] [families] [page]
// `trial` are nights of the examples, `kinds` nights of stations of other kinds (test/stations). ONLY=gravity,one-pump takes some
// of them and WORKERS=1 one processor, so that two processes can share the work of two: they write into one record.
// Each part that is named (none: all) is run with the built product, and its figures are written into measured.json beside
// this file, with the day and the machine. A part that fails writes nothing and ends the run with exit code 1.
import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { cpus } from 'node:os';

const RECORD = new URL('measured.json', import.meta.url);
const EXAMPLES = ['marram-point', 'one-vat', 'unequal-vats'];
const KINDS = [
  'gravity',
  'reef-and-nursery',
  'one-vat-two-systems',
  'shed',
  'level-only',
  'one-pump',
  'coarse-meters',
  'no-system-floats',
  'by-hand',
  'doser-heater',
];
const fileOf = (station) =>
  EXAMPLES.includes(station) ? `schemas/examples/${station}.json` : `test/stations/${station}.json`;
const { NIGHTS, GO_ON, ONLY, WORKERS } = process.env;
/** Nights of each station where NIGHTS says nothing else. */
const USUAL = { trial: 10_000, kinds: 500 };
/** Nights are recorded in slices, so that a run that is stopped keeps those it has done; GO_ON=1 goes on behind them. */
const SLICE = 500;
const NO_NIGHTS = {
  nights: 0,
  held: 0,
  stationHours: 0,
  steps: 0,
  deliveredL: 0,
  longestCycleHours: 0,
  gaps: [],
  failures: 0,
  seconds: 0,
};

function run(command, args, env = {}) {
  const startMs = Date.now();
  const { status, stdout, stderr } = spawnSync(command, args, {
    env: { ...process.env, ...env },
    encoding: 'utf8',
    maxBuffer: 1 << 28,
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  return { status, stdout, stderr, seconds: Math.round((Date.now() - startMs) / 1000) };
}

const cli = (...args) => run(process.execPath, ['dist/cli/main.js', ...args]);
const tests = (env, ...args) => run('npx', ['vitest', 'run', ...args], env);

function must({ status, stdout, stderr, seconds }, what) {
  if (status === 0) return { stdout, seconds };
  process.stderr.write(`${what}: exit code ${status}\n${stdout.slice(-4000)}\n${stderr.slice(-4000)}\n`);
  process.exit(1);
}

/** Nights of one station; the first slice that does not hold ends it. */
const nights = (most) => (station, keep) => {
  let sum = GO_ON === undefined ? NO_NIGHTS : (recorded()[`trial ${station}`] ?? NO_NIGHTS);
  while (sum.nights < most) {
    const slice = Math.min(SLICE, most - sum.nights);
    const args = ['--seeds', String(slice), '--seed', String(sum.nights + 1), '--json', ...workers];
    const { stdout, seconds } = must(cli('trial', fileOf(station), ...args), `trial ${station}`);
    sum = added(sum, JSON.parse(stdout), seconds);
    keep(sum);
  }
  return sum;
};
const workers = WORKERS === undefined ? [] : ['--workers', WORKERS];

const PARTS = {
  trial: nights(Number(NIGHTS ?? USUAL.trial)),
  kinds: nights(Number(NIGHTS ?? USUAL.kinds)),
  prove: (station) => {
    const { stdout, seconds } = must(cli('prove', fileOf(station), '--json', ...workers), `prove ${station}`);
    const { places, transitions, singles } = JSON.parse(stdout);
    const bounded = singles.filter(({ complete }) => !complete);
    return {
      faults: singles.length,
      whole: singles.length - bounded.length,
      leastDepth: bounded.length > 0 ? Math.min(...bounded.map(({ depth }) => depth)) : null,
      places,
      transitions,
      seconds,
    };
  },
  guard: (station) => {
    const { stdout, seconds } = must(
      cli('prove', fileOf(station), '--guard', '--json', ...workers),
      `prove --guard ${station}`,
    );
    const { repertoires, faults, places, transitions, runs } = JSON.parse(stdout);
    const whole = runs.filter(({ complete }) => complete).length;
    return { repertoires, faults, runs: runs.length, whole, places, transitions, seconds };
  },
  rows: (station) => {
    const { stdout, seconds } = must(
      cli('prove', fileOf(station), '--rows', '--json', ...workers),
      `prove --rows ${station}`,
    );
    const { needs, accidents } = JSON.parse(stdout);
    const told = needs.map(({ kind, behind, saves }) => ({ kind, behind, saves }));
    return { accidents: accidents.length, needs: told, seconds };
  },
  hostile: (station) => {
    const nights = NIGHTS ?? '500';
    const { stdout, seconds } = must(
      cli('trial', fileOf(station), '--hostile', '--seeds', nights, '--json', ...workers),
      `trial --hostile ${station}`,
    );
    const { rows } = JSON.parse(stdout);
    const met = Object.entries(rows).filter(([, { held }]) => held > 0);
    const told = met.map(([kind, { held, saved }]) => [kind, { held, saved }]);
    return { nights: Number(nights), rows: Object.fromEntries(told), seconds };
  },
  'guard-mutants': () => {
    const env = { DRAWN: process.env.DRAWN ?? '200', ...(WORKERS === undefined ? {} : { WORKERS }) };
    const { stdout, seconds } = must(
      run(process.execPath, ['test/verify/guard-mutants.mjs'], env),
      'guard-mutants',
    );
    const [, noticed, mutants, interval] = /(\d+) of (\d+) noticed; (.*)/u.exec(stdout) ?? [];
    return { mutants: Number(mutants), noticed: Number(noticed), interval, seconds };
  },
  kills: () => {
    const kills = process.env.KILLS ?? '500';
    const { stdout, seconds } = must(tests({ KILLS: kills }, 'test/verify/kills.test.ts'), 'kills');
    return { words: /\d+ kills in .*/u.exec(stdout)?.[0] ?? '', kills: Number(kills), seconds };
  },
  'journal-kills': () => {
    const kills = process.env.JOURNAL_KILLS ?? '500';
    const { stdout, seconds } = must(
      tests({ JOURNAL_KILLS: kills }, 'test/journal/killed.test.ts'),
      'journal-kills',
    );
    return { words: /\d+ kills, .*/u.exec(stdout)?.[0] ?? '', seconds };
  },
  payloads: () => {
    const payloads = process.env.PAYLOADS ?? '10000000';
    const { seconds } = must(tests({ PAYLOADS: payloads }, 'test/bridge/codec.test.ts'), 'payloads');
    return { payloads: Number(payloads), seconds };
  },
  sequences: () => {
    const each = process.env.SEQUENCES ?? '250000';
    const { seconds } = must(
      tests({ SEQUENCES: each }, 'test/control/properties.test.ts', 'test/control/promises.test.ts'),
      'sequences',
    );
    return { each: Number(each), stations: 4, seconds };
  },
  plant: () => {
    const { DAYS = '10', SEED = '7' } = process.env;
    const tool = ['--import', './test/bench/tools/typescript.mjs', 'test/second-plant/run.ts'];
    const { stdout, seconds } = must(
      run(process.execPath, [...tool, '--days', DAYS, '--seed', SEED]),
      'plant',
    );
    const { verdict, movedL, steps, messages, faults } = JSON.parse(stdout);
    const { spilledL, offSpecL, dryS } = verdict;
    return {
      days: Number(DAYS),
      faults: faults.length,
      movedL,
      spilledL,
      offSpecL,
      dryS,
      steps,
      messages,
      seconds,
    };
  },
  families: () => {
    const { stdout, seconds } = must(
      tests({ FAMILIES: '1' }, 'test/families/over-a-broker.test.ts', '-t', 'whole cycle'),
      'families (VATWARDEN_RIG names the program of the rig)',
    );
    const days = [...stdout.matchAll(/family day: (.*)/gu)].map(([, day]) => JSON.parse(day));
    if (days.length === 0) must({ status: 1, stdout, stderr: 'no day was run', seconds }, 'families');
    return { days, seconds };
  },
  page: () => {
    const { stdout, seconds } = must(tests({ MEASURED: '1' }, 'test/panel/page/speed.test.ts'), 'page');
    return { words: [...stdout.matchAll(/measured: (.*)/gu)].map(([, words]) => words).join('; '), seconds };
  },
  mutants: () => {
    const { seconds } = must(run('npx', ['stryker', 'run', 'test/control/mutate.json']), 'mutants');
    const { files } = JSON.parse(
      readFileSync(new URL('../../coverage/mutants.json', import.meta.url), 'utf8'),
    );
    const all = Object.values(files).flatMap(({ mutants }) => mutants.map(({ status }) => status));
    const noticed = all.filter((status) => status === 'Killed' || status === 'Timeout').length;
    return { mutants: all.length, noticed, seconds };
  },
};

/** A slice of nights on top of those before it. */
function added(sum, { nights, held, stationHours, steps, deliveredL, cycleHours, gaps, failures }, seconds) {
  return {
    nights: sum.nights + nights,
    held: sum.held + held,
    stationHours: Math.round(sum.stationHours + stationHours),
    steps: sum.steps + steps,
    deliveredL: Math.round(sum.deliveredL + deliveredL),
    longestCycleHours: Math.max(sum.longestCycleHours, cycleHours.most),
    gaps: gapsOf([...sum.gaps, ...gaps]),
    failures: sum.failures + failures.length,
    seconds: sum.seconds + seconds,
  };
}

/** Each gap once, in how many nights. */
function gapsOf(gaps) {
  const found = new Map();
  for (const { gap, about, nights, fit } of gaps)
    found.set(`${gap} ${about}`, {
      gap,
      about,
      nights: (found.get(`${gap} ${about}`)?.nights ?? 0) + nights,
      fit,
    });
  return [...found.values()];
}

const asked = process.argv.slice(2);
const unknown = asked.filter((part) => PARTS[part] === undefined);
if (unknown.length > 0) {
  process.stderr.write(
    `there is no part ${unknown.join(', ')}; there are ${Object.keys(PARTS).join(', ')}\n`,
  );
  process.exit(2);
}
const recorded = () => JSON.parse(readFileSync(RECORD, 'utf8'));
/** Read again each time: another process may have written its own figures meanwhile. */
function keep(name, figures) {
  const day = new Date().toISOString().slice(0, 10);
  const machine = `${cpus().length} cores, Node ${process.versions.node}`;
  const record = { ...recorded(), [name]: { ...figures, day, machine } };
  writeFileSync(RECORD, `${JSON.stringify(record, null, 2)}\n`);
}
const STATIONS = {
  trial: EXAMPLES,
  prove: EXAMPLES,
  guard: EXAMPLES,
  rows: [...EXAMPLES, 'doser-heater', 'reef-and-nursery'],
  hostile: EXAMPLES,
  kinds: KINDS,
};
const isMeant = (station) => ONLY === undefined || ONLY.split(',').includes(station);
for (const part of asked.length > 0 ? asked : Object.keys(PARTS)) {
  for (const station of STATIONS[part]?.filter(isMeant) ?? [null]) {
    const name = station === null ? part : `${part === 'kinds' ? 'trial' : part} ${station}`;
    const figures = PARTS[part](station, (sofar) => keep(name, sofar));
    keep(name, figures);
    process.stdout.write(`${name}: ${JSON.stringify(figures)}\n`);
  }
}
