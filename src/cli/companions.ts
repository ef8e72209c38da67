// What may stand beside a running service and look on: its Homie side, its numbers, the service manager's watchdog. None of
// them can hold up a step; when one of them fails it says so in the log, and the service goes on. Each is loaded only where
// it is asked for.
import { randomBytes } from 'node:crypto';
import type { Command } from 'commander';
import type { Observable } from 'rxjs';
import type { News } from '../bridge/news.ts';
import type { Settings } from '../bridge/packets.ts';
import type { Turn } from '../bridge/pipeline.ts';
import { describe } from '../control/process/describe.ts';
import type { State } from '../control/process/state.ts';
import { Coded } from '../errors/coded.ts';
import type { Homie, Log } from '../hub/homie.ts';
import type { Observability } from '../hub/observability.ts';
import { type Watchdog, watchdogOf } from '../hub/watchdog.ts';
import { englishOf } from '../language/english.ts';
import { nameIn } from '../language/names.ts';
import { told } from '../language/told.ts';
import type { Panel } from '../panel/server.ts';
import type { StationFile } from '../station/file/station.ts';
import type { Plant } from '../station/plant.ts';
import { firstLine } from './broker-options.ts';
import { readBytes } from './files.ts';
import type { PageOptions } from './page.ts';
import { port } from './values.ts';

export interface CompanionsGiven {
  readonly homie?: true;
  readonly homieUsername?: string;
  readonly homiePasswordFile?: string;
  readonly observe?: number;
  readonly panel?: number;
  readonly panelFile?: string;
  readonly notify?: string;
}

export function addCompanionOptions(command: Command): Command {
  return command
    .option('--homie', 'show the station as a Homie 5 device, and publish what its file announces')
    .option('--homie-username <name>', 'the account of that side; without it the same as --username')
    .option('--homie-password-file <file>', 'a file with its password in its first line')
    .option('--panel <port>', 'the page for people, on 127.0.0.1; 0: any free port', port)
    .option('--panel-file <file>', 'how the page is served and to whom: JSON, schemas/panel.schema.json')
    .option('--notify <file>', 'who is told of alarms while nobody looks: JSON, schemas/notify.schema.json')
    .option('--observe <port>', '/metrics, /healthz and /readyz on 127.0.0.1; 0: any free port', port);
}

export interface CompanionsParts {
  readonly plant: Plant;
  readonly station: Pick<StationFile, 'announce'>;
  readonly settings: Settings;
  readonly stateDirectory: string | null;
  readonly given: CompanionsGiven;
  readonly turns: Observable<Turn<State>>;
  readonly news: Observable<News>;
  /** What can't be kept at the moment, in words. */
  readonly lost: () => readonly string[];
  /** Is told where messages to people do not arrive. */
  readonly sinks: (failing: readonly string[]) => void;
  readonly log: Log;
}

export interface Companions {
  /** Before everything is switched off. */
  readonly leaving: () => void;
  readonly close: () => Promise<void>;
}

/** @throws Coded for a port that is taken, a password file that is not there, announcements that can't be made */
export async function startCompanions(parts: CompanionsParts): Promise<Companions> {
  const { plant, given, turns, news, lost, log } = parts;
  if (given.homiePasswordFile !== undefined && given.homieUsername === undefined) {
    throw new Coded('E-105', '--homie-password-file needs --homie-username: a password belongs to somebody');
  }
  const monotonicMs = () => performance.now();
  const watchdog = watchdogOf({
    environment: process.env,
    monotonicMs,
    failed: (words) => log.warn({ words }, 'watchdog-trouble'),
  });
  const observability =
    given.observe === undefined
      ? null
      : await (await import('../hub/observability.ts')).startObservability({
          plant,
          port: given.observe,
          monotonicMs,
          lost,
        });
  if (observability !== null) log.info({ port: observability.port }, 'observability-listens');
  const homie = given.homie === true ? await homieSide(parts) : null;
  const telling = given.notify === undefined ? null : await tellingOf(parts, given.notify);
  turns.subscribe({ next: (turn) => lookOn(turn, plant, observability, watchdog), error: () => {} });
  news.subscribe({ next: (one) => tellOfLink(one, observability, watchdog), error: () => {} });
  return {
    leaving: () => watchdog.stopping(),
    close: async () => {
      telling?.close();
      await homie?.close();
      await observability?.close();
    },
  };
}

function lookOn(
  { state, effects, beat }: Turn<State>,
  plant: Plant,
  observability: Observability | null,
  watchdog: Watchdog,
): void {
  observability?.turn({
    effects,
    tick: beat.tick,
    status: () => told(englishOf(plant), describe(plant, state)),
  });
  if (beat.tick) watchdog.ticked();
}

function tellOfLink(news: News, observability: Observability | null, watchdog: Watchdog): void {
  if (news.news !== 'up' && news.news !== 'down') return;
  observability?.link(news.news === 'up');
  watchdog.says(news.news === 'up' ? 'link to the broker proven' : `link down: ${news.words}`);
}

/** The page and what serves it are loaded for those who want one: a third of a second of every start otherwise. */
export async function startPage(options: PageOptions): Promise<Panel> {
  const { showPage } = await import('./page.ts');
  return await showPage(options);
}

const LOOK_EVERY_MS = 5_000;

/** Alarms to people, wherever they are: looked at now and then, and whenever one changes. */
async function tellingOf({ plant, turns, news, lost, sinks, log }: CompanionsParts, file: string) {
  const [{ readNotifyFile }, { tellerOf }, { sayTo }, { isTold }] = await Promise.all([
    import('../notify/read.ts'),
    import('../notify/teller.ts'),
    import('../language/for-people.ts'),
    import('../hub/row.ts'),
  ]);
  const values = readNotifyFile(file);
  const say = sayTo(plant, values.language);
  const teller = tellerOf({
    values,
    station: nameIn(plant, values.language),
    say,
    boot: randomBytes(4).toString('hex'),
    failed: (sink, words) => log.error({ sink, words }, 'notify-failed'),
    failing: sinks,
  });
  let isUp = false;
  let lookedMs = Number.NEGATIVE_INFINITY;
  news.subscribe({
    next: (one) => {
      if (one.news === 'up' || one.news === 'down') isUp = one.news === 'up';
    },
    error: () => {},
  });
  turns.subscribe({
    next: ({ state, effects, beat }) => {
      const nowMs = performance.now();
      const isNews = effects.some((effect) => effect.do === 'alarm');
      if (!isNews && (!beat.tick || nowMs - lookedMs < LOOK_EVERY_MS)) return;
      lookedMs = nowMs;
      const { alarms, coming } = told(say, describe(plant, state));
      const { trusted, minuteOfDay } = state.clock;
      const now = { nowMs, minuteOfDay: trusted ? minuteOfDay : null, isComing: coming !== null };
      teller.look(alarms.filter(isTold), now, isUp && lost().length === 0);
    },
    error: () => {},
  });
  return teller;
}

async function homieSide(parts: CompanionsParts): Promise<Homie> {
  const { plant, station, settings, stateDirectory, given, log } = parts;
  const [{ wiringOf }, { startHomie }, { memoryIn, shortMemory }] = await Promise.all([
    import('../hub/catalogue.ts'),
    import('../hub/homie.ts'),
    import('../hub/memory.ts'),
  ]);
  const { device, announcements } = wiringOf(plant, station);
  const { address, version, username, password, ca, cert, key } = settings;
  const { homieUsername, homiePasswordFile } = given;
  const own =
    homieUsername === undefined
      ? { username, password }
      : { username: homieUsername, password: passwordIn(homiePasswordFile) };
  return startHomie({
    device,
    announcements,
    access: {
      url: `${address.protocol}://${address.host.includes(':') ? `[${address.host}]` : address.host}:${address.port}${address.path}`,
      version,
      clientId: `vatwarden-${plant.id}-homie`,
      ...defined({ ...own, ca, cert, key }),
    },
    memory: stateDirectory === null ? shortMemory() : memoryIn(stateDirectory),
    boot: randomBytes(4).toString('hex'),
    chance: Math.random,
    log,
  });
}

function passwordIn(file: string | undefined): string | undefined {
  return file === undefined ? undefined : firstLine(readBytes('the file of --homie-password-file', file));
}

type Defined<T> = { [K in keyof T]?: Exclude<T[K], undefined> };

function defined<T extends object>(record: T): Defined<T> {
  return Object.fromEntries(Object.entries(record).filter(([, value]) => value !== undefined)) as Defined<T>;
}
