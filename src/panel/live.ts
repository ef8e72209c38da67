// The stream of views: everything once to whoever comes, then only the sections that changed, written out once for all
// pages; and a beat every second, by which a page knows within five that it looks at the past.
import type { ServerResponse } from 'node:http';
import type { Sections, View } from './contract.ts';
import { sinceOf } from './since.ts';
import type { Source } from './source.ts';
import { sectionsOf } from './view.ts';

/** A page is told at most so often, whatever the station does. */
const EVERY_MS = 500;
const BEAT_MS = 1_000;
/** What a page may leave unread before it is cut off: it will come back and ask anew. */
const UNREAD_BYTES = 1_000_000;

export interface Live {
  /** @returns false where there are too many already */
  readonly join: (response: ServerResponse, address: string) => boolean;
  readonly view: () => View;
  readonly pages: () => number;
  readonly close: () => void;
}

export interface LiveLimits {
  readonly pages: number;
  readonly pagesOfOneAddress: number;
}

/**
 * @param failed told of what went wrong inside: a page that can't be drawn must never reach the loop that runs the water
 */
export function liveOf(source: Source, limits: LiveLimits, failed: (error: unknown) => void): Live {
  const pages = new Map<ServerResponse, string>();
  const since = sinceOf(source);
  let seq = 0;
  let sent: Texts = { sections: new Map(), rows: new Map() };
  let plant = source.plant();
  let dirty = true;

  const look = (): void => {
    since.look();
    dirty = true;
  };
  // At every step, so that no moment is missed; this costs some ten microseconds, with or without pages.
  const stop = source.onChange(guarded(look, failed));
  const present = (): Sections => sectionsOf(source, since);

  /** What changed since the last time, as text; all pages get the same. */
  const push = (): void => {
    if (!dirty || pages.size === 0) return;
    dirty = false;
    if (source.plant() !== plant) renew();
    since.look();
    const texts = textsOf(present());
    const sections = changed(sent.sections, texts.sections);
    const rows = changed(sent.rows, texts.rows);
    sent = texts;
    if (sections === '' && rows === '') return;
    seq += 1;
    const parts = [
      `"seq":${seq},"atMs":${source.now().atMs}`,
      sections,
      rows === '' ? '' : `"rows":{${rows}}`,
    ];
    say('change', `{${parts.filter(Boolean).join(',')}}`);
  };
  /** Other targets: what the pages know of the station itself is old. */
  const renew = (): void => {
    plant = source.plant();
    since.look();
    seq += 1;
    say('standing', '{}');
    say('full', JSON.stringify(full()));
  };
  const say = (event: string, data: string): void => {
    const message = `event: ${event}\ndata: ${data}\n\n`;
    for (const page of pages.keys()) {
      if (page.writableLength > UNREAD_BYTES) page.destroy();
      else page.write(message);
    }
  };
  const full = (): View => {
    const { atMs, simulated } = source.now();
    return { ...present(), seq, atMs, simulated };
  };

  look();
  const pushing = setInterval(guarded(push, failed), EVERY_MS);
  const beat = () => say('beat', `{"seq":${seq},"atMs":${source.now().atMs}}`);
  const beating = setInterval(guarded(beat, failed), BEAT_MS);

  return {
    join: (response, address) => {
      const here = [...pages.values()].filter((other) => other === address).length;
      if (pages.size >= limits.pages || here >= limits.pagesOfOneAddress) return false;
      response.writeHead(200, {
        'content-type': 'text/event-stream; charset=utf-8',
        'cache-control': 'no-store',
        'x-accel-buffering': 'no',
        ...Object.fromEntries(
          Object.entries(response.getHeaders()).map(([name, value]) => [name, String(value)]),
        ),
      });
      response.on('close', () => pages.delete(response));
      response.on('error', () => pages.delete(response));
      response.write(`retry: 1000\nevent: full\ndata: ${JSON.stringify(full())}\n\n`);
      pages.set(response, address);
      return true;
    },
    view: full,
    pages: () => pages.size,
    close: () => {
      stop();
      clearInterval(pushing);
      clearInterval(beating);
      for (const page of pages.keys()) page.end();
      pages.clear();
    },
  };
}

function guarded(act: () => void, failed: (error: unknown) => void): () => void {
  return () => {
    try {
      act();
    } catch (error) {
      failed(error);
    }
  };
}

interface Texts {
  readonly sections: ReadonlyMap<string, string>;
  readonly rows: ReadonlyMap<string, string>;
}

/** Rows travel one by one: their ages change all the time, the rest of them hardly ever. */
function textsOf({ rows, ...sections }: Sections): Texts {
  const text = (of: object) =>
    new Map(Object.entries(of).map(([name, part]) => [name, JSON.stringify(part)]));
  return { sections: text(sections), rows: text(rows) };
}

function changed(before: ReadonlyMap<string, string>, now: ReadonlyMap<string, string>): string {
  const parts: string[] = [];
  for (const [name, text] of now)
    if (before.get(name) !== text) parts.push(`${JSON.stringify(name)}:${text}`);
  return parts.join(',');
}
