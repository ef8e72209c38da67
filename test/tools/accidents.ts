// Every accident of the fault book, at the moment at which somebody is called: what the station tells them then, and its page.
import { readFileSync } from 'node:fs';
import type { Effect, Priority } from '../../src/control/guard/types.ts';
import type { State } from '../../src/control/process/state.ts';
import { memorySource } from '../../src/panel/memory-source.ts';
import { type Panel, startPanel } from '../../src/panel/server.ts';
import type { Plant } from '../../src/station/plant.ts';
import { play } from './scenario.ts';

type AlarmEffect = Extract<Effect, { do: 'alarm' }>;

export interface Accident {
  readonly plant: Plant;
  /** Each alarm that came, once, as it came. */
  readonly told: readonly AlarmEffect[];
  /** The station when somebody has come to the phone; null: nobody was called. */
  readonly called: { readonly state: State; readonly atMs: number } | null;
}

/** A task calls somebody too, where no alarm does. */
const WORTH: Readonly<Record<Priority | 'task', number>> = { urgent: 4, soon: 3, notice: 2, task: 1 };
const MONDAY_MS = Date.UTC(2026, 2, 30);
/** So long the alarms of one accident take to come, and somebody to reach the phone. */
const LATER_MS = 3 * 60_000;

const worthOf = (effect: Effect): number => {
  if (effect.do === 'ask') return effect.task === null ? 0 : WORTH.task;
  return effect.do === 'alarm' && effect.state === 'unacknowledged' ? WORTH[effect.priority] : 0;
};

const played = new Map<string, Accident>();

/** @param name of a scenario: it is played once, whoever asks for it again */
export function accidentOf(name: string): Accident {
  const known = played.get(name);
  if (known !== undefined) return known;
  const [script = ''] = readFileSync(`test/scenarios/${name}.txt`, 'utf8').split(/^---\n/m);
  let called: Accident['called'] = null;
  let [worst, since, seenTo] = [0, 0, 0];
  const { plant, log } = play(script, (coupled) => {
    const news = Math.max(0, ...coupled.log.slice(seenTo).map(({ effect }) => worthOf(effect)));
    seenTo = coupled.log.length;
    if (news > worst) [worst, since] = [news, coupled.nowMs()];
    if (worst > 0 && coupled.nowMs() - since <= LATER_MS)
      called = {
        state: coupled.state(),
        atMs: MONDAY_MS + coupled.twin.works.startMinute * 60_000 + coupled.nowMs(),
      };
  });
  const told = new Map<string, AlarmEffect>();
  for (const { effect } of log)
    if (
      effect.do === 'alarm' &&
      effect.state === 'unacknowledged' &&
      !told.has(`${effect.alarm} ${effect.priority}`)
    )
      told.set(`${effect.alarm} ${effect.priority}`, effect);
  const accident = { plant, told: [...told.values()], called };
  played.set(name, accident);
  return accident;
}

/** Its page, as whoever was called opens it. */
export const servedAccident = ({ plant, called }: Accident): Promise<Panel> => {
  if (called === null) throw new Error('nobody was called');
  const { state, atMs } = called;
  return startPanel({
    port: 0,
    source: memorySource({ plant, state, startMs: atMs, simulated: true, journal: null, send: () => {} }),
  });
};
