import { describe, expect, test } from 'vitest';
import { DoorError, doorOf } from '../../src/panel/door.ts';
import { checkPeople, hashPassword, personFor, sameToken, sessionsOf } from '../../src/panel/people.ts';

const tls = { key: 'key', cert: 'cert' };
const people = [{ name: 'Ada', may: 'act' as const, password: 'scrypt$32768$8$1$AAAA$AAAA' }];

describe('the door', () => {
  test('loopback is the default, and needs nothing more', () => {
    const door = doorOf({});
    expect(door.host).toBe('127.0.0.1');
    expect(door.kind).toBe('loopback');
    expect(door.signInNeeded).toBe(false);
  });

  test.each(['0.0.0.0', '::', '192.168.7.20', 'vats.local', '128.0.0.1'])(
    '%s is not served without TLS or a proxy, whoever signs in',
    (host) => {
      expect(() => doorOf({ host, people })).toThrow(DoorError);
      expect(() => doorOf({ host, people })).toThrow(/tls|behindProxy/u);
    },
  );

  test('TLS without people, and a proxy without people, are refused: anybody could come in', () => {
    expect(() => doorOf({ host: '0.0.0.0', tls })).toThrow(/sign in/u);
    expect(() => doorOf({ behindProxy: { origin: 'https://vats.example.org' } })).toThrow(/sign in/u);
    expect(doorOf({ host: '0.0.0.0', tls, people }).kind).toBe('tls');
  });

  test.each([
    'http://vats.example.org',
    'https://vats.example.org/',
    'https://vats.example.org/page',
    'vats',
    '*',
  ])('a proxy at %s is refused: it must be an https origin and nothing else', (origin) => {
    expect(() => doorOf({ people, behindProxy: { origin } })).toThrow(DoorError);
  });

  test('a name that only points at this computer is not ours', () => {
    const door = doorOf({});
    expect(door.admits('127.0.0.1', '127.0.0.1:8460')).toBe(true);
    expect(door.admits('127.0.0.1', 'localhost:8460')).toBe(true);
    expect(door.admits('127.0.0.1', '[::1]:8460')).toBe(true);
    expect(door.admits('127.0.0.1', 'rebound.example.org:8460')).toBe(false);
    expect(door.admits('127.0.0.1', 'localhost.example.org')).toBe(false);
    expect(door.isOwnOrigin('http://rebound.example.org', 'rebound.example.org')).toBe(false);
  });

  test('behind a proxy only the proxy comes in, and only its origin is ours', () => {
    const door = doorOf({
      host: '10.0.0.5',
      people,
      behindProxy: { origin: 'https://vats.example.org', addresses: ['10.0.0.2'] },
    });
    expect(door.admits('10.0.0.2', 'vats.example.org')).toBe(true);
    expect(door.admits('10.0.0.3', 'vats.example.org')).toBe(false);
    expect(door.isOwnOrigin('https://vats.example.org', 'vats.example.org')).toBe(true);
    expect(door.isOwnOrigin('http://vats.example.org', 'vats.example.org')).toBe(false);
    expect(door.isSecure).toBe(true);
  });
});

describe('people', () => {
  test('only the right name with the right password is let in', async () => {
    const password = await hashPassword('kelp grows in the dark');
    const [ada] = [{ name: 'Ada', may: 'act' as const, password }];
    expect(await personFor([ada], 'Ada', 'kelp grows in the dark')).toEqual(ada);
    expect(await personFor([ada], 'Ada', 'kelp grows in the light')).toBeNull();
    expect(await personFor([ada], 'ada', 'kelp grows in the dark')).toBeNull();
    expect(await personFor([ada], '', '')).toBeNull();
    expect(password).not.toContain('kelp');
  });

  test('the same password is kept differently each time, and a short one not at all', async () => {
    const [a, b] = await Promise.all([hashPassword('salt and water'), hashPassword('salt and water')]);
    expect(a).not.toBe(b);
    await expect(hashPassword('short')).rejects.toThrow(/10 characters/u);
  });

  test('a spoilt entry never lets anybody in', async () => {
    for (const password of ['', 'plain', 'scrypt$0$8$1$AAAA$AAAA', 'scrypt$32768$8$1$AAAA$', 'md5$1$1$1$A$A'])
      expect(await personFor([{ name: 'Ada', may: 'act', password }], 'Ada', '')).toBeNull();
  });

  test('people who can not be used are named at the start', () => {
    const [good] = people;
    if (!good) throw new Error('no person');
    expect(() => checkPeople([good, good])).toThrow(/twice/u);
    expect(() => checkPeople([{ ...good, may: 'rule' as 'act' }])).toThrow(/look or act/u);
    expect(() => checkPeople([{ ...good, password: 'kelp' }])).toThrow(/hashPassword/u);
  });

  test('a session ends after a day of silence and after a week at most', () => {
    let nowMs = 0;
    const sessions = sessionsOf(() => nowMs);
    const { id } = sessions.begin('Ada', 'act');
    nowMs = 23 * 3_600_000;
    expect(sessions.find(id)?.name).toBe('Ada');
    nowMs += 25 * 3_600_000;
    expect(sessions.find(id)).toBeNull();
    const used = sessions.begin('Ada', 'act');
    for (let day = 0; day < 8; day += 1) {
      nowMs += 23 * 3_600_000;
      sessions.find(used.id);
    }
    expect(sessions.find(used.id)).toBeNull();
  });

  test('sessions that nobody ends do not fill the memory', () => {
    const sessions = sessionsOf();
    const first = sessions.begin(null, 'act');
    for (let i = 0; i < 1_000; i += 1) sessions.begin(null, 'act');
    expect(sessions.find(first.id)).toBeNull();
  });

  test('a token is its own and nothing else', () => {
    expect(sameToken('abc', 'abc')).toBe(true);
    for (const wrong of ['abd', 'ab', '', undefined, ['abc'], 3]) expect(sameToken(wrong, 'abc')).toBe(false);
  });
});
