// A person at the wet rig, played: answers each question of `commission` by what the rig really does, and moves its floats,
// plugs and jugs by `RigHands`. Knows the questions by their keys and the rig by its own words; nothing of the product.
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { copyFileSync, mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { mosquitto } from './brokers.ts';
import { CONTACTS, type Habits, type RelayName, RigHands } from './rig-hands.ts';
import type { Books } from './wet-rig.ts';

export interface Commissioned {
  readonly code: number | null;
  /** Everything that the command said. */
  readonly said: string;
  /** The verdict of each try, in their order. */
  readonly verdicts: readonly { readonly item: string; readonly verdict: string; readonly words: string }[];
  /** The station file afterwards. */
  readonly station: string;
  readonly books: Books;
  readonly tookS: number;
  readonly directory: string;
}

export interface Commissioning {
  /** Writes what is wrong into the right file. */
  readonly wrong?: (text: string) => string;
  readonly habits?: Habits;
  /** One list of `--only` for each call, one after the other; none: everything. */
  readonly calls?: readonly (readonly string[])[];
  /** Answers of its own, before all others. */
  readonly answers?: (key: string, hands: RigHands, at: At) => string | null;
  /** Of the rig. */
  readonly mixingL?: number;
}

/** Where it is, for what a test does beside the answer. */
export interface At {
  /** Types a line after a while; null: the terminal is closed. */
  readonly later: (ms: number, line: string | null) => void;
  readonly args: readonly string[];
}

/** The right file for the rig behind its hands. */
export const rightStation = (): string =>
  readFileSync('test/stations/bench-rig.json', 'utf8').replaceAll('"rig/', '"bench/');

const wait = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));

export async function commissioning(options: Commissioning): Promise<Commissioned> {
  const rig = process.env.VATWARDEN_RIG;
  if (rig === undefined) throw new Error('VATWARDEN_RIG names no rig');
  const {
    wrong = (text: string) => text,
    habits = {},
    calls = [[]],
    answers = () => null,
    mixingL = 0.6,
  } = options;
  const broker = await mosquitto();
  const url = `mqtt://127.0.0.1:${broker.port}`;
  const directory = mkdtempSync(join(tmpdir(), 'vatwarden-commission-'));
  const file = join(directory, 'station.json');
  writeFileSync(file, wrong(rightStation()));
  copyFileSync(file, join(directory, 'before.json'));
  const water = spawn(process.execPath, [rig, '--broker', url, '--mixing', String(mixingL), '--for', '900'], {
    stdio: ['ignore', 'pipe', 'ignore'],
  });
  let waterSays = '';
  water.stdout.on('data', (chunk) => {
    waterSays += chunk;
  });
  const hands = await RigHands.between(url, habits);
  const startedMs = performance.now();
  let said = '';
  let code: number | null = null;
  try {
    await wait(1_500);
    for (const only of calls) {
      const args = [
        'dist/cli/main.js',
        'commission',
        file,
        '--broker',
        url,
        '--state',
        join(directory, 'state'),
      ];
      const command = spawn(
        process.execPath,
        [...args, '--who', 'Kim', ...(only.length === 0 ? [] : ['--only', ...only])],
        { stdio: ['pipe', 'pipe', 'pipe'] },
      );
      said += await played(command, hands, answers, mixingL, args);
      code = command.exitCode;
    }
  } finally {
    await hands.close();
    water.kill('SIGTERM');
    if (water.exitCode === null) await once(water, 'exit');
    await broker.close();
  }
  const verdicts = [...said.matchAll(/^(\S+\/\S+) (passed|failed|undone): (.*)$/gmu)].map(
    ([, item = '', verdict = '', words = '']) => ({ item, verdict, words }),
  );
  const books = JSON.parse(waterSays.trim().split('\n').at(-1) ?? 'null') as Books;
  const tookS = (performance.now() - startedMs) / 1000;
  return { code, said, verdicts, station: readFileSync(file, 'utf8'), books, tookS, directory };
}

async function played(
  command: ChildProcess,
  hands: RigHands,
  answers: NonNullable<Commissioning['answers']>,
  mixingL: number,
  args: readonly string[],
): Promise<string> {
  const person = personAt(hands, mixingL);
  let said = '';
  let line = '';
  const later = (ms: number, text: string | null) =>
    void setTimeout(() => (text === null ? command.stdin?.end() : command.stdin?.write(`${text}\n`)), ms);
  const work = async (text: string) => {
    const question = /^\? \[([^\]]+)\]/u.exec(text)?.[1];
    if (question === undefined) return;
    const answer = answers(question, hands, { later, args }) ?? (await person(question));
    said += `> ${answer}\n`;
    command.stdin?.write(`${answer}\n`);
  };
  command.stdout?.on('data', (chunk: Buffer) => {
    said += chunk;
    line += chunk;
    const lines = line.split('\n');
    line = lines.pop() ?? '';
    for (const one of lines) void work(one);
  });
  command.stderr?.on('data', (chunk: Buffer) => {
    said += chunk;
  });
  await once(command, 'exit');
  return said;
}

const JUG = { salinity: 35, coolC: 15, warmC: 27 };
const CUP_C = 33;

function personAt(hands: RigHands, mixingL: number): (question: string) => Promise<string> {
  let clicks = hands.count();
  let wasWet = false;
  let meterBefore = 0;
  let pouredL: number | null = null;
  const pulses = () => JSON.parse(hands.rig('transfer/meter')).pulses / 450;
  const freshL = () => (JSON.parse(hands.rig('fresh/level')).mm / 400) * 12;
  const suppliedL = () => Number(hands.rig('supply/total')) / 1000;
  const drainedL = () => Number(hands.rig('drain/total')) / 1000;
  const contentsOf = (sensor: string): number => {
    if (sensor.startsWith('fresh')) return freshL();
    return sensor.startsWith('mixing') ? mixingL + pulses() - suppliedL() : 100 + suppliedL() - drainedL();
  };
  /** What came out of the end of a hose. */
  const moved = (route: string): number =>
    ({ refill: freshL() + pulses(), transfer: pulses(), supply: suppliedL(), drain: drainedL() })[route] ?? 0;

  const contact = (id: string, key: string): string => {
    const { topic, wet, dry } = CONTACTS[id] as (typeof CONTACTS)[string];
    if (key === 'now') {
      wasWet = hands.shown(topic) === wet;
      return wasWet ? 'wet' : 'dry';
    }
    hands.move(topic, key === 'moved' ? (wasWet ? dry : wet) : null);
    return '';
  };
  const thermometer = async (id: string, key: string): Promise<string> => {
    if (key === 'cup') {
      if (id.startsWith('mixing')) hands.move('mixing/probe', JSON.stringify({ ec_us: 4, t_c: CUP_C }));
      else hands.move('system/temperature', String(CUP_C));
      await wait(300);
      return String(CUP_C);
    }
    hands.move(id.startsWith('mixing') ? 'mixing/probe' : 'system/temperature', null);
    return '';
  };
  const probe = (key: string): string => {
    if (key === 'salinity') return String(JUG.salinity);
    if (key === 'back') {
      hands.move('mixing/probe', null);
      return '';
    }
    const temperatureC = key === 'cool' ? JUG.coolC : JUG.warmC;
    hands.dip(JUG.salinity, temperatureC);
    return String(temperatureC);
  };
  const relay = async (name: RelayName, key: string): Promise<string> => {
    if (key === 'isolated') {
      hands.isolate(name);
      return 'isolated';
    }
    if (key === 'clicked') return hands.clicked(clicks).join(' ') || 'none';
    if (key === 'cut') {
      for (let n = 0; n < 40 && !hands.isOn(name); n++) await wait(100);
      await wait(300);
      hands.power(name, false);
    }
    if (key === 'given') {
      await wait(500);
      hands.power(name, true);
    }
    clicks = hands.count();
    return '';
  };
  const meter = async (route: string, key: string): Promise<string> => {
    if (key === 'bucket') return route === 'transfer' ? '1.6' : '3.5';
    if (key === 'ready') {
      meterBefore = moved(route);
      return '';
    }
    await wait(600);
    return (moved(route) - meterBefore).toFixed(3);
  };
  const mark = async (id: string, key: string): Promise<string> => {
    const { topic, wet, atL } = CONTACTS[id] as (typeof CONTACTS)[string];
    if (id.startsWith('system')) return 'skip there is no way to fill the system yet';
    if (key === 'start') {
      pouredL = null;
      // By the bucket, down to below where it hangs.
      if (id.startsWith('fresh') && hands.rig(topic) === wet) {
        await hands.take(freshL() - atL + 0.4);
        await wait(1_500);
      }
      return contentsOf(id).toFixed(2);
    }
    if (key === 'pour') {
      pouredL = atL;
      hands.move(topic, wet);
      return '';
    }
    if (key === 'now') {
      await wait(700);
      const nowL = pouredL ?? contentsOf(id);
      if (pouredL !== null) hands.move(topic, null);
      return nowL.toFixed(2);
    }
    return '';
  };
  return async (question) => {
    const [item = '', key = ''] = question.split(' ');
    const [kind = '', id = ''] = item.split('/');
    if (key === 'accept') return 'yes';
    if (item === 'seen' || key === 'seen') return 'all vats and the tray are as they should be';
    if (item === 'connected') {
      hands.connectAll();
      return '';
    }
    if (kind === 'contact') return contact(id, key);
    if (kind === 'thermometer') return thermometer(id, key);
    if (kind === 'probe') return probe(key);
    if (kind === 'meter') return meter(id, key);
    if (kind === 'mark') return mark(id, key);
    return relay(id as RelayName, key);
  };
}
