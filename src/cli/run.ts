// The command `run`: the service itself.
import { randomBytes } from 'node:crypto';
import { type Command, Option } from 'commander';
import { destination, pino } from 'pino';
import { Bridge } from '../bridge/bridge.ts';
import { refuseUncheckedCertificates } from '../bridge/broker-address.ts';
import type { Core } from '../bridge/core.ts';
import type { Farewell } from '../bridge/farewell.ts';
import { type Keeper, KeeperError, keeperOf } from '../bridge/keeper.ts';
import { type Lock, lockDirectory } from '../bridge/lock.ts';
import { machine, stampNow } from '../bridge/machine.ts';
import type { Settings } from '../bridge/packets.ts';
import { type Awake, wakeUp } from '../bridge/wake-up.ts';
import { itemsOf } from '../commission/items.ts';
import { commissionedBy, emptyRecord } from '../commission/record.ts';
import type { Effect } from '../control/guard/types.ts';
import { commissionedAs } from '../control/process/commissioned.ts';
import { describe } from '../control/process/describe.ts';
import { forgetful, initial, restored } from '../control/process/initial.ts';
import type { State } from '../control/process/state.ts';
import { step } from '../control/step.ts';
import type { Journal } from '../journal/journal.ts';
import { englishOf } from '../language/english.ts';
import { alarmText, type Told, told } from '../language/told.ts';
import type { Panel } from '../panel/server.ts';
import type { StationFile } from '../station/file/station.ts';
import type { Plant } from '../station/plant.ts';
import { type BrokerGiven, settingsOf } from './broker-options.ts';
import { recordIn } from './commissioning-record.ts';
import { addCompanionOptions, type CompanionsGiven, startCompanions, startPage } from './companions.ts';
import { stationIn } from './files.ts';
import { openRecord, type Recording, record, withProofTests } from './record.ts';

export const CORE: Core<State> = {
  initial,
  step,
  restored,
  forgetful,
  describe: (plant, state) => told(englishOf(plant), describe(plant, state)),
};

/** What a script or a service manager may rely on. */
export const EXIT = { stopped: 0, unconfirmed: 1, unusable: 2, refused: 3, memory: 4, failed: 70 } as const;

interface Given extends CompanionsGiven, BrokerGiven {
  readonly state?: string;
  readonly cert?: string;
  readonly key?: string;
  readonly time: 'wall' | 'topic';
  readonly clearRetained?: true;
  readonly verbose?: true;
}

/** Adds `run` to the program. */
export function addRun(program: Command): void {
  const command = program
    .command('run')
    .description('Runs a station over MQTT until it is told to stop')
    .argument('<file>', 'the station file')
    .requiredOption('--broker <url>', 'mqtt://HOST:PORT, mqtts://, ws:// or wss://')
    .option('--state <directory>', 'remember here what must survive a power cut')
    .addOption(
      new Option('--mqtt <version>', 'never falls back by itself').choices(['5', '3.1.1']).default('5'),
    )
    .option('--username <name>', 'who the broker knows this service as')
    .option('--password-file <file>', 'a file with the password in its first line')
    .option('--ca <file>', "the authority that signed the broker's certificate, PEM")
    .option('--cert <file>', "this service's own certificate, PEM")
    .option('--key <file>', 'and its key, PEM')
    .addOption(
      new Option('--time <source>', 'topic: lock step with `simulate`')
        .choices(['wall', 'topic'])
        .default('wall'),
    )
    .option(
      '--clear-retained',
      'remove stored (retained) commands from the broker instead of only reporting them',
    )
    .option('--verbose', 'log every command, and when it fails, say also where in the program');
  addCompanionOptions(command)
    .addHelpText('after', HELP)
    .action(async (file: string, given: Given) => {
      process.exit(await run(file, given));
    });
}

const HELP = `
Examples:
  $ vatwarden run station.json --broker mqtt://127.0.0.1:1883 --state state --panel 8460
  $ vatwarden run station.json --broker mqtt://127.0.0.1:1883 --state state --homie --observe 9460
Over TLS: mqtts://HOST:8883 with --ca, and --username with --password-file.
What happens is told on standard output, one line for each change; the log (JSON, stable event names) goes to standard error, on a terminal
only with --verbose.
SIGINT or SIGTERM: every output off, up to 5 s for confirmation, then offline.
Exit code 0: stopped and every output that moves water or heats confirmed off; 1: stopped, and something did not confirm; 2: the call or the
station file can't be used; 3: the broker refuses, and trying again is no use; 4: the state directory can't be used, or
another instance uses it; 70: the service contradicted itself and switched everything off.`;

async function run(file: string, given: Given): Promise<number> {
  // Whoever read along and went away (`| head`) must not take the service with them.
  process.stdout.removeAllListeners('error').on('error', () => {});
  refuseUncheckedCertificates(process.env);
  const { plant, station, text } = stationIn(file);
  const settings = settingsOf(plant.id, given);
  const log = logger(levelOf(given));
  const lock = given.state === undefined ? null : lockDirectory(given.state);
  try {
    const keeper = given.state === undefined ? null : keeperOf(given.state, plant, stampNow);
    const awake = wakeUp(CORE, plant, keeper, stampNow());
    if (awake.words !== null) say(awake.words);
    // Before there is a journal: a history without a state is a memory that was lost.
    await saved(keeper, awake.state, given);
    const journal =
      given.state === undefined && !hasPage(given)
        ? null
        : openRecord(given.state ?? null, plant, (words) => say(`journal: ${words}`));
    const { state } = awake;
    const proven =
      journal !== null && given.state !== undefined && awake.isNew
        ? withProofTests(plant, state, journal, Date.now())
        : state;
    const begun = { state: withCommissioning(proven, plant, station, given) };
    return await serve(
      { ...begun, plant },
      { file, text, station, settings, given, keeper, journal, lock, log },
    );
  } finally {
    lock?.release();
  }
}

/** Lock step is with simulated water, which has no devices to commission. */
function withCommissioning(state: State, plant: Plant, station: StationFile, given: Given): State {
  if (given.time === 'topic') return { ...state, commissioned: null };
  const record = given.state === undefined ? emptyRecord(plant.id) : recordIn(given.state, plant.id);
  const commissioned = commissionedBy(itemsOf(plant, station), record, Date.now());
  return commissionedAs(state, commissioned);
}

interface Serving {
  /** The station file, and its text. */
  readonly file: string;
  readonly text: string;
  readonly station: StationFile;
  readonly settings: Settings;
  readonly given: Given;
  readonly keeper: Keeper | null;
  readonly journal: Journal | null;
  readonly lock: Lock | null;
  readonly log: ReturnType<typeof logger>;
}

type Begun = Pick<Awake<State>, 'state'> & { readonly plant: Plant };

/** A service that can't remember must not run. */
async function saved(keeper: Keeper | null, state: State, { state: directory }: Given): Promise<void> {
  if (keeper === null || (await keeper.save(state))) return;
  throw new KeeperError(
    'E-403',
    `nothing can be written in ${directory}: is the disk full, or may this user not write there?`,
  );
}

async function serve(
  { plant, state }: Begun,
  { file, text, station, settings, given, keeper, journal, lock, log }: Serving,
): Promise<number> {
  await saved(keeper, state, given);
  let isWritable = true;
  const bridge = new Bridge<State>({
    plant,
    core: CORE,
    state,
    settings,
    time: given.time,
    boot: randomBytes(4).toString('hex'),
    machine,
    chance: Math.random,
    save:
      keeper === null
        ? null
        : async (next) => {
            isWritable = await keeper.save(next).finally(() => lock?.touch());
            return isWritable;
          },
    clearRetained: given.clearRetained === true,
    log,
  });
  const inEnglish = englishOf(plant);
  bridge.turns.subscribe(({ effects }) => told(inEnglish, effects).forEach(tell));
  tellOfLink(bridge);
  for (const event of ['uncaughtException', 'unhandledRejection'] as const) {
    // From here on nothing may end the process before everything was told to be off, also not to say why.
    process.removeAllListeners(event).on(event, (error) => void bridge.fail(error));
  }
  let recording: Recording | null = null;
  const companions = await startCompanions({
    plant,
    station,
    settings,
    stateDirectory: given.state ?? null,
    given,
    turns: bridge.turns,
    news: bridge.news,
    sinks: (failing) => bridge.toldNobody(failing),
    lost: () => [
      ...(isWritable ? [] : ['the state can not be saved: nothing new is begun']),
      ...(recording?.isWell() === false ? ['the journal can not be written: what happens is not kept'] : []),
    ],
    log,
  });
  if (given.state !== undefined || journal !== null)
    recording = record({ plant, state, bridge, journal, failed: (words) => say(`journal: ${words}`) });
  const page = await pageFor({ plant, state, bridge, file, text, given, journal, log });
  if (page !== null) say(`the panel is at ${page.url}`);
  const farewell = untilSignal().then(() => {
    companions.leaving();
    return bridge.stop();
  });
  try {
    return tellFarewell(await Promise.race([farewell, bridge.run().then(() => farewell)]));
  } finally {
    await page?.close();
    journal?.close();
    await companions.close();
  }
}

const hasPage = ({ panel, panelFile }: Given): boolean => panel !== undefined || panelFile !== undefined;

/** Null where nobody asked for one. */
async function pageFor(
  parts: Pick<Serving, 'file' | 'text' | 'given' | 'journal' | 'log'> &
    Begun & { readonly bridge: Bridge<State> },
): Promise<Panel | null> {
  const { plant, state, bridge, file, text, given, journal, log } = parts;
  if (!hasPage(given)) return null;
  return await startPage({
    plant,
    state,
    bridge,
    port: given.panel,
    panelFile: given.panelFile,
    simulatedFromMs: null,
    station: { file, text },
    stateDirectory: given.state ?? null,
    journal,
    say: (words) => say(`panel: ${words}`),
    log,
  });
}

/** A broker that is away is tried for again and again; a person reads why once, and again when it is for another reason. */
function tellOfLink({ news }: Pick<Bridge<State>, 'news'>): void {
  let told = '';
  news.subscribe({
    next: (one) => {
      if (one.news !== 'up' && one.news !== 'down') return;
      const line = one.news === 'up' ? 'link up' : `link down: ${one.words} [${one.code}]`;
      if (line !== told) say(one.news === 'up' ? line : `${line}; trying again until it is there`);
      told = line;
    },
    error: () => {},
  });
}

/** The second signal is for those who do not want to wait for confirmation. */
function untilSignal(): Promise<void> {
  return new Promise((resolve) => {
    for (const signal of ['SIGINT', 'SIGTERM'] as const) {
      process.once(signal, () => {
        say(`${signal}: switching everything off`);
        process.once(signal, () => process.exit(EXIT.unconfirmed));
        resolve();
      });
    }
  });
}

function tellFarewell({ confirmed, signals, unconfirmed }: Farewell): number {
  const open = Object.entries(unconfirmed);
  say(`off and confirmed: ${confirmed.length === 0 ? 'nothing' : confirmed.join(', ')}`);
  if (signals.length > 0) say(`told off, and moves no water: ${signals.join(', ')}`);
  for (const [actuator, why] of open) say(`NOT CONFIRMED off: ${actuator} (${why})`);
  return open.length === 0 ? EXIT.stopped : EXIT.unconfirmed;
}

function tell(effect: Told<Effect>): void {
  if (effect.do === 'record')
    say(effect.about === 'phase' ? effect.message.text : `${effect.about}: ${effect.message.text}`);
  if (effect.do === 'ask' && effect.task !== null) say(`please: ${effect.task.message.text}`);
  if (effect.do === 'alarm')
    say(`alarm ${effect.alarm} ${effect.state}: ${alarmText(effect.message, effect.response)}`);
}

/** The wall clock is for this line and for nothing else (R22). */
function say(words: string): void {
  process.stdout.write(`${new Date().toLocaleTimeString('en-GB')}  ${words}\n`);
}

/** Somebody who sits before it reads what is said; the log beside that is for machines, and would say it twice. */
function levelOf({ verbose }: Given): 'debug' | 'info' | 'error' {
  if (verbose === true) return 'debug';
  return process.stderr.isTTY ? 'error' : 'info';
}

function logger(level: 'info' | 'debug' | 'error') {
  const standardError = destination({ dest: 2, sync: true });
  standardError.on('error', () => {});
  return pino({ level, base: null, messageKey: 'event' }, standardError);
}
