// The reference cases: two lists of published or independently computed values, kept beside the tests that use them.
import { readFileSync } from 'node:fs';

export interface Valued {
  readonly value: number;
  readonly unit: string;
}

export interface PublicCase {
  readonly id: string;
  readonly quantity: string;
  readonly inputs: Readonly<Record<string, unknown>>;
  readonly expected: Valued;
  readonly tolerance: { readonly absolute?: number; readonly relative?: number };
  readonly source: { readonly citation: string; readonly kind: string };
  readonly note?: string;
}

/** A case in its source's own names, scales and units. */
export interface WiderCase {
  readonly id: string;
  readonly quantity: string;
  readonly inputs: Readonly<Record<string, { readonly value: unknown; readonly unit: string }>>;
  readonly expected: Valued;
  readonly tolerance: { readonly abs?: number; readonly rel?: number };
  readonly source: { readonly citation: string; readonly kind: string };
  readonly note?: string;
}

export const PUBLIC_CASES: readonly PublicCase[] = read('public.json');
export const WIDER_CASES: readonly WiderCase[] = read('wider.json');

function read<T>(name: string): T {
  return JSON.parse(readFileSync(new URL(name, import.meta.url), 'utf8')) as T;
}

/** What may lie between the value and the expected one, in the expected one's unit. */
export function allowance(oneCase: PublicCase | WiderCase): number {
  const { absolute, relative, abs, rel } = oneCase.tolerance as Partial<
    Record<'absolute' | 'relative' | 'abs' | 'rel', number>
  >;
  const fixed = absolute ?? abs;
  if (fixed !== undefined) return fixed;
  const share = relative ?? rel;
  if (share === undefined) throw new Error(`${oneCase.id} states no tolerance`);
  return share * Math.abs(oneCase.expected.value);
}

/** The tolerance as a reader writes it: `0.02 kg/m3` or `0.1 %`. */
export function writeTolerance(oneCase: PublicCase | WiderCase): string {
  const { absolute, relative, abs, rel } = oneCase.tolerance as Partial<
    Record<'absolute' | 'relative' | 'abs' | 'rel', number>
  >;
  const fixed = absolute ?? abs;
  const unit = oneCase.expected.unit.split(/[ ,(]/u)[0] ?? '';
  if (fixed === 0) return 'exact';
  if (fixed !== undefined) return `${fixed}${unit === '1' || unit === '' ? '' : ` ${unit}`}`;
  return `${Number((((relative ?? rel) as number) * 100).toPrecision(6))} %`;
}
