// A scenario as text, played: see test/scenarios/scenarios.test.ts for its commands.
import { provenBefore } from '../../src/control/guard/proof-tests.ts';
import type { Request } from '../../src/control/guard/types.ts';
import { movedBefore } from '../../src/control/process/exercise.ts';
import { readQuantity } from '../../src/units/quantity.ts';
import type { Memory } from '../../src/verify/coupled.ts';
import { type Coupled, couple, fileOf, plantAt } from './coupled.ts';

const duration = (text: string): number => readQuantity(text, 'duration');

/** Looks on after every step. */
type Watch = (coupled: Coupled) => void;

const COMMANDS: Readonly<Record<string, (coupled: Coupled, rest: string, watch: Watch) => void>> = {
  run: (coupled, rest, watch) =>
    void coupled.run(duration(rest), () => {
      watch(coupled);
      return false;
    }),
  ask: (coupled, rest) => coupled.request(JSON.parse(rest) as Request),
  link: (coupled, rest) => coupled.setLink(rest === 'up'),
  count: () => {},
  mute: (coupled) => coupled.setLink(false, false),
  hears: (coupled) => coupled.setLink(true, false),
  stall: (coupled, rest) => coupled.stall(duration(rest)),
  disk: (coupled, rest) => coupled.input({ type: 'journal', writable: rest === 'free' }),
  clock: (coupled, rest) => {
    const { minuteOfDay, day } = coupled.state().clock;
    const minutes = rest === 'untrusted' ? 0 : Math.round(duration(rest.replace('+', '')) / 60_000);
    const all = day * 1_440 + minuteOfDay + minutes;
    const now = { minuteOfDay: ((all % 1_440) + 1_440) % 1_440, day: Math.floor(all / 1_440) };
    coupled.input({ type: 'clock', ...now, trusted: rest !== 'untrusted' });
  },
  untried: (coupled, rest) =>
    coupled.adopt((state) => provenBefore(coupled.plant, state, duration(rest), {})),
  unmoved: (coupled, rest) => {
    const [valve = '', ...since] = rest.split(' ');
    coupled.adopt((state) => movedBefore(coupled.plant, state, { [valve]: duration(since.join(' ')) }));
  },
  'power-cut': (coupled, rest) => {
    const [, span = rest, memory] = /^(.+?)(?: (lost|replumbed))?$/u.exec(rest) ?? [];
    coupled.powerCut(duration(span), memory as Memory | undefined);
  },
  foreign: (coupled, rest) => {
    const [actuator = '', word, stored] = rest.split(' ');
    const retained = stored === 'retained';
    const on = word === 'unreadable' ? null : word === 'on';
    coupled.input({ type: 'foreign-command', actuator, on, retained });
    if (word === 'on') coupled.twin.command(actuator, true, 60_000);
  },
};

export const linesOf = (script: string): readonly string[] =>
  script.split('\n').filter((line) => line.trim() !== '' && !line.startsWith('#'));

export function play(script: string, watch: Watch = () => {}): Coupled {
  const lines = linesOf(script);
  const first = /^station (\S+)(?: step (.+?))?(?: seed (\d+))?$/.exec(lines[0] ?? '');
  if (!first) throw new Error(`the first command names a station, not '${lines[0]}'`);
  const all = (name: string): string[] =>
    lines.filter((line) => line.startsWith(`${name} `)).map((line) => line.slice(name.length + 1));
  const otherwise = all('file').map((rest): [string, unknown] => {
    const [pointer = '', ...json] = rest.split(' ');
    return [pointer, JSON.parse(json.join(' '))];
  });
  const coupled = couple(plantAt(fileOf(first[1] ?? ''), Object.fromEntries(otherwise)), {
    faults: all('fault'),
    stepMs: duration(first[2] ?? '5 s'),
    seed: Number(first[3] ?? 1),
  });
  for (const line of lines.slice(1)) {
    if (/^(fault|file) /u.test(line)) continue;
    const [name = '', ...rest] = line.split(' ');
    const command = COMMANDS[name];
    if (!command) throw new Error(`there is no command '${name}'`);
    command(coupled, rest.join(' '), watch);
  }
  return coupled;
}
