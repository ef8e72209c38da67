// Alarms to people: who is told what and when, in the form that each kind of sink documents, over sinks on this computer.
import {
  createDecipheriv,
  createECDH,
  createHmac,
  type ECDH,
  generateKeyPairSync,
  hkdfSync,
  randomBytes,
  verify,
} from 'node:crypto';
import { createServer as createHttp, type IncomingHttpHeaders, type Server } from 'node:http';
import { type AddressInfo, createServer as createTcp } from 'node:net';
import { afterEach, describe, expect, it } from 'vitest';
import { sayTo } from '../../src/language/for-people.ts';
import { message } from '../../src/language/message.ts';
import { type Alarm, dueOf, type Telling } from '../../src/notify/due.ts';
import { type NotifyText, notifyValues } from '../../src/notify/notify-file.ts';
import { sendingOf } from '../../src/notify/sending.ts';
import { tellerOf } from '../../src/notify/teller.ts';
import { until } from '../bridge/rig.ts';
import { plantAt } from '../tools/coupled.ts';

const LEAK: Alarm = {
  alarm: 'I-11/tray',
  state: 'active-unacknowledged',
  priority: 'urgent',
  message: { text: 'water detected: tray' },
  response: { text: '', steps: [{ step: 'first', text: 'Switch off at the breaker panel.' }] },
};
const OVERDUE: Alarm = {
  alarm: 'A-10/x',
  state: 'active-unacknowledged',
  priority: 'soon',
  message: { text: 'a task is overdue' },
  response: { text: '', steps: [] },
};
const seen = (alarm: Alarm): Alarm => ({ ...alarm, state: 'active-acknowledged' });
const MINUTE = 60_000;
const NOON = 720;

const hook = (more: object = {}) => ({ kind: 'webhook', url: 'http://127.0.0.1:9/', ...more });
const valuesOf = (file: object) => notifyValues({ test: false, ...file } as NotifyText);

function told(
  sinks: object,
  steps: readonly (readonly [number, readonly Alarm[], number?])[],
): readonly string[] {
  const due = dueOf(valuesOf({ sinks }), 'b');
  const short = ({ sink, is, alarm }: Telling) => `${sink} ${is} ${alarm.alarm}`;
  return steps.flatMap(([minute, alarms, minuteOfDay = NOON]) =>
    due(alarms, { nowMs: minute * MINUTE, minuteOfDay }).map((one) => `${minute} ${short(one)}`),
  );
}

describe('who is told', () => {
  it('once when it begins, again while it is urgent and unacknowledged, and once when it is over', () => {
    expect(
      told({ a: hook() }, [
        [0, [LEAK]],
        [1, [LEAK]],
        [15, [LEAK]],
        [16, [seen(LEAK)]],
        [40, [seen(LEAK)]],
        [41, []],
        [42, []],
      ]),
    ).toEqual(['0 a begun I-11/tray', '15 a again I-11/tray', '41 a ended I-11/tray']);
  });

  it('nobody again and no second person while somebody is on the way; a new alarm is told all the same', () => {
    const due = dueOf(valuesOf({ sinks: { a: hook(), b: hook({ after: '10 min' }) } }), 'b');
    const at = (minute: number, alarms: readonly Alarm[], isComing: boolean) =>
      due(alarms, { nowMs: minute * MINUTE, minuteOfDay: NOON, isComing }).map(
        ({ sink, is, alarm }) => `${sink} ${is} ${alarm.alarm}`,
      );
    expect(at(0, [LEAK], false)).toEqual(['a begun I-11/tray']);
    expect(at(30, [LEAK, OVERDUE], true)).toEqual(['a begun A-10/x']);
    expect(at(60, [LEAK, OVERDUE], false)).toEqual([
      'a again I-11/tray',
      'b begun I-11/tray',
      'b begun A-10/x',
    ]);
  });

  it('by priority: what lies below the sink does not go there', () => {
    expect(
      told({ a: hook({ from: 'urgent' }), b: hook({ from: 'soon' }) }, [
        [0, [OVERDUE]],
        [1, []],
      ]),
    ).toEqual(['0 b begun A-10/x', '1 b ended A-10/x']);
  });

  it('a second person only of what nobody has acknowledged in time', () => {
    const sinks = { a: hook(), b: hook({ after: '10 min' }) };
    expect(
      told(sinks, [
        [0, [LEAK]],
        [9, [LEAK]],
        [10, [LEAK]],
      ]),
    ).toEqual(['0 a begun I-11/tray', '10 b begun I-11/tray']);
    expect(
      told(sinks, [
        [0, [LEAK]],
        [5, [seen(LEAK)]],
        [11, [seen(LEAK)]],
        [12, []],
      ]),
    ).toEqual(['0 a begun I-11/tray', '12 a ended I-11/tray']);
  });

  it('in quiet hours of what is urgent alone; the rest when they are over', () => {
    const sinks = { a: hook({ quiet: ['22:00', '07:00'] }) };
    expect(
      told(sinks, [
        [0, [LEAK, OVERDUE], 60],
        [1, [LEAK, OVERDUE], 419],
        [2, [LEAK, OVERDUE], 420],
      ]),
    ).toEqual(['0 a begun I-11/tray', '2 a begun A-10/x']);
    // Somebody who was told that it began is told that it ended, when it is day.
    expect(
      told(sinks, [
        [0, [OVERDUE]],
        [1, [], 1380],
        [2, [], 480],
      ]),
    ).toEqual(['0 a begun A-10/x', '2 a ended A-10/x']);
  });

  it('while the time of day is not trusted no hour is quiet', () => {
    const due = dueOf(valuesOf({ sinks: { a: hook({ quiet: ['00:00', '23:59'] }) } }), 'b');
    expect(due([OVERDUE], { nowMs: 0, minuteOfDay: 100 })).toEqual([]);
    expect(due([OVERDUE], { nowMs: 1, minuteOfDay: null })).toHaveLength(1);
  });
});

interface Got {
  readonly url: string;
  readonly headers: IncomingHttpHeaders;
  readonly body: string;
  readonly bytes: Buffer;
}
const cleanups: (() => void)[] = [];
afterEach(() => {
  for (const clean of cleanups.splice(0)) clean();
});

/** @param answers the status of each answer, the last for ever */
async function httpSink(
  answers: readonly number[] = [200],
): Promise<{ readonly url: string; readonly got: Got[]; readonly server: Server }> {
  const got: Got[] = [];
  const server = createHttp((request, response) => {
    const parts: Buffer[] = [];
    request.on('data', (part) => parts.push(part));
    request.on('end', () => {
      const bytes = Buffer.concat(parts);
      got.push({ url: request.url ?? '', headers: request.headers, body: bytes.toString(), bytes });
      response.statusCode = answers[Math.min(got.length, answers.length) - 1] ?? 200;
      response.end();
    });
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  cleanups.push(
    () => server.closeAllConnections(),
    () => server.close(),
  );
  return { url: `http://127.0.0.1:${(server.address() as AddressInfo).port}`, got, server };
}

function tell(
  sinks: object,
  more: { readonly language?: 'en' | 'de' } & Readonly<Record<string, unknown>> = {},
  triesAfterMs: readonly number[] = [],
) {
  const { language = 'en' } = more;
  const failures: string[] = [];
  const failing: (readonly string[])[] = [];
  const teller = tellerOf({
    values: valuesOf({ sinks, panel: 'https://vats.example.org', ...more }),
    station: 'Marram Point',
    say: sayTo(plantAt('schemas/examples/marram-point.json'), language),
    boot: 'b',
    failed: (sink, words) => failures.push(`${sink}: ${words}`),
    failing: (sinks) => failing.push(sinks),
    triesAfterMs,
  });
  cleanups.push(teller.close);
  return { teller, failures, failing };
}
const NOW = { nowMs: 0, minuteOfDay: NOON };

/** RFC 8291, 3.4, as a browser does it: one record of RFC 8188. */
function decrypted(bytes: Buffer, browser: ECDH, auth: Buffer): string {
  const salt = bytes.subarray(0, 16);
  const length = bytes.readUInt8(20);
  const sender = bytes.subarray(21, 21 + length);
  const info = Buffer.concat([Buffer.from('WebPush: info\0'), browser.getPublicKey(), sender]);
  const secret = Buffer.from(hkdfSync('sha256', browser.computeSecret(sender), auth, info, 32));
  const derived = (of: string, size: number) =>
    Buffer.from(hkdfSync('sha256', secret, salt, `Content-Encoding: ${of}\0`, size));
  const sealed = bytes.subarray(21 + length);
  const decipher = createDecipheriv('aes-128-gcm', derived('aes128gcm', 16), derived('nonce', 12));
  decipher.setAuthTag(sealed.subarray(-16));
  const text = Buffer.concat([decipher.update(sealed.subarray(0, -16)), decipher.final()]);
  // The last record ends in a 2, and zeros.
  return text.subarray(0, text.lastIndexOf(2)).toString('utf8');
}

describe('what arrives', () => {
  it.each([
    [
      'ntfy',
      { topic: 'vats', token: 'tk_1' },
      '/',
      'authorization',
      'Bearer tk_1',
      {
        topic: 'vats',
        title: 'Marram Point: urgent',
        message: 'Switch off at the breaker panel. Water detected: tray.',
        priority: 5,
        click: 'https://vats.example.org',
      },
    ],
    [
      'gotify',
      { token: 'A1' },
      '/message',
      'x-gotify-key',
      'A1',
      {
        title: 'Marram Point: urgent',
        message: 'Switch off at the breaker panel. Water detected: tray.',
        priority: 10,
        extras: { 'client::notification': { click: { url: 'https://vats.example.org' } } },
      },
    ],
    [
      'apprise',
      { tag: 'home' },
      '/',
      'content-type',
      'application/json',
      {
        title: 'Marram Point: urgent',
        body: 'Switch off at the breaker panel. Water detected: tray.',
        type: 'failure',
        tag: 'home',
      },
    ],
  ])('%s: the form that it documents', async (kind, more, path, header, value, body) => {
    const { url, got } = await httpSink();
    tell({ a: { kind, url, ...more } }).teller.look([LEAK], NOW, true);
    await until(() => got.length === 1, 'a message', 5000);
    expect(got[0]?.url).toBe(path);
    expect(got[0]?.headers[header]).toBe(value);
    expect(JSON.parse(got[0]?.body ?? '')).toEqual(body);
  });

  it('in German: title, again and the end; the alarm itself comes in the language of whoever says it', async () => {
    const { url, got } = await httpSink();
    const { teller } = tell(
      { here: { kind: 'webhook', url } },
      { language: 'de', test: false, repeat: '1 min' },
    );
    const say = sayTo(plantAt('schemas/examples/marram-point.json'), 'de');
    expect(say(message('drift-above-bound', { route: 'supply' }))).toMatch(/Lieferleitung/u);
    teller.look([LEAK], NOW, true);
    teller.look([LEAK], { ...NOW, nowMs: 61_000 }, true);
    teller.look([], { ...NOW, nowMs: 62_000 }, true);
    await until(() => got.length === 3, 'three messages', 5000);
    const told = got.map(({ body }) => JSON.parse(body) as { title: string; text: string });
    expect(told.map(({ title }) => title)).toEqual(Array(3).fill('Marram Point: dringend'));
    expect(told.map(({ text }) => text.split(' ')[0])).toEqual(['Switch', 'Weiterhin:', 'Vorbei:']);
  });

  it('webhook: signed over its time and body, with one key for all tries; a server that fails is tried again', async () => {
    const { url, got } = await httpSink([500, 200]);
    const { teller, failures } = tell({ a: hook({ url, secret: 's3' }) }, {}, [1, 1]);
    teller.look([LEAK], NOW, true);
    await until(() => got.length === 2, 'a second try', 5000);
    const [first, second] = got;
    expect(first?.headers['idempotency-key']).toBe(second?.headers['idempotency-key']);
    const [, time = '', signature] =
      /^t=(\d+),v1=([0-9a-f]{64})$/u.exec(String(second?.headers['x-vatwarden-signature'])) ?? [];
    expect(signature).toBe(createHmac('sha256', 's3').update(`${time}.${second?.body}`).digest('hex'));
    expect(failures).toEqual([]);
  });

  it('a sink that fails is said when it begins and when it is over, and is tried out again', async () => {
    const bad = await httpSink([500, 500, 200]);
    const { teller, failures, failing } = tell({ a: hook({ url: bad.url }) });
    teller.look([LEAK], NOW, true);
    await until(() => failures.length === 1, 'a failure', 5000);
    teller.look([LEAK, OVERDUE], NOW, true);
    await until(() => failures.length === 2, 'a second', 5000);
    expect(failures).toEqual(['a: the server answered 500', 'a: the server answered 500']);
    expect(failing).toEqual([['a']]);
    teller.look([LEAK, OVERDUE], { ...NOW, nowMs: 14 * MINUTE }, true);
    expect(bad.got).toHaveLength(2);
    teller.look([seen(LEAK), OVERDUE], { ...NOW, nowMs: 15 * MINUTE }, true);
    await until(() => failing.length === 2, 'the end of it', 5000);
    expect(failing[1]).toEqual([]);
  });

  it('web push: encrypted by RFC 8291, signed by RFC 8292, with time, urgency and topic of RFC 8030', async () => {
    const { url, got } = await httpSink([201, 410]);
    const browser = createECDH('prime256v1');
    browser.generateKeys();
    const auth = randomBytes(16);
    const vapid = generateKeyPairSync('ec', { namedCurve: 'P-256' });
    const { d = '', x = '', y = '' } = vapid.privateKey.export({ format: 'jwk' });
    const raw = Buffer.concat([Buffer.from([4]), Buffer.from(x, 'base64url'), Buffer.from(y, 'base64url')]);
    const sink = {
      kind: 'web-push',
      subject: 'mailto:keeper@example.org',
      publicKey: raw.toString('base64url'),
      privateKey: d,
      subscription: {
        endpoint: `${url}/push/1`,
        keys: { p256dh: browser.getPublicKey('base64url'), auth: auth.toString('base64url') },
      },
    };
    const { teller, failures } = tell({ a: sink });
    teller.look([LEAK], NOW, true);
    await until(() => got.length === 1, 'a message', 5000);
    const { headers = {}, bytes = Buffer.alloc(0) } = got[0] ?? {};
    expect(headers).toMatchObject({ ttl: '3600', urgency: 'high', 'content-encoding': 'aes128gcm' });
    expect(headers.topic).toMatch(/^[\w-]{1,32}$/u);
    const note = JSON.parse(decrypted(bytes, browser, auth));
    expect(note).toMatchObject({
      title: 'Marram Point: urgent',
      is: 'begun',
      panel: 'https://vats.example.org',
    });
    const [, jwt = '', key] = /^vapid t=([^,]+), k=(.+)$/u.exec(String(headers.authorization)) ?? [];
    const [head = '', claims = '', signature = ''] = jwt.split('.');
    expect(key).toBe(sink.publicKey);
    const isSigned = verify(
      'sha256',
      Buffer.from(`${head}.${claims}`),
      { key: vapid.publicKey, dsaEncoding: 'ieee-p1363' },
      Buffer.from(signature, 'base64url'),
    );
    expect(isSigned).toBe(true);
    expect(JSON.parse(Buffer.from(claims, 'base64url').toString())).toMatchObject({
      aud: new URL(url).origin,
      sub: 'mailto:keeper@example.org',
    });
    teller.look([LEAK, OVERDUE], NOW, true);
    await until(() => failures.length === 1, 'a subscription that is gone', 5000);
    expect(failures[0]).toContain('subscribe again');
    // The same incident takes the place of what was said before, another one does not.
    expect(got[1]?.headers.topic).not.toBe(headers.topic);
  });

  it('a queue has an end: the oldest goes, and the next message says how many', async () => {
    const { url, got, server } = await httpSink();
    const values = valuesOf({ sinks: { a: hook({ url }) } });
    const sending = sendingOf({ sinks: values.sinks, failed: () => {}, arrived: () => {} });
    cleanups.push(sending.close);
    const note = {
      incident: 'i',
      is: 'begun',
      priority: 'soon',
      title: 't',
      text: 'x',
      panel: null,
    } as const;
    for (let count = 0; count < 80; count++) sending.send('a', { ...note, id: String(count) });
    await until(() => got.length === 51, 'what was kept', 5000);
    expect(got.map(({ body }) => JSON.parse(body).id)).toEqual([
      '0',
      ...Array.from({ length: 50 }, (_, n) => String(n + 30)),
    ]);
    expect(got[1]?.body).toContain('29 messages before this one were left out');
    expect(server.listening).toBe(true);
  });

  it('e-mail: over SMTP, a thread for each incident', async () => {
    const lines: string[] = [];
    const server = createTcp((socket) => {
      let isData = false;
      socket.write('220 here\r\n');
      socket.on('data', (bytes) => {
        for (const line of bytes
          .toString()
          .split('\r\n')
          .filter((one) => one !== '')) {
          lines.push(line);
          if (isData && line !== '.') continue;
          isData = line === 'DATA';
          socket.write(
            line === 'DATA' ? '354 go\r\n' : line.startsWith('QUIT') ? '221 bye\r\n' : '250 ok\r\n',
          );
        }
      });
      socket.on('error', () => {});
    });
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    cleanups.push(() => server.close());
    const { port } = server.address() as AddressInfo;
    tell({
      a: {
        kind: 'email',
        host: '127.0.0.1',
        port,
        encrypted: 'never',
        sender: 'vats@example.org',
        to: ['anna@example.org'],
      },
    }).teller.look([LEAK], NOW, true);
    await until(() => lines.includes('.'), 'a mail', 8000);
    expect(lines).toContain('RCPT TO:<anna@example.org>');
    expect(lines).toContain('Subject: Marram Point: urgent');
    expect(lines).toContain('References: <b-1@vatwarden>');
    expect(lines).toContain('Switch off at the breaker panel. Water detected: tray.');
  });
});

describe('the watcher elsewhere', () => {
  it('hears of the station each minute, and only while all is well', async () => {
    const { url, got } = await httpSink();
    const { teller } = tell({ a: hook() }, { deadMan: { url } });
    const look = (minute: number, isWell: boolean) =>
      teller.look([], { nowMs: minute * MINUTE, minuteOfDay: NOON }, isWell);
    look(0, true);
    look(0.5, true);
    look(1, false);
    look(2, false);
    await until(() => got.length === 1, 'a ping', 5000);
    look(3, true);
    await until(() => got.length === 2, 'another', 5000);
    expect(got).toHaveLength(2);
  });
});

it('a start says that messages arrive', async () => {
  const { url, got } = await httpSink();
  tell({ a: hook({ url }) }, { test: true });
  await until(() => got.length === 1, 'a message', 5000);
  expect(JSON.parse(got[0]?.body ?? '')).toMatchObject({
    is: 'test',
    title: 'Marram Point: messages arrive',
  });
});
