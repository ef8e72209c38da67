// Many stations on one broker, as their uplinks bring them: which needs a person, what for, since when. Pure, within bounds, and
// without a way to command anything: control stays with each station.
export interface Fleet {
  readonly hear: (topic: string, payload: Uint8Array, nowMs: number) => void;
  /** Whether the broker is there at all; while it is not, nothing here is news. */
  readonly connected: (is: boolean, nowMs: number) => void;
  readonly shown: (nowMs: number) => Shown;
}

export interface Row {
  readonly station: string;
  readonly name: string;
  readonly need: Need;
  /** What a person does, most urgent first. */
  readonly what: readonly string[];
  /** When the first of it was heard of here, ms since 1970; null: nothing is needed. */
  readonly sinceMs: number | null;
  /** Who is on the way. */
  readonly coming: string | null;
  readonly heardMs: number;
}

export interface Shown {
  readonly isConnected: boolean;
  readonly sinceMs: number;
  /** Those that need somebody first. */
  readonly rows: readonly Row[];
  readonly messages: number;
  /** Of stations beyond the most, and what was too long to be read. */
  readonly leftOut: number;
}

/** By what is worst about it; the order in which they are shown. */
export const NEEDS = ['urgent', 'silent', 'soon', 'task', 'notice', 'none'] as const;
export type Need = (typeof NEEDS)[number];

/** What an uplink brings, as filters. */
export const HEARD = ['status', 'online', 'alarm/+', 'task/+'].map((own) => `vatwarden/+/${own}`);

const MOST_STATIONS = 5000;
const LONGEST = 200_000;
const MOST_ITEMS = 50;
/** A status is large: the name and who is coming are read out of it so often. */
const STATUS_EVERY_MS = 30_000;
const TOPIC = /^vatwarden\/([a-z0-9]+(?:-[a-z0-9]+)*)\/(status|online|alarm|task)(?:\/([^/]+))?$/u;

interface Item {
  readonly need: Need;
  readonly words: string;
  readonly sinceMs: number;
}
interface Station {
  name: string;
  coming: string | null;
  /** Since it is not there, by its own will. */
  offlineMs: number | null;
  readMs: number;
  heardMs: number;
  readonly items: Map<string, Item>;
}

export function fleetOf(nowMs: number): Fleet {
  const stations = new Map<string, Station>();
  let isConnected = false;
  let changedMs = nowMs;
  let messages = 0;
  let leftOut = 0;
  return {
    connected: (is, atMs) => {
      if (is !== isConnected) changedMs = atMs;
      isConnected = is;
    },
    hear: (topic, payload, atMs) => {
      const [, id = '', kind = '', item = ''] = TOPIC.exec(topic) ?? [];
      if (id === '') return;
      if (payload.byteLength > LONGEST || (!stations.has(id) && stations.size >= MOST_STATIONS)) {
        leftOut++;
        return;
      }
      messages++;
      const station = stations.get(id) ?? fresh(id);
      stations.set(id, station);
      station.heardMs = atMs;
      take(station, kind, item, payload, atMs);
    },
    shown: () => ({
      isConnected,
      sinceMs: changedMs,
      rows: [...stations].map(([id, station]) => rowOf(id, station)).toSorted(byNeed),
      messages,
      leftOut,
    }),
  };
}

const fresh = (id: string): Station => ({
  name: id,
  coming: null,
  offlineMs: null,
  readMs: Number.NEGATIVE_INFINITY,
  heardMs: 0,
  items: new Map(),
});

function take(station: Station, kind: string, item: string, payload: Uint8Array, atMs: number): void {
  const key = `${kind} ${item}`;
  const { items } = station;
  switch (kind) {
    case 'online':
      if (textOf(payload) === 'true') station.offlineMs = null;
      else station.offlineMs ??= atMs;
      return;
    case 'status': {
      if (atMs - station.readMs < STATUS_EVERY_MS) return;
      station.readMs = atMs;
      const { name, coming } = objectIn(payload);
      if (typeof name === 'string' && name !== '') station.name = short(name);
      const who = (coming as { readonly who?: unknown } | null | undefined)?.who;
      station.coming = typeof who === 'string' ? short(who) : null;
      return;
    }
    default: {
      const needed = payload.byteLength === 0 ? null : neededIn(kind, objectIn(payload));
      if (needed === null) items.delete(key);
      else if (items.has(key) || items.size < MOST_ITEMS)
        items.set(key, { ...needed, sinceMs: items.get(key)?.sinceMs ?? atMs });
    }
  }
}

function neededIn(
  kind: string,
  said: Readonly<Record<string, unknown>>,
): Pick<Item, 'need' | 'words'> | null {
  const words = (said.message as { readonly text?: unknown } | undefined)?.text;
  if (typeof words !== 'string') return null;
  if (kind === 'task') return { need: 'task', words: short(words) };
  // What was seen by somebody, or is silenced, waits for nobody else.
  if (!String(said.state).endsWith('unacknowledged')) return null;
  const need = NEEDS.find((one) => one === said.priority) ?? 'notice';
  return { need, words: short(words) };
}

function rowOf(station: string, { name, coming, offlineMs, heardMs, items }: Station): Row {
  const silent: readonly Item[] =
    offlineMs === null
      ? []
      : [
          {
            need: 'silent',
            words: 'the station is not heard: look whether it has power and network',
            sinceMs: offlineMs,
          },
        ];
  const all = [...silent, ...items.values()].toSorted((a, b) => rank(a.need) - rank(b.need));
  return {
    station,
    name,
    need: all[0]?.need ?? 'none',
    what: all.map(({ words }) => words),
    sinceMs: all.length === 0 ? null : Math.min(...all.map(({ sinceMs }) => sinceMs)),
    coming,
    heardMs,
  };
}

const rank = (need: Need): number => NEEDS.indexOf(need);
const byNeed = (a: Row, b: Row): number =>
  rank(a.need) - rank(b.need) || (a.sinceMs ?? 0) - (b.sinceMs ?? 0) || (a.station < b.station ? -1 : 1);
const short = (text: string): string => (text.length <= 300 ? text : `${text.slice(0, 299)}…`);
const textOf = (payload: Uint8Array): string => Buffer.from(payload).toString('utf8');

function objectIn(payload: Uint8Array): Readonly<Record<string, unknown>> {
  try {
    const parsed: unknown = JSON.parse(textOf(payload));
    return typeof parsed === 'object' && parsed !== null ? (parsed as Record<string, unknown>) : {};
  } catch {
    return {};
  }
}
