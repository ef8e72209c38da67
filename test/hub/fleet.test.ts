// One page about many stations: what it makes of what uplinks bring, that it says nothing itself, and what a thousand cost.
import { readFileSync } from 'node:fs';
import mqtt from 'mqtt';
import { afterEach, describe, expect, it } from 'vitest';
import { fleetPage } from '../../src/cli/fleet-page.ts';
import { describe as statusOf } from '../../src/control/process/describe.ts';
import { initial } from '../../src/control/process/initial.ts';
import { fleetOf } from '../../src/hub/fleet.ts';
import { englishOf } from '../../src/language/english.ts';
import { told } from '../../src/language/told.ts';
import { hasMosquitto, mosquitto } from '../tools/brokers.ts';
import { cli } from '../tools/cli.ts';
import { plantAt } from '../tools/coupled.ts';

const cleanups: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const clean of cleanups.splice(0).reverse()) await clean();
});

const alarm = (priority: string, text: string, state = 'unacknowledged') =>
  JSON.stringify({ alarm: 'x', state, priority, message: { text }, response: { text: '', steps: [] } });
const task = (text: string) => JSON.stringify({ task: 'add-salt', vessel: 'mixing', message: { text } });
const heard = (...said: readonly (readonly [topic: string, payload: string, atMs?: number])[]) => {
  const fleet = fleetOf(0);
  fleet.connected(true, 0);
  for (const [topic, payload, atMs = 1000] of said)
    fleet.hear(`vatwarden/${topic}`, new TextEncoder().encode(payload), atMs);
  return fleet;
};
const brief = (fleet: ReturnType<typeof heard>) =>
  fleet.shown(9000).rows.map(({ station, need, what, sinceMs }) => [station, need, what.join('; '), sinceMs]);

describe('which station needs somebody', () => {
  it('by the worst of it, the one that waits longest first; what somebody has seen waits for nobody', () => {
    const fleet = heard(
      ['a/task/mixing', task('Add 2 kg of salt')],
      ['b/alarm/I-11-tray', alarm('urgent', 'water detected'), 3000],
      ['b/alarm/A-10', alarm('soon', 'a task is overdue'), 2000],
      ['c/online', 'false', 2500],
      ['d/alarm/x', alarm('urgent', 'seen', 'acknowledged')],
      ['e/alarm/x', alarm('urgent', 'leak'), 2000],
      ['f/online', 'true'],
    );
    expect(brief(fleet)).toEqual([
      ['b', 'urgent', 'water detected; a task is overdue', 2000],
      ['e', 'urgent', 'leak', 2000],
      ['c', 'silent', 'the station is not heard: look whether it has power and network', 2500],
      ['a', 'task', 'Add 2 kg of salt', 1000],
      ['d', 'none', '', null],
      ['f', 'none', '', null],
    ]);
  });

  it('until it is over, taken back, or heard again', () => {
    const fleet = heard(
      ['a/task/mixing', task('Add salt')],
      ['a/task/mixing', ''],
      ['b/alarm/x', alarm('soon', 'x')],
      ['b/alarm/x', alarm('soon', 'x', 'acknowledged')],
      ['c/online', 'false'],
      ['c/online', 'true'],
    );
    expect(brief(fleet).map(([, need]) => need)).toEqual(['none', 'none', 'none']);
  });

  it('says the name of a station, who is on the way, and that the broker is away', () => {
    const fleet = heard(
      ['a/status', JSON.stringify({ name: 'Marram <Point>', coming: { who: 'Ada', minutes: 9 } })],
      ['a/task/m', task('Do it')],
    );
    expect(fleet.shown(0).rows[0]).toMatchObject({ name: 'Marram <Point>', coming: 'Ada' });
    const page = fleetPage(fleet.shown(0), 0);
    expect(page).toContain('Marram &lt;Point&gt;');
    expect(page).toContain('1 of 1 stations need somebody');
    expect(page).not.toContain('broker is away');
    fleet.connected(false, 5000);
    expect(fleetPage(fleet.shown(0), 0)).toContain('broker is away');
  });

  it('is bounded: stations, items, sizes; nonsense is nothing', () => {
    const fleet = heard(
      ['a/alarm/x', '{'],
      ['a/alarm/y', '[]'],
      ['a/alarm/z', '{"message":7}'],
      ['a/status', 'null'],
      ['A b/online', 'false'],
      ['a/request', '{}'],
      ['a/status', 'x'.repeat(300_000)],
    );
    for (let n = 0; n < 100; n++) fleet.hear(`vatwarden/a/alarm/${n}`, Buffer.from(alarm('soon', `${n}`)), 1);
    for (let n = 0; n < 5100; n++) fleet.hear(`vatwarden/s${n}/online`, Buffer.from('true'), 1);
    const { rows, leftOut } = fleet.shown(1);
    expect([rows.length, leftOut, rows[0]?.what.length]).toEqual([5000, 1 + 101, 50]);
  });
});

describe.skipIf(!hasMosquitto)('a thousand stations on one broker', () => {
  it('are one page within seconds; nothing is published; what it costs is measured', async () => {
    const broker = await mosquitto({ more: 'max_queued_messages 100000' });
    cleanups.push(broker.close);
    const url = `mqtt://127.0.0.1:${broker.port}`;
    const client = await mqtt.connectAsync(url, { clientId: 'stations' });
    cleanups.push(() => client.endAsync(true));
    const plant = plantAt('schemas/examples/marram-point.json');
    const status = told(englishOf(plant), statusOf(plant, initial(plant)));
    const say = (n: number, own: string, payload: string, retain = true) =>
      client.publishAsync(`vatwarden/station-${n}/${own}`, payload, { retain });
    const statusFrom = (n: number, minute: number) =>
      JSON.stringify({ ...status, station: `station-${n}`, name: `Station ${n}`, minute });
    const size = statusFrom(1, 0).length;
    for (let n = 0; n < 1000; n++) {
      void say(n, 'online', n % 250 === 7 ? 'false' : 'true');
      if (n % 100 === 3) void say(n, 'alarm/I-11-tray', alarm('urgent', 'water detected: tray'));
      if (n % 20 === 5) void say(n, 'task/mixing', task('Add 2 kg of salt'));
      await say(n, 'status', statusFrom(n, 0));
    }
    const spoken: string[] = [];
    const fleet = cli(['fleet', '--broker', url, '--port', '0']);
    cleanups.push(fleet.close);
    await expect.poll(fleet.out).toContain('the fleet is at');
    const page = /http:\S+/u.exec(fleet.out())?.[0] ?? '';
    const shown = async () =>
      (await (await fetch(`${page}/stations.json`)).json()) as ReturnType<
        ReturnType<typeof fleetOf>['shown']
      >;
    await expect.poll(async () => (await shown()).messages, { timeout: 60_000 }).toBeGreaterThanOrEqual(2060);
    const spy = await mqtt.connectAsync(url, { clientId: 'spy' });
    cleanups.push(() => spy.endAsync(true));
    spy.on('message', (topic, _, { retain }) => {
      if (!retain && !topic.endsWith('/status')) spoken.push(topic);
    });
    await spy.subscribeAsync('#');
    // Everybody says a new status twice, ten seconds apart in real life every minute or so.
    const before = cpuS(fleet.child.pid);
    const startedMs = performance.now();
    for (let minute = 1; minute <= 2; minute++)
      for (let n = 0; n < 1000; n++) await say(n, 'status', statusFrom(n, minute));
    await expect.poll(async () => (await shown()).messages, { timeout: 60_000 }).toBeGreaterThanOrEqual(4060);
    const passedMs = performance.now() - startedMs;
    const cpuMs = 1000 * (cpuS(fleet.child.pid) - before);
    const askedMs = performance.now();
    const html = await (await fetch(`${page}/`)).text();
    const tookMs = performance.now() - askedMs;
    const rssMb =
      Number(/VmRSS:\s+(\d+)/u.exec(readFileSync(`/proc/${fleet.child.pid}/status`, 'utf8'))?.[1]) / 1024;
    console.log(
      `fleet of 1000: ${(cpuMs / 2000).toFixed(3)} ms of processor for a status of ${size} bytes, ${rssMb.toFixed(0)} MB, page of ${html.length} bytes in ${tookMs.toFixed(0)} ms (2000 messages in ${passedMs.toFixed(0)} ms)`,
    );
    const { rows } = await shown();
    expect(rows).toHaveLength(1000);
    expect(rows.filter(({ need }) => need === 'urgent')).toHaveLength(10);
    expect(rows.filter(({ need }) => need === 'silent')).toHaveLength(4);
    expect(rows.filter(({ need }) => need === 'task')).toHaveLength(50);
    expect(html).toContain('64 of 1000 stations need somebody');
    expect(spoken).toEqual([]);
    // A status a second from each would still leave most of one processor.
    expect(cpuMs / 2000).toBeLessThan(1);
    fleet.child.kill('SIGTERM');
    expect(await fleet.code).toBe(0);
  }, 200_000);
});

/** Of the whole process, s. */
function cpuS(pid: number | undefined): number {
  const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1]?.split(' ') ?? [];
  return (Number(fields[11]) + Number(fields[12])) / 100;
}
