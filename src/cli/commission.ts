// The command `commission`: what the station file says of real devices, tried with a person beside the vat.
import { randomBytes } from 'node:crypto';
import { createInterface } from 'node:readline';
import type { Command } from 'commander';
import { destination, pino } from 'pino';
import type { Farewell } from '../bridge/farewell.ts';
import { keeperOf } from '../bridge/keeper.ts';
import { lockDirectory } from '../bridge/lock.ts';
import { machine, stampNow } from '../bridge/machine.ts';
import { wakeUp } from '../bridge/wake-up.ts';
import { itemsOf } from '../commission/items.ts';
import type { Lines } from '../commission/person.ts';
import { commissionedBy, standingsOf, waiverOf, withEntry } from '../commission/record.ts';
import { type SessionEnd, session } from '../commission/session.ts';
import { Coded } from '../errors/coded.ts';
import { englishOf } from '../language/english.ts';
import { loadStation } from '../station/load.ts';
import { wordsOf } from '../station/problem.ts';
import { addBrokerOptions, type BrokerGiven, settingsOf } from './broker-options.ts';
import { recordIn, writeRecord, writeWhole } from './commissioning-record.ts';
import { stationIn, writeText } from './files.ts';
import { CORE, EXIT } from './run.ts';
import { duration } from './values.ts';

interface Given extends Partial<BrokerGiven> {
  readonly mqtt: '5' | '3.1.1';
  readonly state: string;
  readonly who?: string;
  readonly only?: readonly string[];
  readonly list?: true;
  readonly report?: string;
  readonly waive?: string;
  readonly for?: number;
}

/** Adds `commission` to the program. */
export function addCommission(program: Command): void {
  const command = program
    .command('commission')
    .description('Leads a person through trying what the station file says of the real devices')
    .argument('<file>', 'the station file')
    .requiredOption('--state <directory>', 'the state directory of the station; the record is kept in it')
    .option('--who <name>', 'who stands at the station and answers')
    .option('--only <items...>', 'just these: lease/fill, or all of a kind: lease')
    .option('--list', 'how every item stands, and nothing else')
    .option('--report <file>', 'the record as a page to hand over and sign, .html')
    .option(
      '--waive <reason>',
      'let the station work by itself though not every item has passed; needs --who and --for',
    )
    .option('--for <duration>', 'how long that is waived: 12 h, 30 d', duration('366 d'));
  addBrokerOptions(command);
  const broker = command.options.find(({ long }) => long === '--broker');
  if (broker !== undefined) broker.mandatory = false;
  command.addHelpText('after', HELP).action(async (file: string, given: Given) => {
    process.exit(await commission(file, given));
  });
}

const HELP = `
Examples:
  $ vatwarden commission station.json --state state --list
  $ vatwarden commission station.json --state state --report commissioning.html
  $ vatwarden commission station.json --state state --who Kim --waive 'the electrician comes on Monday' --for '4 d'
  $ vatwarden commission station.json --state state --broker mqtt://127.0.0.1:1883 --who Kim
The service itself must not run meanwhile. All interlocks are at work, and nothing starts by itself. First by hand, with nothing switched
on; then dry, one output at a time with its load isolated; then wet, one route at a time. It says what will happen and waits for you.
Answer each question with a line; \`skip REASON\` leaves an item as it is, \`stop\` switches everything off at once.
Until every item has passed \`run\` starts and resumes nothing by itself, unless a named person waives that for a stated time.
What is wrong in the file is said, with the change that would put it right; \`yes\` writes it into the file.
Exit code 0: every item asked for has passed, or the list, the page or the waiver was what was asked for; 1: some have not; 2: the call or the station file can't be used; 3: the broker refuses;
4: the state directory or the record in it can't be used, or somebody else works with it.`;

async function commission(file: string, given: Given): Promise<number> {
  if (given.list === true) return list(file, given.state);
  if (given.report !== undefined) return await report(file, given.state, given.report);
  if (given.waive !== undefined) return waive(file, given, given.waive);
  if (given.broker === undefined || given.who === undefined || given.who.trim() === '')
    throw new Coded('E-105', 'to try anything it needs --broker and --who; --list needs neither');
  const lock = lockDirectory(given.state);
  const lines = linesOf();
  const isolated = new Set<string>();
  try {
    for (;;) {
      const { end, farewell, isPassed } = await once(
        file,
        { ...given, broker: given.broker, who: given.who.trim() },
        lines,
        isolated,
        () => lock.touch(),
      );
      if (end === 'file-changed') continue;
      return tellFarewell(farewell) && isPassed() ? EXIT.stopped : EXIT.unconfirmed;
    }
  } finally {
    lines.close();
    lock.release();
  }
}

type Session = BrokerGiven & Given & { readonly broker: string; readonly who: string };

async function once(file: string, given: Session, lines: Typed, isolated: Set<string>, touch: () => void) {
  const { plant, station, text } = stationIn(file);
  const items = itemsOf(plant, station);
  let record = recordIn(given.state, plant.id);
  const keeper = keeperOf(given.state, plant, stampNow);
  const awake = wakeUp(CORE, plant, keeper, stampNow());
  lines.inEnglish = englishOf(plant);
  const only = given.only ?? [];
  const unknown = only.find((name) => !items.some(({ key, kind }) => key === name || kind === name));
  if (unknown !== undefined)
    throw new Coded('E-104', `--only: this station has no item '${unknown}'; --list names them all`);
  const { end, farewell } = await session({
    plant,
    station,
    text,
    file,
    core: CORE,
    state: awake.state,
    settings: settingsOf(plant.id, given),
    boot: randomBytes(4).toString('hex'),
    machine,
    save: (state) => keeper.save(state).finally(touch),
    log: pino({ level: 'error', base: null, messageKey: 'event' }, destination({ dest: 2, sync: true })),
    lines,
    who: given.who,
    only,
    isolated,
    record: () => record,
    keep: (entry) => {
      record = withEntry(record, entry);
      writeRecord(given.state, record);
    },
    accept: (next) => {
      const loaded = loadStation(file, next);
      if (!loaded.ok)
        say(`the file can't be used with that change: ${loaded.errors.map(wordsOf).join('; ')}`);
      else writeWhole(file, next);
      return loaded.ok;
    },
    stoppable: (stop) => {
      lines.stop = stop;
    },
  });
  const isMeant = (key: string, kind: string) =>
    only.length === 0 || only.includes(key) || only.includes(kind);
  const isPassed = () =>
    standingsOf(items, record).every(
      ({ item, standing }) => !isMeant(item.key, item.kind) || standing === 'passed',
    );
  return { end: end satisfies SessionEnd, farewell, isPassed };
}

async function report(file: string, directory: string, to: string): Promise<number> {
  const { plant, station } = stationIn(file);
  const record = recordIn(directory, plant.id);
  const { handOverPage } = await import('../commission/page.ts');
  writeText(
    'the page',
    to,
    handOverPage(plant, standingsOf(itemsOf(plant, station), record), record, Date.now()),
  );
  say(`the record is in ${to}`);
  return EXIT.stopped;
}

function waive(file: string, { state, who = '', for: forMs }: Given, reason: string): number {
  if (who.trim() === '' || forMs === undefined || reason.trim() === '')
    throw new Coded('E-105', '--waive needs a reason, --who answers for it, and --for how long');
  const { plant } = stationIn(file);
  const lock = lockDirectory(state);
  try {
    const entry = waiverOf(who.trim(), reason.trim(), Date.now(), forMs);
    writeRecord(state, withEntry(recordIn(state, plant.id), entry));
    say(englishOf(plant)(entry.words));
    return EXIT.stopped;
  } finally {
    lock.release();
  }
}

function list(file: string, directory: string): number {
  const { plant, station } = stationIn(file);
  const inEnglish = englishOf(plant);
  const record = recordIn(directory, plant.id);
  const standings = standingsOf(itemsOf(plant, station), record);
  for (const { item, standing, last } of standings) {
    const when =
      last === null
        ? ''
        : `  ${new Date(last.wallMs).toISOString().slice(0, 10)} ${last.who}: ${inEnglish(last.words)}`;
    process.stdout.write(`${standing.padEnd(12)} ${item.key}${when}\n`);
  }
  const { waiver } = commissionedBy(
    standings.map(({ item }) => item),
    record,
    Date.now(),
  );
  if (waiver !== null)
    say(`waived by ${waiver.who} for ${(waiver.leftMs / 3_600_000).toFixed(1)} h more: ${waiver.reason}`);
  return EXIT.stopped;
}

interface Typed extends Lines {
  stop: () => void;
  inEnglish: ReturnType<typeof englishOf>;
  readonly close: () => void;
}

/** Standard input, line by line. `stop`, a signal and the end of it switch everything off, whatever is being waited for. */
function linesOf(): Typed {
  const input = createInterface({ input: process.stdin });
  const waiting: string[] = [];
  let ask: ((line: string | null) => void) | null = null;
  let isOver = false;
  const over = () => {
    isOver = true;
    typed.stop();
    ask?.(null);
    ask = null;
  };
  const typed: Typed = {
    stop: () => {},
    inEnglish: () => '',
    tell: (words) => say(typed.inEnglish(words)),
    question: (key, words) => say(`? [${key}] ${typed.inEnglish(words)}`),
    next: () =>
      new Promise((resolve) => {
        const line = waiting.shift();
        if (line !== undefined) resolve(line);
        else if (isOver) resolve(null);
        else ask = resolve;
      }),
    close: () => input.close(),
  };
  input.on('line', (line) => {
    if (line.trim() === 'stop') typed.stop();
    if (ask === null) waiting.push(line);
    else ask(line);
    ask = null;
  });
  input.on('close', over);
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, over);
  return typed;
}

function tellFarewell({ unconfirmed }: Farewell): boolean {
  for (const [actuator, why] of Object.entries(unconfirmed)) say(`NOT CONFIRMED off: ${actuator} (${why})`);
  return Object.keys(unconfirmed).length === 0;
}

function say(words: string): void {
  process.stdout.write(`${words}\n`);
}
