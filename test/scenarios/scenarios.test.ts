// Scenarios as text: one accident or one good day each. A file is prose (# lines), then commands, then `---` and what
// happened. Expectations are regenerated with UPDATE_SCENARIOS=1: read the difference before you keep it.
//
//   station FILE [step DURATION] [seed N]   which station, by its name among the examples or in test/stations
//   file POINTER JSON                       the station's file says this there
//   fault SPEC                              as for `simulate --fault`, in station time
//   run DURATION                            lets time pass
//   ask JSON                                a request, as the core takes it
//   link up | down                          messages arrive and leave, or don't
//   power-cut DURATION [lost | replumbed]   the service is gone for that long and comes back with what it had saved; with
//                                           a state file that it can't read; with other plumbing in its station file
//   foreign ACTUATOR on | off | unreadable [retained]
//                                           somebody else commands a device; retained: it was stored on the broker
//   mute | hears                            messages stop both ways, and the client does not notice; they come again
//   stall DURATION                          the service stands still, and goes on with one long step
//   disk full | free                        what happens can't, or can, be written down
//   clock +DURATION | -DURATION | untrusted the clock of the computer jumps, or is not to be trusted
//   count starts                            the books at the end also say how often each device started
//   untried DURATION                        the last proof tests were so long ago
//   unmoved VALVE DURATION                  this valve last opened and shut so long ago
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { provenBefore } from '../../src/control/guard/proof-tests.ts';
import type { Request } from '../../src/control/guard/types.ts';
import { movedBefore } from '../../src/control/process/exercise.ts';
import { englishOf } from '../../src/language/english.ts';
import { alarmText, told } from '../../src/language/told.ts';
import { verdictOf } from '../../src/simulate/verdict.ts';
import { readQuantity } from '../../src/units/quantity.ts';
import type { Memory } from '../../src/verify/coupled.ts';
import { type Coupled, couple, fileOf, plantAt } from '../tools/coupled.ts';

const FOLDER = 'test/scenarios';
const update = process.env.UPDATE_SCENARIOS !== undefined;
const files = readdirSync(FOLDER).filter((file) => file.endsWith('.txt'));

const duration = (text: string): number => readQuantity(text, 'duration');

const COMMANDS: Readonly<Record<string, (coupled: Coupled, rest: string) => void>> = {
  run: (coupled, rest) => void coupled.run(duration(rest)),
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

function play(script: string): string {
  const lines = script.split('\n').filter((line) => line.trim() !== '' && !line.startsWith('#'));
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
    command(coupled, rest.join(' '));
  }
  const starts = lines.includes('count starts') ? [startsOf(coupled)] : [];
  return [...account(coupled), ...books(coupled), ...starts].join('\n');
}

const clock = (ms: number): string => {
  const seconds = Math.round(ms / 1000);
  const two = (n: number) => String(n).padStart(2, '0');
  return `${two(Math.floor(seconds / 3600))}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
};

/** Exchange steps repeat all day: the first two tell the story. */
function account({ plant, log }: Coupled): string[] {
  let steps = 0;
  return told(englishOf(plant), log).flatMap(({ atMs, effect }) => {
    const at = clock(atMs);
    if (effect.do === 'record' && effect.about !== 'trip') {
      const ofStep = /running, (drain|supply|rest)$/.test(effect.message.text);
      if (ofStep) steps += 1;
      if (ofStep && steps > 7) return [];
      return [`${at}  ${effect.message.text}`];
    }
    if (effect.do === 'record') return [`${at}  trip ${effect.message.text}`];
    if (effect.do === 'alarm') {
      // What a person reads when it comes; later only what became of it.
      const words =
        effect.state === 'unacknowledged' ? `: ${alarmText(effect.message, effect.response)}` : '';
      return [`${at}  alarm ${effect.alarm} ${effect.state}${words}`];
    }
    if (effect.do === 'ask' && effect.task) return [`${at}  please: ${effect.task.message.text}`];
    if (effect.do === 'answer' && !effect.accepted) return [`${at}  refused: ${effect.message.text}`];
    return [];
  });
}

function startsOf({ twin }: Coupled): string {
  const { starts } = verdictOf(twin);
  return `starts: ${Object.entries(starts)
    .map(([id, count]) => `${id} ${count}`)
    .join(', ')}`;
}

function books({ twin, state, nowMs }: Coupled): string[] {
  const verdict = verdictOf(twin);
  const sum = (amounts: Readonly<Record<string, number>>): number =>
    Object.values(amounts).reduce((a, b) => a + b, 0);
  const spilledL = sum(
    Object.fromEntries(Object.entries(verdict.vessels).map(([id, v]) => [id, v.spilledL])),
  );
  const now = state();
  return [
    `${clock(nowMs())}  refill ${now.refill.procedure}, batch ${now.batch.procedure} (${now.batch.stage}), exchange ${Object.values(now.exchange).map((e) => `${e.procedure} (${e.step})`)}`,
    `books: spilled ${spilledL.toFixed(1)} L, from hoses ${sum(verdict.hoseL).toFixed(1)} L, pumps dry ${sum(verdict.secondsDry).toFixed(0)} s, heater bare ${sum(verdict.heaterDryS).toFixed(0)} s, heater while dissolving ${sum(verdict.heaterWhileDissolvingS).toFixed(0)} s`,
    `books: delivered ${verdict.deliveredL.toFixed(1)} L, of it outside tolerance ${verdict.deliveredOffSpecL.toFixed(1)} L; drained ${verdict.drainedL.toFixed(1)} L; balance ${(100 * verdict.balanceErrorShare).toFixed(3)} %`,
  ];
}

describe('scenarios', () => {
  test.each(files)(
    '%s',
    (file) => {
      const path = `${FOLDER}/${file}`;
      const [script = '', expected = ''] = readFileSync(path, 'utf8').split(/^---\n/m);
      const happened = `${play(script)}\n`;
      if (update) writeFileSync(path, `${script}---\n${happened}`);
      else expect(happened).toBe(expected);
    },
    300_000,
  );
});
