// What was measured, part by part, in results.json; the page is printed from it.
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { cpus, loadavg, release, totalmem } from 'node:os';
import type { Curve, Figure, Measured } from './tools/figures.ts';

const FILE = new URL('./results.json', import.meta.url);

export interface Result extends Measured {
  readonly day: string;
  readonly machine: string;
  readonly tookS: number;
  /** Processes that wanted a processor when the part began, by the number of processors. */
  readonly busy: number;
}

export interface Results {
  readonly parts: Readonly<Record<string, Result>>;
  /** Parts that could not be measured when they were last tried; what they said. */
  readonly failed: Readonly<Record<string, { readonly day: string; readonly words: string }>>;
}

export function resultsStored(): Results {
  return existsSync(FILE) ? JSON.parse(readFileSync(FILE, 'utf8')) : { parts: {}, failed: {} };
}

export function store(results: Results): void {
  writeFileSync(FILE, `${JSON.stringify(results, rounded, 1)}\n`);
}

/** Five digits are more than a spread leaves of them. */
const rounded = (_: string, value: unknown) =>
  typeof value === 'number' && !Number.isInteger(value) ? Number(value.toPrecision(5)) : value;

export const today = (): string => new Date().toISOString().slice(0, 10);

export const busyNow = (): number => (loadavg()[0] ?? 0) / cpus().length;

/** Who measured: processor, how many of them, memory, system, Node. */
export function machineName(): string {
  const [first] = cpus();
  const gib = Math.round(totalmem() / 2 ** 30);
  return `${cpus().length} x ${first?.model.trim() ?? 'unknown'}, ${gib} GiB, ${process.platform} ${release().split('-')[0]}, Node ${process.versions.node}`;
}

export type { Curve, Figure };
