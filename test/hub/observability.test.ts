import { request } from 'node:http';
import { connect } from 'node:net';
import { networkInterfaces } from 'node:os';
import { afterEach, describe, expect, it } from 'vitest';
import { describe as describeState } from '../../src/control/process/describe.ts';
import { initial } from '../../src/control/process/initial.ts';
import { type Observability, startObservability } from '../../src/hub/observability.ts';
import { message } from '../../src/language/message.ts';
import { statusOf } from '../tools/english.ts';
import { givenTime } from '../tools/given-time.ts';
import { calm, having, plantOf } from './stations.ts';

const plant = plantOf('marram-point');
let running: Observability | undefined;
afterEach(async () => {
  await running?.close();
  running = undefined;
});

interface Got {
  readonly code: number;
  readonly type: string;
  readonly body: string;
}

const ask = (path: string, method = 'GET'): Promise<Got> =>
  new Promise((resolve, reject) => {
    const asked = request({ host: '127.0.0.1', port: running?.port, path, method }, (response) => {
      let body = '';
      response.setEncoding('utf8');
      response.on('data', (chunk) => {
        body += chunk;
      });
      response.on('end', () =>
        resolve({ code: response.statusCode ?? 0, type: response.headers['content-type'] ?? '', body }),
      );
    });
    asked.on('error', reject);
    asked.end();
  });

/** A clock in the hand of the test. */
const begin = async (options: { lost?: () => readonly string[] } = {}) => {
  let nowMs = 1000;
  running = await startObservability({
    plant,
    port: 0,
    monotonicMs: () => nowMs,
    lost: () => [],
    ...options,
  });
  const state = having(plant, calm(plant), calm(plant));
  const here = running;
  return {
    pass: (ms: number) => {
      nowMs += ms;
    },
    turn: (tick: boolean, effects: Parameters<Observability['turn']>[0]['effects'] = [], of = state) =>
      here.turn({ effects, tick, status: () => statusOf(plant, of) }),
  };
};

describe('/healthz', () => {
  it('is well while ticks come, and not when the loop has stopped, however many other steps there are', async () => {
    const { pass, turn } = await begin();
    turn(true);
    expect((await ask('/healthz')).code).toBe(200);
    const stepMs = plant.link.tickWithinMs / 40;
    for (let step = 0; step < 100; step++) {
      pass(stepMs);
      turn(false);
    }
    const sick = await ask('/healthz');
    expect([sick.code, JSON.parse(sick.body)]).toEqual([
      503,
      { ok: false, troubles: [expect.stringMatching(/^no control tick for \d+\.\d s$/u)] },
    ]);
    turn(true);
    expect((await ask('/healthz')).code).toBe(200);
  });

  it('is well while the broker is away: to start again would mend nothing', async () => {
    const { turn } = await begin();
    turn(true, [], initial(plant));
    expect((await ask('/healthz')).code).toBe(200);
    expect((await ask('/readyz')).code).toBe(503);
  });

  it('is not well from the start for ever, when no first tick comes', async () => {
    const { pass } = await begin();
    expect((await ask('/healthz')).code).toBe(200);
    pass(60_000);
    expect((await ask('/healthz')).code).toBe(503);
  });
});

describe('/readyz', () => {
  it('is ready with a proven link and a memory that can be written, and says what is missing', async () => {
    let lost: readonly string[] = [];
    const { turn } = await begin({ lost: () => lost });
    expect(JSON.parse((await ask('/readyz')).body).troubles).toEqual([
      'the connection to the broker is not confirmed',
    ]);
    turn(true);
    expect((await ask('/readyz')).code).toBe(200);
    lost = ['the journal can not be written'];
    const unready = await ask('/readyz');
    expect([unready.code, JSON.parse(unready.body).troubles]).toEqual([
      503,
      ['the journal can not be written'],
    ]);
    // To be started again would mend neither.
    expect((await ask('/healthz')).code).toBe(200);
  });
});

describe('/metrics', () => {
  /** The rules of OpenMetrics 1.0 that a collector trips over. */
  const objections = (text: string): string[] => {
    const found: string[] = [];
    if (!text.endsWith('# EOF\n')) found.push('does not end with # EOF');
    const types = new Map<string, string>();
    for (const line of text.split('\n').slice(0, -2)) {
      const meta = /^# (TYPE|HELP|UNIT) (\S+) (.*)$/u.exec(line);
      if (meta?.[1] === 'TYPE') {
        if (types.has(meta[2] ?? '')) found.push(`a second type for ${meta[2]}`);
        types.set(meta[2] ?? '', meta[3] ?? '');
      }
      if (line.startsWith('#')) {
        if (meta === null) found.push(`no metadata: ${line}`);
        continue;
      }
      const sample =
        /^([a-z_][a-z0-9_]*)(\{([a-zA-Z_]+="[^"\n]*",?)*\})? (-?[0-9.e+-]+|[Nn]a[Nn]|[+-]Inf)$/u.exec(line);
      if (sample === null) {
        found.push(`no sample: ${line}`);
        continue;
      }
      const name = sample[1] ?? '';
      const family = [
        name,
        ...['_total', '_bucket', '_sum', '_count']
          .filter((end) => name.endsWith(end))
          .map((end) => name.slice(0, -end.length)),
      ].find((one) => types.has(one));
      if (family === undefined) found.push(`no type for ${name}`);
      else if (types.get(family) === 'counter' && !name.endsWith('_total'))
        found.push(`a counter without _total: ${name}`);
    }
    return found;
  };

  it('is OpenMetrics', async () => {
    const { turn } = await begin();
    turn(true, [
      { do: 'command', actuator: 'supply-pump', on: true, leaseMs: 1 },
      { do: 'answer', request: '1', accepted: false, words: message('nothing') },
    ]);
    const { code, type, body } = await ask('/metrics');
    expect([code, type]).toEqual([200, 'application/openmetrics-text; version=1.0.0; charset=utf-8']);
    expect(objections(body)).toEqual([]);
    expect(objections(body.replace('# EOF\n', ''))).not.toEqual([]);
  });

  it('says what the state says', async () => {
    const { turn } = await begin();
    turn(true, [{ do: 'command', actuator: 'supply-pump', on: true, leaseMs: 1 }]);
    const { body } = await ask('/metrics');
    const status = describeState(plant, having(plant, calm(plant), calm(plant)));
    const sample = (name: string, labels: string) =>
      body
        .split('\n')
        .find(
          (line) => line.startsWith(`${name}{`) && labels.split(',').every((label) => line.includes(label)),
        )
        ?.split(' ')
        .at(-1);
    expect(sample('vatwarden_vessel_contents_litres', 'vessel="mixing",bound="most"')).toBe(
      String(status.vessels.mixing?.mostL),
    );
    expect(sample('vatwarden_link_proven', 'station="marram-point"')).toBe('1');
    expect(sample('vatwarden_commands_total', 'actuator="supply-pump",command="on"')).toBe('1');
    expect(
      sample('vatwarden_unit_procedure', `unit="batch",procedure="${status.units.batch.procedure}"`),
    ).toBe('1');
    expect(sample('vatwarden_steps_total', 'station="marram-point"')).toBe('1');
  });

  it('what nobody knows any more is not there with its last value', async () => {
    const { turn } = await begin();
    turn(true);
    expect((await ask('/metrics')).body).toMatch(/vessel_temperature_celsius\{vessel="mixing"/u);
    turn(true, [], initial(plant));
    expect((await ask('/metrics')).body).not.toMatch(/vessel_temperature_celsius\{vessel="mixing"/u);
  });
});

describe('the server', () => {
  it('knows three paths, reads only, and says so', async () => {
    await begin();
    expect((await ask('/')).code).toBe(404);
    expect((await ask('/constructor')).code).toBe(404);
    expect((await ask('/metrics', 'POST')).code).toBe(405);
    expect((await ask('/healthz', 'HEAD')).body).toBe('');
  });

  it('listens on this computer only', async () => {
    await begin();
    const outside = Object.values(networkInterfaces())
      .flat()
      .filter((one) => one !== undefined && !one.internal && one.family === 'IPv4');
    for (const one of outside) {
      const opened = await new Promise<boolean>((resolve) => {
        const socket = connect({ host: one?.address ?? '', port: running?.port ?? 0, timeout: 500 });
        socket.on('connect', () => resolve(true));
        socket.on('error', () => resolve(false));
        socket.on('timeout', () => resolve(false));
        socket.on('close', () => socket.destroy());
      });
      expect(opened).toBe(false);
    }
  });

  it('ends at once, also with a connection open', async () => {
    await begin();
    const socket = connect(running?.port ?? 0, '127.0.0.1');
    await new Promise((resolve) => socket.once('connect', resolve));
    socket.on('error', () => {});
    const given = givenTime();
    await running?.close();
    running = undefined;
    // A server that waits for its clients does so for a minute.
    expect(given.stop()).toBeLessThan(1000);
    socket.destroy();
  });

  it('a port that is taken is an error that names it', async () => {
    await begin();
    await expect(
      startObservability({ plant, port: running?.port ?? 0, monotonicMs: () => 0, lost: () => [] }),
    ).rejects.toThrow(String(running?.port));
  });
});
