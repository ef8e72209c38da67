// What somebody who means harm would try. Each attack is tried for real, over a socket, and each says how it ends.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { request as httpRequest } from 'node:http';
import { Agent, get as secureGet } from 'node:https';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { hashPassword, type Person } from '../../src/panel/people.ts';
import { servedStation } from '../tools/panel-station.ts';

const hasOpenssl = spawnSync('openssl', ['version']).status === 0;

type Served = Awaited<ReturnType<typeof servedStation>>;

interface Reply {
  readonly status: number;
  readonly headers: Readonly<Record<string, string | string[] | undefined>>;
  readonly text: string;
}

/** Plain HTTP, so that headers which a browser would set by itself can be forged. */
function send(
  url: string,
  path: string,
  options: { method?: string; headers?: Record<string, string>; body?: string } = {},
): Promise<Reply> {
  const { port } = new URL(url);
  const { method = 'GET', headers = {}, body } = options;
  return new Promise((resolve, reject) => {
    const sent = httpRequest(
      { host: '127.0.0.1', port, path, method, headers: { host: `127.0.0.1:${port}`, ...headers } },
      (response) => {
        let text = '';
        response.setEncoding('utf8');
        response.on('data', (part: string) => {
          text += part;
        });
        response.on('end', () =>
          resolve({ status: response.statusCode ?? 0, headers: response.headers, text }),
        );
      },
    );
    sent.on('error', reject);
    if (body !== undefined) sent.setHeader('content-length', Buffer.byteLength(body));
    sent.end(body);
  });
}

interface Caller {
  readonly cookie: string;
  readonly token: string;
}

async function callerAt(url: string): Promise<Caller> {
  const reply = await send(url, '/api/me');
  const cookie = String(reply.headers['set-cookie']?.[0] ?? '').split(';')[0] ?? '';
  return { cookie, token: (JSON.parse(reply.text) as { token: string }).token };
}

const HOLD = JSON.stringify({ ask: 'hold', unit: 'all' });

function asking(url: string, caller: Caller, changes: Record<string, string | undefined> = {}, body = HOLD) {
  const all: Record<string, string | undefined> = {
    cookie: caller.cookie,
    'x-panel-token': caller.token,
    origin: url,
    'content-type': 'application/json',
    ...changes,
  };
  const headers = Object.fromEntries(
    Object.entries(all).filter((pair): pair is [string, string] => pair[1] !== undefined),
  );
  return send(url, '/api/request', { method: 'POST', headers, body });
}

let served: Served;
let url: string;
let caller: Caller;

beforeAll(async () => {
  served = await servedStation();
  served.run(120_000);
  served.pace(100);
  url = served.panel.url;
  caller = await callerAt(url);
});
afterAll(() => served.close());

const unitsNow = () => JSON.stringify(served.coupled.state().refill.cause);

describe('asking from elsewhere', () => {
  test('our own page may ask', async () => {
    const reply = await asking(url, caller);
    expect(reply.status).toBe(200);
    expect(JSON.parse(reply.text)).toMatchObject({ accepted: true });
    await asking(url, caller, {}, JSON.stringify({ ask: 'restart', unit: 'all' }));
  });

  test.each([
    ['without a token', { 'x-panel-token': undefined }],
    ['with a made-up token', { 'x-panel-token': 'a'.repeat(43) }],
    ['without a cookie', { cookie: undefined }],
    ['with a made-up cookie', { cookie: `panel=${'a'.repeat(43)}` }],
    ['without an origin', { origin: undefined }],
    ['from another site', { origin: 'https://elsewhere.example.org' }],
    ['from another port of this computer', { origin: 'http://127.0.0.1:1' }],
    ['from nowhere', { origin: 'null' }],
    ['across sites, as the browser says', { 'sec-fetch-site': 'cross-site' }],
    ['from a sister site, as the browser says', { 'sec-fetch-site': 'same-site' }],
    [
      'under a foreign name that points here',
      { host: 'rebound.example.org', origin: 'http://rebound.example.org' },
    ],
    ['as a form, which needs no permission across sites', { 'content-type': 'text/plain' }],
  ] as [string, Record<string, string | undefined>][])(
    '%s: refused, and nothing moves',
    async (_, changes) => {
      const before = unitsNow();
      const reply = await asking(url, caller, changes);
      expect(reply.status).toBeGreaterThanOrEqual(400);
      expect(reply.status).toBeLessThan(500);
      expect(reply.text).not.toContain('accepted');
      expect(unitsNow()).toBe(before);
    },
  );

  test('a token of another session does not serve', async () => {
    const other = await callerAt(url);
    expect((await asking(url, { cookie: caller.cookie, token: other.token })).status).toBe(403);
  });
});

describe('asking for nonsense', () => {
  test.each([
    ['an actuator', { ask: 'command', actuator: 'inlet-valve', on: true }],
    ['a field too many', { ask: 'hold', unit: 'all', actuator: 'inlet-valve' }],
    ['a unit that is none', { ask: 'hold', unit: 'inlet-valve' }],
    ['text for a number', { ask: 'salt-added', massKg: '8.6' }],
    ['salt that is less than nothing', { ask: 'salt-added', massKg: -1 }],
    ['brine', { ask: 'salinity-measured', vessel: 'mixing', salinity: 400, instrument: 'x' }],
    ['endless words', { ask: 'out-of-service', device: 'tray-leak', reason: 'x'.repeat(501) }],
    ['a bypass without a reason', { ask: 'bypass', row: 'I-13/tray-leak', minutes: 5, who: 'y' }],
    [
      'an alarm shelved for ever',
      { ask: 'shelve', alarm: 'I-29/refill', minutes: 1e9, reason: 'x', who: 'y' },
    ],
    ['nothing', {}],
    ['a list', [{ ask: 'hold', unit: 'all' }]],
    ['a prototype', JSON.parse('{"__proto__":{"ask":"hold"},"unit":"all"}')],
  ])('%s is refused before anybody reads it', async (_, body) => {
    const before = unitsNow();
    const reply = await asking(url, caller, {}, JSON.stringify(body));
    expect(reply.status).toBe(400);
    expect(unitsNow()).toBe(before);
  });

  test('what is no JSON, and what is too long, is refused', async () => {
    expect((await asking(url, caller, {}, '{"ask":')).status).toBe(400);
    expect((await asking(url, caller, {}, JSON.stringify({ ask: 'x'.repeat(20_000) }))).status).toBe(413);
  });

  test("what the schema lets through is still the core's to refuse, in its own words", async () => {
    const reply = await asking(
      url,
      caller,
      {},
      JSON.stringify({ ask: 'reset-trip', trip: 'I-11/tray-leak' }),
    );
    expect(JSON.parse(reply.text)).toEqual({
      accepted: false,
      words: {
        id: 'trips-refused',
        values: {
          refusals: [
            {
              id: 'trip-refused',
              values: {
                row: 'I-11/tray-leak',
                why: { id: 'trip-not-latched', values: { row: 'I-11/tray-leak' } },
              },
            },
          ],
        },
      },
    });
  });
});

describe('reading', () => {
  test('without a session nothing of the station is told', async () => {
    for (const path of [
      'station',
      'view',
      'live',
      'events?from=0&to=9&limit=5',
      'incidents',
      'books',
      'history?from=0&to=9&points=10',
    ])
      expect((await send(url, `/api/${path}`)).status, path).toBe(401);
  });

  test('reading never changes the station: one that is read all the time ends like one that nobody looks at', async () => {
    const [read, alone] = [await servedStation(), await servedStation()];
    const own = await callerAt(read.panel.url);
    const headers = { cookie: own.cookie };
    const end = () => read.source.now().atMs;
    const paths = () => [
      '/',
      '/api/me',
      '/api/station',
      '/api/view',
      '/api/incidents',
      '/api/books',
      `/api/events?from=0&to=${end()}&limit=100`,
      `/api/history?from=${end() - 1000}&to=${end()}&points=10`,
      `/api/history.csv?from=${end() - 600_000}&to=${end()}&every=60000`,
      '/api/request',
      '/api/change',
    ];
    for (let round = 0; round < 6; round += 1) {
      read.run(600_000);
      alone.run(600_000);
      for (const path of paths()) await send(read.panel.url, path, { headers });
      for (const method of ['PUT', 'DELETE', 'PATCH'])
        expect(
          (await send(read.panel.url, '/api/request', { method, headers })).status,
        ).toBeGreaterThanOrEqual(400);
      expect(JSON.stringify(read.coupled.state())).toBe(JSON.stringify(alone.coupled.state()));
    }
    await Promise.all([read.close(), alone.close()]);
  });

  test.each([
    '/../package.json',
    '/..%2f..%2fpackage.json',
    '/assets/..%2f..%2f..%2fpackage.json',
    '/%2e%2e/%2e%2e/package.json',
    '/assets/%00',
    '/.git/config',
  ])('no file outside the page is served: %s', async (path) => {
    const reply = await send(url, path);
    expect(reply.status).toBeGreaterThanOrEqual(400);
    expect(reply.text).not.toContain('vatwarden"');
  });

  test.each([
    'from=a&to=9&points=10',
    'from=9&to=1&points=10',
    'from=0&to=9e15&points=10',
    'from=0&to=9&points=1e9',
    'from=0&to=9&points=10&channels=least:nobody',
  ])('a question that can not be answered is refused: %s', async (query) => {
    const reply = await send(url, `/api/history?${query}`, { headers: { cookie: caller.cookie } });
    expect(reply.status).toBe(400);
  });

  test('the page can not be framed, runs no script but its own, and sends nothing elsewhere', async () => {
    const { headers, text } = await send(url, '/');
    const policy = String(headers['content-security-policy']);
    expect(policy).toContain("default-src 'none'");
    expect(policy).toContain("script-src 'self'");
    expect(policy).toContain("frame-ancestors 'none'");
    expect(policy).not.toContain('unsafe');
    expect(headers['x-content-type-options']).toBe('nosniff');
    expect(headers['referrer-policy']).toBe('no-referrer');
    expect(text).not.toMatch(/<script(?![^>]*src=)/u);
    expect(text).not.toMatch(/\son\w+=/u);
    expect(text).not.toMatch(/https?:\/\//u);
    expect(headers['access-control-allow-origin']).toBeUndefined();
  });

  test('the cookie can not be read by a script nor travel with a foreign page', async () => {
    const reply = await send(url, '/api/me');
    const cookie = String(reply.headers['set-cookie']?.[0]);
    expect(cookie).toMatch(/HttpOnly/u);
    expect(cookie).toMatch(/SameSite=Strict/u);
  });

  test('a fault inside is not told outside', async () => {
    const heard: object[] = [];
    const broken = await servedStation({ log: { error: (fields) => heard.push(fields) } });
    const { source } = broken;
    Object.assign(source.past, {
      books: () => {
        throw new Error('secret /home/ada/station.json');
      },
    });
    const own = await callerAt(broken.panel.url);
    const reply = await send(broken.panel.url, '/api/incidents', { headers: { cookie: own.cookie } });
    expect(reply.status).toBe(500);
    expect(reply.text).not.toContain('secret');
    expect(JSON.stringify(heard)).toContain('secret');
    await broken.close();
  });
});

describe('a fault of the page', () => {
  test('is told to the log and never reaches the loop that runs the water', async () => {
    const heard: object[] = [];
    const escaped: unknown[] = [];
    const caught = (error: unknown) => escaped.push(error);
    process.on('unhandledRejection', caught);
    const own = await servedStation({ log: { error: (fields) => heard.push(fields) } });
    const me = await callerAt(own.panel.url);
    const stop = new AbortController();
    await fetch(`${own.panel.url}/api/live`, { headers: { cookie: me.cookie }, signal: stop.signal });
    Object.assign(own.source, {
      batch: () => {
        throw new Error('the book is torn');
      },
      state: () => {
        throw new Error('the state is torn');
      },
    });
    expect(() => own.run(10_000)).not.toThrow();
    await expect.poll(() => JSON.stringify(heard), { timeout: 120_000 }).toContain('torn');
    await new Promise((done) => setTimeout(done, 700));
    expect(escaped).toEqual([]);
    process.off('unhandledRejection', caught);
    stop.abort();
    await own.close();
  });
});

describe('too much', () => {
  test('asking too often is refused after the limit', async () => {
    const own = await servedStation({ limits: { asks: 5 } });
    own.pace(100);
    const me = await callerAt(own.panel.url);
    const body = JSON.stringify({ ask: 'acknowledge', alarm: 'all' });
    const replies: number[] = [];
    for (let i = 0; i < 8; i += 1) replies.push((await asking(own.panel.url, me, {}, body)).status);
    expect(replies.slice(0, 5)).toEqual([200, 200, 200, 200, 200]);
    expect(replies.slice(5)).toEqual([429, 429, 429]);
    await own.close();
  });

  test('more pages than fit are turned away, and make room when they go', async () => {
    const own = await servedStation({ limits: { pages: 3, pagesOfOneAddress: 3 } });
    const me = await callerAt(own.panel.url);
    const stop = new AbortController();
    const look = () =>
      fetch(`${own.panel.url}/api/live`, { headers: { cookie: me.cookie }, signal: stop.signal });
    const open = await Promise.all([look(), look(), look()]);
    expect(open.map(({ status }) => status)).toEqual([200, 200, 200]);
    expect((await look()).status).toBe(503);
    stop.abort();
    await expect.poll(() => own.panel.pages()).toBe(0);
    await own.close();
  });
});

describe('signing in', () => {
  let people: Person[];
  let guarded: Served;
  beforeAll(async () => {
    const password = await hashPassword('kelp grows in the dark');
    people = [
      { name: 'Ada', may: 'act', password },
      { name: 'Ben', may: 'look', password },
    ];
    guarded = await servedStation({ people, limits: { signIns: 5 } });
    guarded.pace(100);
  });
  afterAll(() => guarded.close());

  const signIn = (
    name: string,
    password: string,
    at = guarded.panel.url,
    extra: Record<string, string> = {},
  ) =>
    send(at, '/api/sign-in', {
      method: 'POST',
      headers: { origin: at, 'content-type': 'application/json', ...extra },
      body: JSON.stringify({ name, password }),
    });
  const callerFrom = (reply: Reply): Caller => ({
    cookie: String(reply.headers['set-cookie']?.[0] ?? '').split(';')[0] ?? '',
    token: (JSON.parse(reply.text) as { token: string }).token,
  });

  test('nobody gets a session without signing in', async () => {
    const reply = await send(guarded.panel.url, '/api/me');
    expect(JSON.parse(reply.text)).toMatchObject({ signedIn: false, signInNeeded: true, token: null });
    expect(reply.headers['set-cookie']).toBeUndefined();
    expect((await send(guarded.panel.url, '/api/station')).status).toBe(401);
  });

  test('who may only look, looks and can not act', async () => {
    const ben = callerFrom(await signIn('Ben', 'kelp grows in the dark'));
    expect((await send(guarded.panel.url, '/api/station', { headers: { cookie: ben.cookie } })).status).toBe(
      200,
    );
    const reply = await asking(guarded.panel.url, ben);
    expect(reply.status).toBe(403);
    expect(JSON.parse(reply.text)).toMatchObject({ error: 'role' });
    expect(guarded.coupled.state().refill.cause).not.toBe('person');
  });

  test('nobody can put another name to what they ask: the record has the one who signed in', async () => {
    const ada = callerFrom(await signIn('Ada', 'kelp grows in the dark'));
    const shelve = { ask: 'shelve', alarm: 'I-12/mixing-high', minutes: 5, reason: 'known' };
    const silenced = () => guarded.coupled.state().alarms['I-12/mixing-high']?.silenced;
    for (const more of [{ who: 'Ben' }, { who: '' }, {}]) {
      const body = JSON.stringify({ ...shelve, ...more });
      const reply = await asking(guarded.panel.url, ada, {}, body);
      expect(JSON.parse(reply.text), body).toMatchObject({ accepted: true });
      expect(silenced(), body).toBe('known (Ada)');
      const back = JSON.stringify({ ask: 'unshelve', alarm: 'I-12/mixing-high' });
      expect(JSON.parse((await asking(guarded.panel.url, ada, {}, back)).text).accepted).toBe(true);
    }
  });

  test('a planted cookie is worth nothing after the sign-in, and signing out ends the session', async () => {
    const planted = 'panel=planted-by-somebody-else';
    const reply = await signIn('Ada', 'kelp grows in the dark', guarded.panel.url, { cookie: planted });
    const ada = callerFrom(reply);
    expect(ada.cookie).not.toBe(planted);
    expect((await asking(guarded.panel.url, ada)).status).toBe(200);
    await send(guarded.panel.url, '/api/sign-out', {
      method: 'POST',
      headers: { origin: guarded.panel.url, cookie: ada.cookie },
    });
    expect((await asking(guarded.panel.url, ada)).status).toBe(401);
  });

  test('a foreign page can not sign a browser in', async () => {
    const reply = await signIn('Ada', 'kelp grows in the dark', guarded.panel.url, {
      origin: 'https://x.example',
    });
    expect(reply.status).toBe(403);
  });

  test('guessing is stopped after a few tries, even with the right word at last', async () => {
    const replies: number[] = [];
    for (let i = 0; i < 6; i += 1) replies.push((await signIn('Ada', `guess number ${i}`)).status);
    replies.push((await signIn('Ada', 'kelp grows in the dark')).status);
    expect(replies).toContain(429);
    expect(replies.at(-1)).toBe(429);
    expect(replies).not.toContain(200);
  });
});

describe('seen from a network', () => {
  let password: string;
  const origin = 'https://vats.example.org';
  beforeAll(async () => {
    password = await hashPassword('kelp grows in the dark');
  });
  const body = JSON.stringify({ name: 'Ada', password: 'kelp grows in the dark' });
  const signInAt = (at: string, from: string) =>
    send(at, '/api/sign-in', {
      method: 'POST',
      headers: { origin: from, 'content-type': 'application/json', host: 'vats.example.org' },
      body,
    });

  test('behind a proxy its origin is ours and any other is not, and the cookie is for a secure wire only', async () => {
    const own = await servedStation({
      people: [{ name: 'Ada', may: 'act', password }],
      behindProxy: { origin },
    });
    expect(own.panel.url).toBe(origin);
    const good = await signInAt(own.panel.listensAt, origin);
    expect(good.status).toBe(200);
    expect(String(good.headers['set-cookie']?.[0])).toMatch(/^__Host-panel=.*Secure/u);
    expect(good.headers['strict-transport-security']).toBeDefined();
    expect((await signInAt(own.panel.listensAt, 'http://vats.example.org')).status).toBe(403);
    expect((await signInAt(own.panel.listensAt, own.panel.listensAt)).status).toBe(403);
    await own.close();
  });

  test('who is not the proxy is turned away at the door', async () => {
    const own = await servedStation({
      people: [{ name: 'Ada', may: 'act', password }],
      behindProxy: { origin, addresses: ['127.0.0.9'] },
    });
    expect((await signInAt(own.panel.listensAt, origin)).status).toBe(421);
    expect((await send(own.panel.listensAt, '/')).status).toBe(421);
    await own.close();
  });

  test('an address on the network without TLS is not even opened', async () => {
    await expect(
      servedStation({ host: '0.0.0.0', people: [{ name: 'Ada', may: 'act', password }] }),
    ).rejects.toThrow(/anybody on that network/u);
  });

  test.runIf(hasOpenssl)('with TLS of its own it speaks nothing else', async () => {
    const own = await servedStation({
      host: '127.0.0.1',
      tls: selfSigned(),
      people: [{ name: 'Ada', may: 'act', password }],
    });
    expect(own.panel.url).toMatch(/^https:/u);
    await expect(send(own.panel.url, '/')).rejects.toThrow();
    const agent = new Agent({ rejectUnauthorized: false });
    const status = await new Promise<number>((resolve, reject) => {
      secureGet(`${own.panel.url}/api/me`, { agent }, (response) => {
        response.resume();
        resolve(response.statusCode ?? 0);
      }).on('error', reject);
    });
    expect(status).toBe(200);
    agent.destroy();
    await own.close();
  });
});

function selfSigned(): { key: string; cert: string } {
  const folder = mkdtempSync(join(tmpdir(), 'page-'));
  const [key, cert] = [join(folder, 'key.pem'), join(folder, 'cert.pem')];
  const subject = ['-subj', '/CN=127.0.0.1', '-days', '2', '-nodes'];
  spawnSync('openssl', ['req', '-x509', '-newkey', 'rsa:2048', '-keyout', key, '-out', cert, ...subject]);
  const pair = { key: readFileSync(key, 'utf8'), cert: readFileSync(cert, 'utf8') };
  rmSync(folder, { recursive: true });
  return pair;
}
