// The service as a process: how it starts, leaves, dies and comes back.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { beforeEach, describe, expect, it } from 'vitest';
import { startWater } from '../../src/simulate/station-water.ts';
import { embedded, freePort, hasMosquitto, mosquitto } from '../tools/brokers.ts';
import { type Cli, cli } from '../tools/cli.ts';
import { givenTime } from '../tools/given-time.ts';
import { openedThings } from '../tools/opened.ts';
import { device, stationPlant, until } from './rig.ts';

const STATION = fileURLToPath(new URL('../stations/bench-rig.json', import.meta.url));
const plant = stationPlant('test/stations/bench-rig.json');
const OWN = `vatwarden/${plant.id}`;

/** The station's file with something changed in it. */
function stationText(change: (file: { name: string; id: string }) => unknown): string {
  const file = JSON.parse(readFileSync(STATION, 'utf8'));
  change(file);
  return JSON.stringify(file);
}

const { keep, afterwards } = openedThings();
let directory: string;
beforeEach(() => {
  directory = mkdtempSync(join(tmpdir(), 'vatwarden-run-'));
  afterwards(() => rmSync(directory, { recursive: true, force: true }));
});

const run = (port: number, ...more: string[]): Cli =>
  keep(cli(['run', STATION, '--broker', `mqtt://127.0.0.1:${port}`, '--mqtt', '3.1.1', ...more]));
const up = (service: Cli, times = 1) =>
  until(
    () => service.out().split('link up').length > times,
    `the link is up; it said: ${service.out()}${service.err()}`,
  );

describe('a call that can not work ends with its exit code and the mend', () => {
  const never = 'mqtt://127.0.0.1:9';
  it.each([
    ['no broker', ['run', STATION], 2, '--broker'],
    ['no address', ['run', STATION, '--broker', 'somewhere'], 2, 'mqtt://HOST:PORT'],
    ['no station file', ['run', 'nowhere.json', '--broker', never], 2, 'nowhere.json'],
    [
      'no station in the file',
      ['run', fileURLToPath(new URL('../../package.json', import.meta.url)), '--broker', never],
      2,
      "can't be used",
    ],
    [
      'a password for nobody',
      ['run', STATION, '--broker', never, '--password-file', STATION],
      2,
      '--username',
    ],
    [
      'a certificate for a broker without TLS',
      ['run', STATION, '--broker', never, '--ca', STATION],
      2,
      'mqtts://',
    ],
    [
      'a certificate without its key',
      ['run', STATION, '--broker', 'mqtts://127.0.0.1:9', '--cert', STATION],
      2,
      '--key',
    ],
    ['another MQTT', ['run', STATION, '--broker', never, '--mqtt', '4'], 2, '3.1.1'],
  ])('%s', async (_, args, code, words) => {
    const service = keep(cli(args));
    expect(await service.code).toBe(code);
    expect(service.err()).toContain(words);
  });

  it('R20: an environment in which no certificate is checked', async () => {
    const service = keep(cli(['run', STATION, '--broker', never], { NODE_TLS_REJECT_UNAUTHORIZED: '0' }));
    expect(await service.code).toBe(2);
    expect(service.err()).toContain('NODE_TLS_REJECT_UNAUTHORIZED');
  });

  it('R17: a broker that does not speak MQTT 5, asked for MQTT 5', async () => {
    const broker = keep(await embedded());
    const service = keep(cli(['run', STATION, '--broker', `mqtt://127.0.0.1:${broker.port}`]));
    expect(await service.code).toBe(3);
    expect(service.err()).toContain('--mqtt 3.1.1');
  });
});

describe('coming and going', () => {
  it('a broker that is not there yet is waited for', async () => {
    const port = await freePort();
    const service = run(port);
    await until(() => service.out().includes('link down'), 'it says that nothing is there');
    expect(service.out()).toContain('is the broker running');
    const { startBroker } = await import('../../src/bridge/broker.ts');
    keep(await startBroker(port, new Set()));
    await up(service);
  });

  it('SIGTERM with devices that answer: everything off and confirmed, offline said, exit code 0', async () => {
    const broker = keep(await embedded());
    const side = keep(await device(broker.port, 4, [`${OWN}/online`]));
    const water = startWater({
      plant,
      broker: `mqtt://127.0.0.1:${broker.port}`,
      mqtt: '3.1.1',
      pace: 'real-time',
    });
    keep({
      close: async () => {
        water.stop();
        await water.done;
      },
    });
    const service = run(broker.port);
    await up(service);
    service.child.kill('SIGTERM');
    expect(await service.code, service.out()).toBe(0);
    expect(service.out()).toContain('off and confirmed:');
    expect(service.out()).not.toContain('NOT CONFIRMED');
    await until(() => side.texts(`${OWN}/online`).at(-1) === 'offline', 'offline');
  });

  it('a fault that nobody caught, somewhere in the program: off goes out before it ends, with 70, its code and no stack', async () => {
    const broker = keep(await embedded());
    const [[id, actuator] = []] = Object.entries(plant.actuators);
    const topic = actuator?.command.topic ?? '';
    const side = keep(await device(broker.port, 4, [topic]));
    const fault = "setTimeout(() => { throw new Error('broken on purpose') }, 5000)";
    const preload = `--import data:text/javascript,${encodeURIComponent(fault)}`;
    const service = keep(
      cli(['run', STATION, '--broker', `mqtt://127.0.0.1:${broker.port}`, '--mqtt', '3.1.1'], {
        NODE_OPTIONS: preload,
      }),
    );
    await up(service);
    const before = side.texts(topic).length;
    expect(await service.code, service.err()).toBe(70);
    expect(side.texts(topic).length, id).toBeGreaterThan(before);
    expect(service.err()).toMatch(/^run: broken on purpose.* \[E-901\]$/mu);
    expect(service.err()).not.toMatch(/^\s+at /mu);
  });

  it('SIGINT with nobody at the other end: says what is not confirmed and why within about five seconds, exit code 1', async () => {
    const broker = keep(await embedded());
    const service = run(broker.port);
    await up(service);
    const given = givenTime();
    service.child.kill('SIGINT');
    expect(await service.code).toBe(1);
    // It waits for about five seconds; on a computer that starves it, for longer than this process is given.
    expect(given.stop()).toBeLessThan(20_000);
    for (const id of Object.keys(plant.actuators))
      expect(service.out()).toContain(`NOT CONFIRMED off: ${id}`);
    expect(service.out()).toContain('it drops out by itself within');
    expect(service.out()).toContain('it stays as it is until told');
  });

  it('kill -9: the broker says offline for it; back again it goes on from the saved state, and the first thing is `off` (F30)', async () => {
    const broker = keep(await embedded());
    const side = keep(await device(broker.port, 4));
    const service = run(broker.port, '--state', directory);
    await up(service);
    service.child.kill('SIGKILL');
    await service.code;
    await until(() => side.texts(`${OWN}/online`).at(-1) === 'offline', 'the will');
    // Perhaps with a new one half written beside it.
    expect(readdirSync(directory)).toEqual(expect.arrayContaining(['lock', 'state.json']));
    const before = side.heard.length;
    const again = run(broker.port, '--state', directory);
    await up(again);
    expect(again.out()).toMatch(/went on from the saved state; the service was away for \d+ s/u);
    const commands = Object.values(plant.actuators).map(({ command }) => command.topic);
    const first = side.heard
      .slice(before)
      .map(({ topic }) => topic)
      .slice(0, commands.length);
    expect(new Set(first)).toEqual(new Set(commands));
    const ons = side.heard
      .slice(before)
      .filter(({ topic, text }) => commands.includes(topic) && !['{"on":false}', 'OFF', '0'].includes(text));
    expect(ons.map(({ text }) => text)).toEqual([]);
  });

  it('a second service with the same state directory is refused with exit code 4 while the first one runs', async () => {
    const broker = keep(await embedded());
    const service = run(broker.port, '--state', directory);
    await up(service);
    const second = run(broker.port, '--state', directory);
    expect(await second.code).toBe(4);
    expect(second.err()).toContain(`process ${service.child.pid}`);
    service.child.kill('SIGTERM');
    await service.code;
    // Nothing but what is meant to last: the lock is gone.
    expect(readdirSync(directory).toSorted()).toEqual(['journal', 'state.json']);
  });

  it('a state directory that can not be written ends it with exit code 4 before anything is switched', async () => {
    const broker = keep(await embedded());
    const side = keep(await device(broker.port, 4));
    const service = run(broker.port, '--state', join(STATION, 'below-a-file'));
    expect(await service.code).toBe(4);
    expect(service.err()).toContain('state directory');
    expect(side.heard).toEqual([]);
  });
});

describe('what is latched outlives', () => {
  const TRIP = 'I-24/fill/fills';
  /** A service on this file, and what it says of itself. */
  const begin = async (port: number, text: string) => {
    const file = join(directory, 'station.json');
    writeFileSync(file, text);
    const { id } = JSON.parse(text);
    const side = keep(await device(port, 4, [`vatwarden/${id}/status`, `vatwarden/${id}/answer`]));
    const service = keep(
      cli([
        'run',
        file,
        '--broker',
        `mqtt://127.0.0.1:${port}`,
        '--mqtt',
        '3.1.1',
        '--state',
        join(directory, 'state'),
      ]),
    );
    await up(service);
    const trips = (): string[] =>
      (JSON.parse(side.texts(`vatwarden/${id}/status`).at(-1) ?? '{}').trips ?? []).map(
        (one: { row: string }) => one.row,
      );
    let asked = 0;
    const ask = async (body: object): Promise<{ accepted: boolean; message: { text: string } }> => {
      asked += 1;
      const request = JSON.stringify({ id: `r${asked}`, request: 'reset-trip', ...body });
      await side.say(`vatwarden/${id}/request`, request);
      await until(() => side.texts(`vatwarden/${id}/answer`).length === asked, 'the answer');
      return JSON.parse(side.texts(`vatwarden/${id}/answer`).at(-1) ?? '');
    };
    const end = async () => {
      service.child.kill('SIGTERM');
      await service.code;
    };
    return { service, side, trips, ask, end };
  };
  const latched = async (port: number): Promise<void> => {
    const first = await begin(
      port,
      stationText(() => {}),
    );
    await first.side.say(plant.actuators.fill?.command.topic ?? '', '{"on":true,"for_ms":500}');
    await until(() => first.trips().includes(TRIP), 'latched');
    await first.end();
  };
  const state = () => join(directory, 'state', 'state.json');

  it('another name and another id in the station file, for as many starts as there are', async () => {
    const broker = keep(await embedded());
    await latched(broker.port);
    for (const start of [1, 2]) {
      const again = await begin(
        broker.port,
        stationText((file) => Object.assign(file, { name: 'Other', id: 'other' })),
      );
      expect(again.service.out().includes('the station file was changed meanwhile')).toBe(start === 1);
      await until(() => again.trips().length > 0, 'a status');
      expect(again.trips()).toEqual([TRIP]);
      await again.end();
    }
  });

  it.each([
    [
      'a state file that is cut off',
      () => writeFileSync(state(), readFileSync(state(), 'utf8').slice(0, 300)),
      'damaged',
      1,
    ],
    [
      'a state file of an older format',
      () => writeFileSync(state(), readFileSync(state(), 'utf8').replace('"version":3', '"version":2')),
      'format 2',
      1,
    ],
    ['a state file that is gone', () => rmSync(state()), 'is missing', 0],
  ])(
    '%s: one trip over everything, which only a name and a sentence end',
    async (_, spoil, words, kept) => {
      const broker = keep(await embedded());
      await latched(broker.port);
      spoil();
      const text = stationText(() => {});
      const lost = await begin(broker.port, text);
      expect(lost.service.out()).toContain(words);
      await until(() => lost.trips().length > 0, 'a status');
      expect(readdirSync(join(directory, 'state')).filter((name) => name.includes('unusable'))).toHaveLength(
        kept,
      );
      await lost.end();

      // A further start is no way out.
      const again = await begin(broker.port, text);
      const [look = ''] = [`I-36/${plant.id}`];
      await until(() => again.trips().length > 0, 'a status');
      expect(again.trips()).toEqual([look]);
      expect(await again.ask({ trip: 'all' })).toMatchObject({ accepted: false });
      expect(await again.ask({ trip: look })).toMatchObject({ accepted: false });
      const done = await again.ask({ trip: look, who: 'Ann', seen: 'every vat stands as it should' });
      expect(done).toMatchObject({
        accepted: true,
        message: { text: expect.stringContaining('Ann saw: every vat') },
      });
      await until(() => again.trips().length === 0, 'reset');
    },
    300_000,
  );
});

describe('those who read along', () => {
  it('may go away without taking the service with them', async () => {
    const broker = keep(await embedded());
    const side = keep(await device(broker.port, 4, [`${OWN}/heartbeat`]));
    const service = run(broker.port, '--verbose');
    await up(service);
    service.child.stdout?.destroy();
    service.child.stderr?.destroy();
    const before = side.heard.length;
    await until(() => side.heard.length >= before + 3, 'three more heartbeats');
    expect(service.child.exitCode).toBe(null);
  });
});

describe('the log', () => {
  it('is JSON with stable event names on standard error, and --verbose adds every command', async () => {
    const broker = keep(await embedded());
    const service = run(broker.port, '--verbose');
    await up(service);
    const lines = service
      .err()
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line));
    expect(lines.some(({ event }) => event === 'link-up')).toBe(true);
    expect(lines.filter(({ event }) => event === 'command-sent').length).toBeGreaterThanOrEqual(
      Object.keys(plant.actuators).length,
    );
  });
});

const hasOpenssl = spawnSync('openssl', ['version']).error === undefined;
if (!hasOpenssl) console.warn('NOTICE: openssl is not installed; the tests over TLS are skipped');
if (!hasOpenssl && process.env.CI !== undefined)
  throw new Error('openssl is not installed: apt-get install openssl');

describe.runIf(hasMosquitto && hasOpenssl)('over TLS', () => {
  /** An authority, and a server's certificate for the name `broker.test` only. */
  function certificates(): void {
    const openssl = (...args: string[]) => {
      const { status, stderr } = spawnSync('openssl', args, { cwd: directory, encoding: 'utf8' });
      if (status !== 0) throw new Error(stderr);
    };
    const key = ['-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:P-256', '-nodes'];
    openssl(
      'req',
      '-x509',
      ...key,
      '-keyout',
      'ca.key',
      '-out',
      'ca.pem',
      '-days',
      '2',
      '-subj',
      '/CN=test authority',
    );
    openssl('req', ...key, '-keyout', 'server.key', '-out', 'server.csr', '-subj', '/CN=broker.test');
    writeFileSync(join(directory, 'names'), 'subjectAltName=DNS:localhost');
    openssl(
      'x509',
      '-req',
      '-in',
      'server.csr',
      '-CA',
      'ca.pem',
      '-CAkey',
      'ca.key',
      '-CAcreateserial',
      '-out',
      'server.pem',
      '-days',
      '2',
      '-extfile',
      'names',
    );
    spawnSync('chmod', ['-R', 'a+rX', directory]);
  }
  const begin = async () => {
    certificates();
    const at = (name: string) => join(directory, name);
    return keep(
      await mosquitto({
        more: `cafile ${at('ca.pem')}\ncertfile ${at('server.pem')}\nkeyfile ${at('server.key')}`,
      }),
    );
  };
  const secure = (host: string, port: number, ...more: string[]) =>
    keep(cli(['run', STATION, '--broker', `mqtts://${host}:${port}`, ...more]));

  it('the right authority and the right name: the link comes up', async () => {
    const { port } = await begin();
    await up(secure('localhost', port, '--ca', join(directory, 'ca.pem')));
  });

  it('R17: without the authority it is refused with exit code 3 and asks for --ca', async () => {
    const { port } = await begin();
    const service = secure('localhost', port);
    expect(await service.code).toBe(3);
    expect(service.err()).toContain('--ca');
  });

  it('R17: a certificate for another name is refused with exit code 3 and says so', async () => {
    const { port } = await begin();
    const service = secure('127.0.0.1', port, '--ca', join(directory, 'ca.pem'));
    expect(await service.code).toBe(3);
    expect(service.err()).toContain('another name');
  });
});

describe('the demo', () => {
  it('--once --json: a full cycle, exit code 0, and the last line is the verdict', async () => {
    const demo = keep(cli(['demo', '--once', '--json', '--seed', '3']));
    expect(await demo.code, demo.err()).toBe(0);
    const lines = demo
      .out()
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line));
    expect(lines.at(-1)).toMatchObject({ ok: true, station: 'marram-point', seed: 3 });
    expect(lines.at(-1).deliveries).toBeGreaterThanOrEqual(1);
    const about = new Set(lines.map((line) => line.about));
    for (const one of ['batch', 'refill', 'task', 'person', 'answer', 'vats', 'exchange'])
      expect(about).toContain(one);
  });

  it('a station file that can not be used: exit code 2 and every slip in it', async () => {
    const broken = join(directory, 'broken.json');
    writeFileSync(
      broken,
      readFileSync(STATION, 'utf8').replace('"240', '"24O').replace('"format": 1', '"format": 7'),
    );
    const demo = keep(cli(['demo', broken]));
    expect(await demo.code).toBe(2);
    expect(demo.err()).toContain('/format');
  });
});
