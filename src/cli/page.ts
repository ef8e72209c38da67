// The panel beside a running service: it sees every step and hands requests on; the service never waits for it.
import { copyFile, open, rename } from 'node:fs/promises';
import { join } from 'node:path';
import type { Bridge } from '../bridge/bridge.ts';
import type { State } from '../control/process/state.ts';
import type { Journal } from '../journal/journal.ts';
import { JournalError } from '../journal/trouble.ts';
import { readPanelFile } from '../panel/configuration.ts';
import { type PastBooks, provenIn, withPast } from '../panel/journal-books.ts';
import { type Keeping, keepBooks, keptIn } from '../panel/kept.ts';
import { type Kept, type MemoryOptions, memorySource } from '../panel/memory-source.ts';
import { type Panel, startPanel } from '../panel/server.ts';
import type { Plant } from '../station/plant.ts';

export interface PageOptions {
  readonly plant: Plant;
  readonly state: State;
  readonly bridge: Pick<Bridge<State>, 'ask' | 'turns'>;
  /** 0: any free one; undefined: as the panel's own file says. */
  readonly port?: number | undefined;
  /** The panel's own file: address, wire, people. Without one it is served on 127.0.0.1 alone. */
  readonly panelFile?: string | undefined;
  /** The moment of the first step in a simulated day; null: the wall's. */
  readonly simulatedFromMs: number | null;
  /** The station file: with it targets may be tried out. */
  readonly station?: { readonly file: string; readonly text: string };
  /** Where the books are kept over a restart; null: they are not. */
  readonly stateDirectory?: string | null;
  /** What happened, before this start and since; null where it could not be opened. */
  readonly journal: (Pick<Journal, 'file' | 'note' | 'proofTests'> & PastBooks) | null;
  readonly say?: (words: string) => void;
  readonly log?: { readonly error: (fields: object, event: string) => void };
}

/**
 * @throws Coded for a panel file that can't be used, a port that is taken, a page that was not built
 */
export async function showPage(options: PageOptions): Promise<Panel> {
  const { plant, state, bridge, simulatedFromMs, station, stateDirectory = null, journal } = options;
  const { say = () => {}, log } = options;
  const { mayWriteStation, ...served } =
    options.panelFile === undefined ? { mayWriteStation: false } : readPanelFile(options.panelFile);
  const simulated = simulatedFromMs !== null;
  const startMs = simulatedFromMs ?? Date.now();
  const books = stateDirectory === null ? null : join(stateDirectory, 'panel.json');
  const found = books === null ? null : keptIn(books);
  if (found?.words) say(found.words);
  const source = memorySource({
    plant,
    state,
    simulated,
    startMs,
    journal,
    ...pastOf(found?.kept ?? null, journal, say),
    send: (id, request) => bridge.ask(id, request),
  });
  bridge.turns.subscribe({
    next: ({ state: now, effects, beat }) => {
      try {
        source.observe(now, effects, beat.elapsedMs, simulated ? undefined : Date.now());
      } catch (error) {
        // A page that can't be kept up to date is no reason to stop the water's service.
        log?.error({ error: error instanceof Error ? error.stack : String(error) }, 'page-failed');
      }
    },
    error: () => {},
  });
  const port = options.port ?? ('port' in served ? served.port : undefined);
  const panel = await startPanel({
    ...served,
    source,
    ...(port === undefined ? {} : { port }),
    ...(log === undefined ? {} : { log }),
    ...(station === undefined
      ? {}
      : {
          station: mayWriteStation
            ? { ...station, save: (text: string) => replaced(station.file, text) }
            : station,
        }),
  });
  const keeping: Keeping | null = books === null ? null : keepBooks(books, source, say);
  return {
    ...panel,
    close: async () => {
      await panel.close();
      await keeping?.close();
    },
  };
}

function pastOf(
  kept: Kept | null,
  journal: PageOptions['journal'],
  say: (words: string) => void,
): Pick<MemoryOptions, 'kept' | 'proofs'> {
  if (journal === null) return { kept };
  try {
    return { kept: withPast(kept, journal), proofs: provenIn(journal) };
  } catch (error) {
    if (!(error instanceof JournalError)) throw error;
    say(error.message);
    return { kept };
  }
}

/** The owner's file as it was stays beside it, under its name with a tilde. */
async function replaced(file: string, text: string): Promise<void> {
  await copyFile(file, `${file}~`);
  const handle = await open(`${file}.new`, 'w');
  try {
    await handle.writeFile(text);
    await handle.sync();
  } finally {
    await handle.close();
  }
  await rename(`${file}.new`, file);
}
