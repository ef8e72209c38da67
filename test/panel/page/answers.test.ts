// The four answers, walked over every state of every scenario: no answer denies what another one rests on, and nobody is told
// that there is nothing to do while something that is wanted waits for a person, a reading or a repair.
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { feedbackOf } from '../../../src/control/guard/evidence.ts';
import { deriveRows } from '../../../src/control/guard/interlocks.ts';
import { describe as statusOf } from '../../../src/control/process/describe.ts';
import { answers, sentencesOf } from '../../../src/panel/page/state/answers.ts';
import { live, standing, station } from '../../../src/panel/page/state/live.ts';
import type { Since } from '../../../src/panel/since.ts';
import type { Source } from '../../../src/panel/source.ts';
import { standingOf } from '../../../src/panel/standing.ts';
import { sectionsOf } from '../../../src/panel/view.ts';
import { runNight } from '../../../src/verify/trial/night.ts';
import { swarmFor } from '../../../src/verify/trial/swarm.ts';
import { type Coupled, plantAt } from '../../tools/coupled.ts';
import { panelStation } from '../../tools/panel-station.ts';
import { play } from '../../tools/scenario.ts';
import { SCENES } from '../../tools/scenes.ts';

const FOLDER = 'test/scenarios';
const files = readdirSync(FOLDER).filter((file) => file.endsWith('.txt'));
const SINCE: Since = { look: () => {}, row: () => null, sensors: () => ({}), alarm: () => 0, link: () => 0 };
const QUIET = ['normal', 'shelved', 'suppressed-by-design', 'out-of-service'];

/** The page's own signals, filled with what the service would send of this state. */
function show(coupled: Coupled): void {
  const { plant } = coupled;
  const status = statusOf(plant, coupled.state());
  const source = {
    plant: () => plant,
    state: coupled.state,
    status: () => status,
    now: () => ({ atMs: coupled.nowMs(), simulated: true }),
    asks: [],
    batch: () => null,
    proofs: () => ({}),
    saltStock: null,
    countSalt: null,
    adopt: null,
  } as unknown as Source;
  if (standing.peek()?.id !== plant.id || standing.peek()?.rows.length !== deriveRows(plant).length)
    station.value = standingOf(source, false);
  for (const [name, value] of Object.entries(sectionsOf(source, SINCE)))
    (live[name as keyof typeof live] as { value: unknown }).value = value;
}

interface So {
  readonly flows: boolean;
  readonly isOnUnasked: boolean;
  readonly shutDown: boolean;
  readonly paused: boolean;
  readonly stands: boolean;
  readonly silent: boolean;
  readonly forPerson: boolean;
}

/** What is so, from the state and not from the page. */
function soIn({ plant, state }: Coupled): So {
  const now = state();
  const status = statusOf(plant, now);
  const units = [now.refill, now.batch, ...Object.values(now.exchange)];
  const holds = (id: RegExp) =>
    deriveRows(plant).some(
      (row) => id.test(row.key) && row.forbids.length > 0 && !now.bypasses[row.key] && row.holds(now),
    );
  const standsNow = Object.values(now.alarms).some(
    ({ state: alarm }) => !QUIET.includes(alarm) && alarm !== 'returned-unacknowledged',
  );
  return {
    flows:
      Object.values(now.routes).some(({ running }) => running !== 'no') ||
      deriveRows(plant).some((row) => /^I-09\//u.test(row.key) && row.holds(now)),
    isOnUnasked: Object.values(plant.actuators).some(({ id, feedback }) => {
      const device = now.devices[id];
      const withinMs = feedback?.withinMs ?? 0;
      return (
        device !== undefined &&
        !device.on &&
        feedbackOf(plant, now, id) === true &&
        device.disagreesMs > withinMs
      );
    }),
    shutDown: Object.keys(now.trips).length > 0,
    paused: units.some(({ procedure }) => ['held', 'stopped', 'aborted'].includes(procedure)),
    stands: standsNow,
    silent: holds(/^I-1[23]\//u),
    forPerson:
      Object.values(now.tasks).some((task) => task !== null && task !== undefined) ||
      now.proofs.test !== null ||
      Object.keys(now.outOfService).length > 0 ||
      Object.values(status.proofTests.rows).some(({ standing: one }) => one === 'overdue') ||
      (plant.process.refill !== null &&
        plant.policy.starts.refill === 'person' &&
        now.refill.procedure === 'idle') ||
      (plant.policy.starts.batch === 'person' && now.batch.procedure === 'idle'),
  };
}

/** Every pair of answers that can't both be so, and every answer that the state denies. */
function contradictions(so: So): readonly string[] {
  const { right: isRight, doing, why: whyNot, todo: toDo } = answers.value;
  const four = [isRight, doing, whyNot, toDo];
  const [right = '', does, why, todo] = four.map(({ mark }) => mark as string);
  const words = four.flatMap((one) => sentencesOf(one.words));
  const wanting = so.shutDown || so.paused || so.stands || so.silent || so.forPerson;
  const rules: readonly (readonly [boolean, string])[] = [
    [todo === 'fine' && wanting, 'nothing to do, and somebody is needed'],
    [todo === 'fine' && ['urgent', 'soon'].includes(right), 'nothing to do, and not all is right'],
    [right === 'fine' && (so.shutDown || so.paused || so.stands), 'all is right, and something stands'],
    [right === 'fine' && todo === 'latched', 'all is right, and a shutdown is to be reset'],
    [why === 'fine' && (so.shutDown || so.paused || so.silent), 'nothing is blocked, and something is'],
    [new Set(words).size < words.length, 'a sentence is said twice'],
    [does === 'rests' && so.isOnUnasked, 'nothing runs, and a device reports on'],
    [does === 'rests' && so.flows, 'nothing runs, and water flows or may flow'],
  ];
  return rules.filter(([isBroken]) => isBroken).map(([, what]) => what);
}

const EVERY_MS = 30 * 60_000;
const TOLD: ReadonlySet<string> = new Set(['alarm', 'record', 'ask', 'answer']);

/** Looks where something was told, and now and then where nothing was. */
function walker() {
  const wrong = new Set<string>();
  let looked = 0;
  let [told, dueMs] = [0, 0];
  const look = (coupled: Coupled): void => {
    const news = coupled.log.slice(told).some(({ effect }) => TOLD.has(effect.do));
    told = coupled.log.length;
    if (!news && coupled.nowMs() < dueMs) return;
    dueMs = coupled.nowMs() + EVERY_MS;
    show(coupled);
    looked += 1;
    for (const one of contradictions(soIn(coupled)))
      wrong.add(
        `${one} (${Object.values(answers.value)
          .map(({ head }) => head)
          .join(' | ')})`,
      );
  };
  return { look, wrong: () => [...wrong], looked: () => looked };
}

/** Short nights, their faults among the first hours: what the pages say of them is looked at, not the morning. */
const NIGHTS = 20;
const LASTS_MS = 4 * 3_600_000;
const STATIONS = ['marram-point', 'one-vat', 'unequal-vats'];
const nights = Array.from(
  { length: NIGHTS },
  (_, at) => [at + 1, STATIONS[at % STATIONS.length] ?? ''] as const,
);

describe('the four answers never contradict each other', () => {
  test.each(files)('%s', (file) => {
    const [script = ''] = readFileSync(`${FOLDER}/${file}`, 'utf8').split(/^---\n/m);
    const { look, wrong, looked } = walker();
    play(script, look);
    expect(wrong()).toEqual([]);
    expect(looked()).toBeGreaterThan(1);
  });

  test.each(nights)('in the trial night of seed %i at %s', (seed, name) => {
    const plant = plantAt(`schemas/examples/${name}.json`);
    const { look, wrong, looked } = walker();
    runNight(plant, seed, swarmFor(plant, seed, LASTS_MS), {
      liveness: false,
      lastsMs: LASTS_MS,
      onStep: look,
    });
    expect(wrong()).toEqual([]);
    expect(looked()).toBeGreaterThan(5);
  });

  test.each(SCENES)('on the pictures of: $name', ({ file, faults, until }) => {
    const station = panelStation({
      ...(file === undefined ? {} : { file }),
      ...(faults === undefined ? {} : { faults }),
    });
    until(station);
    show(station.coupled);
    expect(contradictions(soIn(station.coupled))).toEqual([]);
  });
});
