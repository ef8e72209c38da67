// The record of commissioning: what was tried, by whom, when, what they stated, what was measured, and what came of it. It only
// grows; the last entry about an item decides. Each entry carries a seal over itself and the one before it, so that a record
// that was edited by hand, cut or mixed up is not believed.
import type { Commissioned } from '../control/process/commissioned.ts';
import { type Message, message } from '../language/message.ts';
import { digestOf, type Item } from './items.ts';
import type { Edit } from './proposal.ts';

/** `undone`: it could not be tried, or what came of it was unclear. */
export type Verdict = 'passed' | 'failed' | 'undone' | 'waived';

export interface Entry {
  readonly item: string;
  /** Of what the item rested on in the station file of that day. */
  readonly digest: string;
  readonly who: string;
  /** Since 1970, ms. */
  readonly wallMs: number;
  /** What the person said, by question. */
  readonly stated: Readonly<Record<string, string>>;
  /** With the unit in the name. */
  readonly measured: Readonly<Record<string, number | string | boolean | null>>;
  readonly verdict: Verdict;
  readonly words: Message;
  /** Proposed for the station file; empty where nothing in the file would help. */
  readonly change: readonly Edit[];
}

interface Sealed extends Entry {
  readonly seal: string;
}

export interface RecordFile {
  readonly format: 1;
  readonly station: string;
  readonly entries: readonly Sealed[];
}

export const emptyRecord = (station: string): RecordFile => ({ format: 1, station, entries: [] });

export function withEntry(record: RecordFile, entry: Entry): RecordFile {
  const before = record.entries.at(-1)?.seal ?? record.station;
  return { ...record, entries: [...record.entries, { ...entry, seal: sealOf(entry, before) }] };
}

const sealOf = (entry: Entry, before: string): string => digestOf([before, entry]);

/** Where a record stops being what was written: the number of its first entry that does not fit, from 0; null where all do. */
export function brokenAt({ station, entries }: RecordFile): number | null {
  let before = station;
  for (const [place, { seal, ...entry }] of entries.entries()) {
    if (seal !== sealOf(entry, before)) return place;
    before = seal;
  }
  return null;
}

/** The key under which a waiver stands: of everything that has not passed, until a moment. */
const EVERYTHING = 'everything';

/** A named person lets the station work by itself for a while though not every item has passed. */
export const waiverOf = (who: string, reason: string, wallMs: number, forMs: number): Entry => ({
  item: EVERYTHING,
  digest: '',
  who,
  wallMs,
  stated: { reason },
  measured: { untilMs: wallMs + forMs },
  verdict: 'waived',
  words: message('commission-waived', { what: new Date(wallMs + forMs).toISOString().slice(0, 16), reason }),
  change: [],
});

/** What the service is told at its start. @param wallMs now */
export function commissionedBy(items: readonly Item[], record: RecordFile, wallMs: number): Commissioned {
  const missing = standingsOf(items, record).filter(({ standing }) => standing !== 'passed').length;
  const last = record.entries.filter(({ item }) => item === EVERYTHING).at(-1);
  const leftMs = Number(last?.measured.untilMs ?? 0) - wallMs;
  // Nobody knows what o'clock it is where a waiver was given in the future: it counts no longer than it was given for.
  const givenMs = Number(last?.measured.untilMs ?? 0) - (last?.wallMs ?? 0);
  if (last === undefined || leftMs <= 0) return { missing, waiver: null };
  return {
    missing,
    waiver: { leftMs: Math.min(leftMs, givenMs), who: last.who, reason: last.stated.reason ?? '' },
  };
}

/** `stale`: an entry of the file that it rests on was changed since. */
export type Standing = 'never-tried' | Verdict | 'stale';

export interface Standard {
  readonly item: Item;
  readonly standing: Standing;
  readonly last: Entry | null;
}

/** How every item stands, in the order of the items. */
export function standingsOf(items: readonly Item[], { entries }: RecordFile): readonly Standard[] {
  const latest = new Map(entries.map((entry) => [entry.item, entry]));
  return items.map((item) => {
    const last = latest.get(item.key) ?? null;
    if (last === null) return { item, standing: 'never-tried', last };
    return { item, standing: last.digest === item.digest ? last.verdict : 'stale', last };
  });
}
