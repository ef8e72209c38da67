// The command `demo`: a broker, simulated water and the real service in one process, and the day told from what goes over
// the wire. The same seed gives the same text, byte for byte.
import { fileURLToPath } from 'node:url';
import type { Command } from 'commander';
import type { MqttClient } from 'mqtt';
import { destination, pino } from 'pino';
import { Account, type Entry } from '../bridge/account.ts';
import { Bridge } from '../bridge/bridge.ts';
import { type Broker, startBroker } from '../bridge/broker.ts';
import { readAddress } from '../bridge/broker-address.ts';
import { machine } from '../bridge/machine.ts';
import { topicsOf } from '../bridge/wire-out.ts';
import { initial } from '../control/process/initial.ts';
import type { State } from '../control/process/state.ts';
import type { Journal } from '../journal/journal.ts';
import { greeted, ONCE } from '../mqtt/client.ts';
import { type Access, refusalOf, unreached } from '../simulate/connections.ts';
import { ledgerText } from '../simulate/ledger.ts';
import { startWater, type Water, type WaterResult } from '../simulate/station-water.ts';
import type { Plant } from '../station/plant.ts';
import { stationIn } from './files.ts';
import { showPage } from './page.ts';
import { addPartiesOptions, type Login, type PartiesGiven, type WaysIn, waysIn } from './parties.ts';
import { openRecord, record } from './record.ts';
import { CORE } from './run.ts';
import { port, wholeNumber } from './values.ts';

interface Given extends PartiesGiven {
  readonly once?: true;
  readonly json?: true;
  readonly realtime?: true;
  readonly seed: number;
  readonly port: number;
  readonly panel?: number;
  readonly state?: string;
}

const EXAMPLE = fileURLToPath(new URL('../../schemas/examples/marram-point.json', import.meta.url));
const DAY_MS = 86_400_000;
/** A full cycle of a sensible station is over in less; a slow purifier needs most of a day for a vat. */
const CYCLE_MS = 3 * DAY_MS;
/** How long is looked on after a step of the exchange began. */
const SETTLE_MS = 120_000;
/** What is in the pipes when a step ends still arrives. */
const RUN_OUT_MS = 15_000;
/** The invented day begins at six in the morning of the first of June. */
const DAWN_MS = Date.UTC(2026, 5, 1, 6);

/** Adds `demo` to the program. */
export function addDemo(program: Command): void {
  const command = program
    .command('demo')
    .description('Shows a day of a simulated station: real service, simulated water, devices and person')
    .argument('[file]', 'the station file', EXAMPLE)
    .option('--broker <url>', 'use this broker (MQTT 5) instead of one of its own')
    .option(
      '--once',
      'end after one full cycle: a batch mixed, warmed and accepted, and one step of exchange',
    )
    .option('--json', 'one JSON object a line; the last one is the verdict on the water')
    .option('--realtime', 'at the pace of the wall clock')
    .option('--seed <n>', 'same seed, same day', wholeNumber(), 1)
    .option('--port <n>', 'port of its own broker on 127.0.0.1; 0: any free one', port, 0)
    .option(
      '--panel <port>',
      'the page for people, on 127.0.0.1; 0: any free port (without --once and --json it is shown anyway)',
      port,
    )
    .option('--state <directory>', 'write the journal of the day here, for `replay`');
  addPartiesOptions(command)
    .addHelpText(
      'after',
      "\nExamples:\n  $ vatwarden demo --once\n  $ vatwarden demo --once --json --state day\n  $ vatwarden demo --once --seed 3\n\nExit code 0: the water came to no harm; 1: it did; 2: the call or the station file can't be used; 3: the broker can't.",
    )
    .action(async (file: string, given: Given) => {
      process.exit(await demo(file, given));
    });
}

async function demo(file: string, given: Given): Promise<number> {
  const { plant, station, text } = stationIn(file);
  const ways = waysIn(given, plant, station);
  const commandTopics = new Set(Object.values(plant.actuators).map(({ command }) => command.topic));
  const own = given.broker === undefined ? await startBroker(given.port, commandTopics) : null;
  const url = own?.url ?? given.broker ?? '';
  try {
    // Which port was free is no part of the day.
    process.stderr.write(`Listen along: ${url}, topics vatwarden/${plant.id}/#\n`);
    if (given.json !== true) process.stdout.write(opening(plant, given.seed));
    const verdict = await day({ plant, file, text, ways }, url, given, own);
    if (given.json !== true) process.stdout.write(`\n${ledgerText(verdict)}`);
    else process.stdout.write(`${JSON.stringify(verdict)}\n`);
    return verdict.ok ? 0 : 1;
  } finally {
    await own?.close();
  }
}

function opening(plant: Plant, seed: number): string {
  return (
    `${plant.name}, seed ${seed}. The service is the real one; water, devices and the person are simulated.\n` +
    "Everything below was read off the wire, in station time; the ledger at the end is the water's own.\n\n"
  );
}

async function day(
  { plant, file, text, ways }: { plant: Plant; file: string; text: string; ways: WaysIn },
  url: string,
  given: Given,
  own: Broker | null,
): Promise<WaterResult> {
  const state = initial(plant);
  const broker = { url, version: own === null ? 5 : 4 } as const;
  const listener = await listen(plant, { ...broker, login: ways.narrator }, (entry) => print(entry, given));
  const bridge = bridgeFor(plant, state, { ...broker, login: ways.service }, given);
  const panelPort = given.panel ?? (given.once || given.json ? null : 0);
  const isKept = given.state !== undefined || panelPort !== null;
  const journal = isKept ? recordDay(plant, state, bridge, given.state ?? null) : null;
  const page =
    panelPort === null
      ? null
      : await showPage({
          plant,
          state,
          bridge,
          port: panelPort,
          journal,
          simulatedFromMs: DAWN_MS,
          station: { file, text },
        });
  if (page !== null) process.stderr.write(`The panel: ${page.url}\n`);
  const serving = bridge.run();
  const water = waterFor(plant, { ...broker, access: ways.water }, given, listener);
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, water.stop);
  try {
    const verdict = await Promise.race([water.done, serving.then(() => water.done)]);
    for (const entry of listener.account.close()) print(entry, given);
    return verdict;
  } finally {
    water.stop();
    await bridge.stop(0);
    await page?.close();
    journal?.close();
    await listener.client.endAsync();
  }
}

/** The journal of a simulated day counts the station's time, so that its hours have their length. */
function recordDay(
  plant: Plant,
  state: State,
  bridge: Bridge<State>,
  directory: string | null,
): Journal | null {
  let nowMs = DAWN_MS;
  bridge.turns.subscribe({
    next: ({ beat }) => {
      nowMs += beat.elapsedMs;
    },
    error: () => {},
  });
  const failed = (words: string) => process.stderr.write(`journal: ${words}\n`);
  const stamp = () => ({ computerBoot: null, monotonicMs: nowMs, wallMs: nowMs });
  const journal = openRecord(directory, plant, failed, stamp);
  return record({ plant, state, bridge, journal, failed }).journal;
}

interface At {
  readonly url: string;
  readonly version: 4 | 5;
}

function bridgeFor(
  plant: Plant,
  state: State,
  { url, version, login }: At & { login: Login },
  given: Given,
): Bridge<State> {
  return new Bridge<State>({
    plant,
    core: CORE,
    state,
    settings: { address: readAddress(url), version, clientId: `vatwarden-${plant.id}`, ...login },
    time: given.realtime === true ? 'wall' : 'topic',
    boot: `demo-${given.seed}`,
    machine,
    chance: () => 0.5,
    save: null,
    clearRetained: true,
    log: pino({ level: 'warn', base: null, messageKey: 'event' }, destination({ dest: 2, sync: true })),
  });
}

function waterFor(
  plant: Plant,
  { url, version, access }: At & { readonly access: Access },
  given: Given,
  listener: Listener,
): Water {
  const { account } = listener;
  let settledMs = Number.POSITIVE_INFINITY;
  const water: Water = startWater({
    plant,
    broker: url,
    mqtt: version === 5 ? '5' : '3.1.1',
    access,
    pace: given.realtime === true ? 'real-time' : 'lock-step',
    forMs: given.once === true ? CYCLE_MS : DAY_MS,
    seed: given.seed,
    starts: startedByPerson(plant),
    onStep: async (step, { world, clock }) => {
      if (given.realtime === true) account.setClock(clock().day, clock().minuteOfDay);
      else await listener.reached(step);
      if (given.once !== true || !account.isFullCycle()) return;
      settledMs = Math.min(settledMs, world.nowMs + SETTLE_MS);
      if (!account.isBetweenSteps()) settledMs = Math.max(settledMs, world.nowMs + RUN_OUT_MS);
      if (world.nowMs >= settledMs) water.stop();
    },
  });
  return water;
}

/** The person of the day does what the station's policy leaves to a person: without it nothing would ever begin. */
function startedByPerson({ policy, process: { refill } }: Plant): readonly string[] {
  const { starts } = policy;
  return [
    ...(starts.refill === 'person' && refill !== null ? ['refill'] : []),
    ...(starts.batch === 'person' ? ['batch'] : []),
    ...(starts.exchange === 'person' ? ['exchange'] : []),
  ];
}

interface Listener {
  readonly client: MqttClient;
  readonly account: Account;
  /** Resolves when everything of this step has been heard. */
  readonly reached: (step: number) => Promise<void>;
}

async function listen(
  plant: Plant,
  { url, version, login }: At & { login: Login },
  tell: (entry: Entry) => void,
): Promise<Listener> {
  const account = new Account(plant);
  const topics = topicsOf(plant.id);
  const client = await greeted(url, { version, ...ONCE, ...login }).catch((error) => {
    throw refusalOf(error, url, version) ?? unreached(error, url, version);
  });
  let heard = 0;
  let wake: () => void = () => {};
  client.on('message', (topic, payload, { retain }) => {
    // What an earlier run left on a shared broker is not of this day.
    if (retain) return;
    if (topic === topics.timeDone) {
      heard = Number(JSON.parse(payload.toString()).step);
      wake();
      return;
    }
    for (const entry of account.hear(topic, payload)) tell(entry);
  });
  const { status, time, request, answer, timeDone, task, alarm } = topics;
  await client.subscribeAsync([status, time, request, answer, timeDone, task('+'), `${alarm('')}+`], {
    qos: 1,
  });
  return {
    client,
    account,
    reached: async (step) => {
      while (heard !== step) {
        await new Promise<void>((resolve) => {
          wake = resolve;
        });
      }
    },
  };
}

function print(entry: Entry, given: Given): void {
  const { day, time, about, words } = entry;
  if (given.json === true) process.stdout.write(`${JSON.stringify(entry)}\n`);
  else process.stdout.write(`${day === 0 ? '' : `day ${day + 1}, `}${time}  ${about.padEnd(8)}  ${words}\n`);
}
