// The station as it is now, section by section, and how old that is. A section keeps its identity until it changes, so a
// part of the page is drawn again only when what it shows is new.
import { batch, computed, type Signal, signal } from '@preact/signals';
import { nameIn } from '../../../language/names.ts';
import type { Language } from '../../../language/print.ts';
import type { Called } from '../../../station/plant.ts';
import type { RowNow, RowStanding, Sections, Standing, View } from '../../contract.ts';
import { knowMe, me, read } from './api.ts';
import { preferences } from './preferences.ts';

/** Beats come every second; after this silence what is shown is the past. */
export const OLD_AFTER_MS = 3_500;
/** A page nobody looks at gives its connection back: a browser has six for each service. */
const HIDDEN_MS = 20_000;

/** As the service sent it. */
export const station = signal<Standing | null>(null);
/** The same, with the names of this person's language. */
export const standing = computed(() =>
  station.value === null ? null : inLanguage(station.value, preferences.value.language),
);

const TABLES = ['vessels', 'routes', 'heaters', 'sensors', 'actuators', 'exercises'] as const;

function inLanguage(as: Standing, language: Language): Standing {
  const called = <T extends Called>(one: T): T =>
    one.names === undefined ? one : { ...one, name: nameIn(one, language) };
  const tables = TABLES.map((table) => [
    table,
    Object.fromEntries(Object.entries(as[table]).map(([id, one]: [string, Called]) => [id, called(one)])),
  ]);
  return { ...called(as), ...Object.fromEntries(tables) };
}

type Live = { readonly [K in keyof Sections]: Signal<Sections[K] | null> };
export const live = {
  link: signal(null),
  units: signal(null),
  steer: signal(null),
  vessels: signal(null),
  routes: signal(null),
  heaters: signal(null),
  sensors: signal(null),
  heard: signal(null),
  actuators: signal(null),
  outOfService: signal(null),
  proofTests: signal(null),
  proofOutcomes: signal(null),
  exercises: signal(null),
  bypasses: signal(null),
  alarmLoad: signal(null),
  task: signal(null),
  upkeep: signal(null),
  trips: signal(null),
  looks: signal(null),
  alarms: signal(null),
  forecast: signal(null),
  unknown: signal(null),
  rows: signal(null),
  batch: signal(null),
} as unknown as Live;

export const seq = signal(-1);
/** The station's present moment, as of the last word. */
export const atMs = signal(0);
export const simulated = signal(false);
export const hasView = computed(() => live.units.value !== null && standing.value !== null);

const heardAt = signal(performance.now());
/** How long the service has said nothing, by this browser's clock. */
export const silentMs = signal(0);
export const isOld = computed(() => silentMs.value > OLD_AFTER_MS);

function heard(message: { readonly seq: number; readonly atMs: number }): void {
  heardAt.value = performance.now();
  silentMs.value = 0;
  seq.value = message.seq;
  atMs.value = message.atMs;
}

function take(parts: Partial<Sections>): void {
  for (const [name, value] of Object.entries(parts)) {
    const section = live[name as keyof Live] as Signal<unknown> | undefined;
    if (section === undefined) continue;
    // Rows come singly; the others whole.
    section.value = name === 'rows' ? { ...(section.peek() as object | null), ...(value as object) } : value;
  }
}

let stream: EventSource | null = null;

function open(): void {
  stream?.close();
  const opened = new EventSource('api/live');
  stream = opened;
  opened.addEventListener('full', (event) => {
    const view = JSON.parse(event.data) as View;
    // All at once: a page that has half of a view would draw what never was.
    batch(() => {
      heard(view);
      live.rows.value = null;
      simulated.value = view.simulated;
      take(view);
    });
  });
  opened.addEventListener('change', (event) => {
    const change = JSON.parse(event.data) as View;
    batch(() => {
      heard(change);
      take(change);
    });
  });
  opened.addEventListener('beat', (event) => heard(JSON.parse(event.data)));
  opened.addEventListener('standing', () => void knowStation());
  opened.addEventListener('error', () => {
    if (opened.readyState !== EventSource.CLOSED || stream !== opened) return;
    // Refused, not cut off: perhaps the sign-in is over.
    stream = null;
    setTimeout(() => void start(), 1_000);
  });
}

async function knowStation(): Promise<void> {
  station.value = await read<Standing>('api/station');
}

/** Begins to look on; stops quietly where a sign-in is needed. */
export async function start(): Promise<void> {
  if (stream !== null) return;
  try {
    const known = await knowMe();
    if (!known.signedIn) return;
    if (standing.peek() === null) await knowStation();
    if (stream === null) open();
  } catch {
    setTimeout(() => void start(), 1_000);
  }
}

export function stop(): void {
  stream?.close();
  stream = null;
}

/** For the one who signed out: nothing of the station stays on the screen. */
export function forget(): void {
  stop();
  station.value = null;
  for (const section of Object.values(live)) (section as Signal<unknown>).value = null;
}

let hiding: ReturnType<typeof setTimeout> | undefined;

export function watch(): void {
  setInterval(() => {
    silentMs.value = performance.now() - heardAt.peek();
  }, 250);
  document.addEventListener('visibilitychange', () => {
    clearTimeout(hiding);
    if (document.hidden) hiding = setTimeout(stop, HIDDEN_MS);
    else if (stream === null && me.peek()?.signedIn) void start();
  });
}

/** What explains the others comes first: a latched trip, then what concerns the whole station, then what is silent. */
function rankOf({ subject, finding, means }: RowStanding, { latched }: RowNow): number {
  if (latched) return 0;
  if (subject === standing.value?.id) return 1;
  if (finding === 'foreign-command') return 2;
  if (means === 'unattended') return 4;
  return means === 'silent' ? 5 : 3;
}

export const bypassOf = (row: string): Sections['bypasses'][number] | undefined =>
  live.bypasses.value?.find((one) => one.row === row);

/** A bypassed row holds and forbids nothing; a trip stays until it is reset. */
export const isForbidding = (key: string, { holds, latched }: RowNow): boolean =>
  latched || (holds && bypassOf(key) === undefined);

/** The rows that forbid a target now, the telling ones first. */
export function forbidding(target: string): readonly (RowNow & { readonly key: string })[] {
  const rows = live.rows.value;
  const found = (standing.value?.rows ?? []).flatMap((one) => {
    const { key, forbids } = one;
    const row = rows?.[key];
    if (row === undefined || !forbids.includes(target) || !isForbidding(key, row)) return [];
    return [{ rank: rankOf(one, row), row: { ...row, key } }];
  });
  return found.toSorted((a, b) => a.rank - b.rank).map(({ row }) => row);
}
