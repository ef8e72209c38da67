// The exploration of `prove`: places a second and bytes for each, on the REAL core over coarse water; against SPIN's `pan` on
// a small model of the same plant, breadth first as well. What differs is most of it: a state of pan is a few bytes and
// its step some C; a place here is the state of the service, and its step is the service's own.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { proofOf } from '../../../src/verify/prove/proof.ts';
import { resultsStored } from '../results.ts';
import { type Figure, figure, type Measured, type Part } from '../tools/figures.ts';
import { plantOf } from '../tools/stations.ts';

const MODEL = fileURLToPath(new URL('../spin/station.pml', import.meta.url));
const STATION = 'schemas/examples/one-vat.json';

function run(command: string, args: readonly string[], cwd: string): string {
  const { stdout, stderr, error, status } = spawnSync(command, args, {
    cwd,
    encoding: 'utf8',
    timeout: 90_000,
  });
  if (error !== undefined) throw error;
  if (status !== 0) throw new Error(`${command}: ${stderr}`);
  return stdout;
}

/** Null where SPIN or a compiler is not installed. */
function pan(repetitions: number): Record<string, Figure> | null {
  if (spawnSync('spin', ['-V']).error !== undefined || spawnSync('gcc', ['--version']).error !== undefined)
    return null;
  const folder = mkdtempSync(join(tmpdir(), 'vatwarden-bench-'));
  try {
    run('spin', ['-a', MODEL], folder);
    run('gcc', ['-O2', '-DSAFETY', '-DBFS', '-DMEMLIM=2048', '-w', '-o', 'pan', 'pan.c'], folder);
    const said = Array.from({ length: repetitions }, () => run('./pan', ['-w22'], folder));
    const read = (words: RegExp) => said.map((text) => Number(words.exec(text)?.[1]));
    const states = read(/(\d+) states, stored/u);
    const seconds = read(/elapsed time ([\d.]+) seconds/u);
    const megabytes = read(/([\d.]+)\s+(?:actual )?memory usage for states/u);
    const rates = states.map((count, nth) => count / (seconds[nth] as number));
    const bytes = states.map((count, nth) => ((megabytes[nth] as number) * 2 ** 20) / count);
    if ([...rates, ...bytes].some((value) => !(value > 0))) throw new Error(`pan said ${said[0]}`);
    return {
      'pan-states': figure(states, ''),
      'pan-per-second': figure(rates, '1/s'),
      'pan-bytes': figure(bytes, 'B for each state'),
    };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function panStored(): { readonly figures: Record<string, Figure>; readonly day: string } | null {
  const stored = resultsStored().parts.prove;
  const figures = Object.entries(stored?.figures ?? {}).filter(([name]) => name.startsWith('pan-'));
  return stored === undefined || figures.length === 0
    ? null
    : { figures: Object.fromEntries(figures), day: stored.day };
}

export const measure: Part = async (size): Promise<Measured> => {
  const whole = size === 'whole';
  const plant = plantOf(STATION);
  const rates: number[] = [];
  const bytes: number[] = [];
  let places = 0;
  for (let nth = 0; nth < (whole ? 3 : 1); nth++) {
    const before = process.memoryUsage.rss();
    let peak = before;
    const fromMs = performance.now();
    const proof = await proofOf(plant, {
      only: whole ? 'stuck-' : 'stuck-on:supply',
      workers: 1,
      onRun: () => {
        peak = Math.max(peak, process.memoryUsage.rss());
      },
    });
    places = proof.places;
    rates.push((1_000 * places) / (performance.now() - fromMs));
    const largest = Math.max(...proof.singles.map((one) => one.places));
    bytes.push((peak - before) / largest);
  }
  const now = pan(whole ? 3 : 1);
  const old = now === null ? panStored() : null;
  const beside = now ?? old?.figures ?? {};
  const panRate = beside['pan-per-second'];
  const by: Record<string, Figure> =
    panRate === undefined
      ? {}
      : {
          'by-pan': figure(
            rates.map((rate) => rate / panRate.value),
            'x',
          ),
        };
  const notes =
    now !== null
      ? []
      : [
          old === null
            ? 'SPIN or gcc is not installed here, and nothing is stored: there is nothing to compare with.'
            : `SPIN or gcc is not installed here: the figures of pan are those of ${old.day}.`,
        ];
  return {
    figures: {
      places: figure([places], ''),
      'places-per-second': figure(rates, '1/s'),
      'bytes-per-place': figure(bytes.slice(0, 1), 'B for each place of the largest run'),
      ...beside,
      ...by,
    },
    notes: [
      `What differs: ${STATION.split('/').at(-1)} with the real core, its whole table of interlocks and every field that it remembers, against a model with a handful of rules in a few bytes; and JavaScript against C that was made for this one model.`,
      ...notes,
    ],
  };
};
