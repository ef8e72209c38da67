// The demo's station through a real mosquitto as it is shipped: TLS by an own authority, a password for everybody, the
// generated access list, MQTT 5; every device, the person and the service as themselves.
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { MqttClient } from 'mqtt';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { accountsOf } from '../../src/hub/accounts.ts';
import { wiringOf } from '../../src/hub/catalogue.ts';
import { until } from '../bridge/rig.ts';
import { hasMosquitto } from '../tools/brokers.ts';
import { cli as begin, type Cli } from '../tools/cli.ts';
import { OBSERVER, type Site, startSite } from './site.ts';
import { loaded, stationFile } from './stations.ts';

const FILE = fileURLToPath(new URL('../../schemas/examples/marram-point.json', import.meta.url));
const { plant, station } = loaded(stationFile('marram-point'));
const accounts = accountsOf(wiringOf(plant, station), true);
const devices = accounts.filter(({ words }) => words.startsWith('a device')).map(({ name }) => name);
/** A test that fails in the middle must not leave processes behind. */
const begun: Cli[] = [];
const cli = (args: readonly string[]): Cli => {
  const one = begin(args);
  begun.push(one);
  return one;
};

/**
 * All that was told of the day but how often each device was commanded: a lease is renewed by the wall as well, so on a
 * computer that starves the service the same command is said once more, and nothing comes of that.
 */
function told(day: string): string {
  const counted = /^(\S+ +)\d+( +\d+)/u;
  let inTable = false;
  return day
    .split('\n')
    .map((line) => {
      if (line.startsWith('actuator ')) inTable = true;
      else if (line === '') inTable = false;
      return inTable ? line.replace(counted, '$1-$2') : line;
    })
    .join('\n');
}

const UNLISTED = { username: 'unlisted', password: 'unlisted' };

describe.runIf(hasMosquitto)('a day over a broker with TLS, accounts and the generated access list', () => {
  let site: Site;
  let plain: Cli;
  let secured: Cli;
  let stranger: MqttClient;
  const strangerHeard: string[] = [];
  const crossed = new Map<string, number>();
  const url = () => `mqtts://localhost:${site.tlsPort}`;
  const secrets = () => join(site.directory, 'config');
  const ca = () => join(site.directory, 'certs', 'ca.crt');

  beforeAll(async () => {
    // `log_type debug` is where mosquitto writes what it denies; the notices say who comes in, and over which port.
    site = await startSite({
      plant,
      station,
      simulated: true,
      more: 'log_type debug',
      morePasswords: { [UNLISTED.username]: UNLISTED.password },
    });
    stranger = await site.as(UNLISTED);
    stranger.on('message', (topic) => strangerHeard.push(topic));
    await stranger.subscribeAsync(['#', ...accounts.flatMap(({ reads }) => reads)], { qos: 1 });
    const eye = await site.as(OBSERVER);
    eye.on('message', (topic) => crossed.set(topic, (crossed.get(topic) ?? 0) + 1));
    await eye.subscribeAsync('#', { qos: 1 });
    plain = cli(['demo', '--once']);
    secured = cli(['demo', '--once', '--broker', url(), '--ca', ca(), '--accounts', secrets()]);
    await Promise.all([plain.code, secured.code]);
  });
  afterAll(async () => {
    for (const one of begun) await one.close();
    await site?.close();
  });

  it('R20: tells the same day, to the last litre, as over the own broker where everybody may do everything', async () => {
    expect([await plain.code, plain.err()]).toEqual([0, expect.stringMatching(/^Listen along: .*\n$/u)]);
    expect([await secured.code, secured.err()]).toEqual([
      0,
      expect.stringMatching(/^Listen along: mqtts:.*\n$/u),
    ]);
    expect(secured.out()).toContain('Good: nothing spilled');
    expect(told(secured.out())).toBe(told(plain.out()));
  });

  it('R20: everybody came in as themselves, over TLS, with MQTT 5', () => {
    const log = site.log();
    const came = [
      ...log.matchAll(/New client connected from \S+ as (\S+) \(p(\d), c\d, k\d+, u'([^']+)'\)/gu),
    ].map(([, id, version, user]) => `${user} ${id} ${version}`);
    const inTheDay = came.filter(
      (line) => ![OBSERVER, UNLISTED].some(({ username }) => line.startsWith(`${username} `)),
    );
    const wanted = [
      `vatwarden-${plant.id}`,
      `${plant.id}-narrator`,
      `${plant.id}-clock`,
      `${plant.id}-person`,
      ...devices,
    ];
    expect(devices.length).toBeGreaterThan(10);
    expect(inTheDay.toSorted()).toEqual(wanted.map((name) => `${name} ${name} 5`).toSorted());
    const overTls = log.match(new RegExp(`New connection from \\S+ on port ${site.tlsPort}`, 'gu')) ?? [];
    expect(overTls).toHaveLength(wanted.length);
  });

  it('R20: nothing of the day was denied, and every command topic and reading crossed the broker', () => {
    expect(site.log().match(/^.*Denied.*$/gmu) ?? []).toEqual([]);
    const topics = [
      ...Object.values(plant.actuators).map(({ command }) => command.topic),
      ...Object.values(plant.sensors).map(({ topic }) => topic),
    ];
    expect(topics.filter((topic) => !crossed.has(topic))).toEqual([]);
  });

  it('R20: an account that is not on the list hears nothing of it and may say nothing, and the broker writes that down', async () => {
    expect(strangerHeard).toEqual([]);
    const command =
      plant.actuators.inlet?.command.topic ?? Object.values(plant.actuators)[0]?.command.topic ?? '';
    for (const topic of [command, `vatwarden/${plant.id}/request`, `vatwarden/${plant.id}/time`])
      await expect(stranger.publishAsync(topic, 'on', { qos: 1 })).rejects.toMatchObject({ code: 135 });
    await until(() => (site.log().match(/Denied PUBLISH from unlisted/gu) ?? []).length === 3, 'the log');
  });

  it('R20: somebody without a password, and somebody who does not know the authority, do not come in: exit code 3 and the mend', async () => {
    const refused = async (...more: string[]) => {
      const one = cli(['demo', '--once', '--broker', url(), ...more]);
      const code = await one.code;
      return [code, one.err()];
    };
    expect(await refused('--ca', ca())).toEqual([3, expect.stringContaining('--accounts')]);
    expect(await refused('--accounts', secrets())).toEqual([3, expect.stringContaining('--ca')]);
  });

  it('without the account for the clock it says how to make it; in real time nobody needs one', async () => {
    const real = await startSite({ plant, station });
    try {
      const broker = [
        '--broker',
        `mqtts://localhost:${real.tlsPort}`,
        '--ca',
        join(real.directory, 'certs/ca.crt'),
      ];
      const at = [...broker, '--accounts', join(real.directory, 'config')];
      const stepping = cli(['simulate', FILE, ...at]);
      expect(await stepping.code).toBe(3);
      expect(stepping.err()).toContain('--simulated');
      const service = cli([
        'run',
        FILE,
        ...broker,
        '--username',
        `vatwarden-${plant.id}`,
        '--password-file',
        join(real.directory, 'config/secrets', `vatwarden-${plant.id}`),
      ]);
      const water = cli(['simulate', FILE, ...at, '--realtime', '--for', '8 s', '--json']);
      // Eight seconds are too short to deliver anything; but every party came in, and a command reached its device.
      expect([await water.code, water.err()]).toEqual([1, '']);
      const { found, commands, refused } = JSON.parse(water.out());
      expect(found).toEqual(['no delivery to a system was completed']);
      expect(refused).toEqual({ retained: 0, unreadable: 0, late: 0 });
      expect(commands['top-off-inhibit']).toBeGreaterThan(0);
      service.child.kill('SIGTERM');
      await service.code;
      expect(service.out()).toContain('link up');
    } finally {
      await real.close();
    }
  });

  it('a water whose list the broker does not have says which topic it may not write', async () => {
    const old = await startSite({ plant, station, simulated: true });
    try {
      const acl = join(old.directory, 'config/acl');
      writeFileSync(acl, '# nobody may do anything\n');
      await old.crash();
      const water = cli([
        'simulate',
        FILE,
        '--broker',
        `mqtts://localhost:${old.tlsPort}`,
        '--ca',
        join(old.directory, 'certs/ca.crt'),
        '--accounts',
        join(old.directory, 'config'),
        '--realtime',
        '--for',
        '8 s',
      ]);
      expect(await water.code).toBe(3);
      expect(water.err()).toMatch(/does not let marram-point-\S+ write marram\/\S+/u);
    } finally {
      await old.close();
    }
  });
});
