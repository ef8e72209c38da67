// What the news of the link lead to, with an outbox that writes into an array.

import { describe, expect, it } from 'vitest';
import { Arrivals } from '../../src/bridge/arrivals.ts';
import { codecOf } from '../../src/bridge/codec.ts';
import { handsOf } from '../../src/bridge/hands.ts';
import { LIMITS } from '../../src/bridge/limits.ts';
import { LinkAlarms } from '../../src/bridge/link-alarms.ts';
import type { Message } from '../../src/bridge/message.ts';
import { Outbox } from '../../src/bridge/outbox.ts';
import { ownCommands } from '../../src/bridge/own-commands.ts';
import { requestsOf } from '../../src/bridge/requests.ts';
import { topicsOf } from '../../src/bridge/wire-out.ts';
import { message } from '../../src/language/message.ts';
import { listLog, plant } from './rig.ts';

function rooms(clearRetained = false) {
  const went: string[] = [];
  const log = listLog();
  const own = ownCommands('b1');
  const topics = topicsOf(plant.id);
  const link = {
    flush: () => {},
    isProven: () => true,
    publish: ({ topic, payload }: { topic: string; payload: string }) => {
      went.push(`${topic} ${payload}`);
      return true;
    },
  };
  const outbox = new Outbox({ plant, topics, boot: 'b1', own, link, nowMs: () => 0, save: null, log });
  const hands = handsOf(
    plant,
    () => 0,
    () => {},
  );
  const arrivals = new Arrivals({
    hands,
    topics,
    codec: codecOf(plant),
    own,
    outbox,
    alarms: new LinkAlarms(plant, outbox, log),
    requests: requestsOf(plant),
    clearRetained,
    log,
  });
  const hear = (topic: string, text: string, more: Partial<Message> = {}) => {
    const payload = new TextEncoder().encode(text);
    return arrivals.inputsOf({
      news: 'message',
      message: { topic, payload, retain: false, dup: false, sender: null, ...more },
    });
  };
  const alarms = () => went.filter((line) => line.includes('/alarm/'));
  return { arrivals, outbox, hear, went, alarms, lines: log.lines, topics };
}

describe('commands that reach nobody (R6)', () => {
  const swallow = ({ arrivals, outbox }: ReturnType<typeof rooms>) => {
    arrivals.inputsOf({ news: 'connected' });
    for (let n = 0; n < LIMITS.echoesUntilMissing; n++) arrivals.inputsOf({ news: 'echo' });
    return outbox;
  };

  it('are one alarm each, however many are swallowed, and the alarm is over when one comes back', () => {
    const one = rooms();
    swallow(one);
    swallow(one);
    expect(one.alarms()).toHaveLength(Object.keys(plant.actuators).length);
    one.went.length = 0;
    one.outbox.offToEverything();
    expect(one.hear('rig/drain/cmd', 'OFF')).toEqual([]);
    expect(one.alarms()).toEqual([`vatwarden/${plant.id}/alarm/command-swallowed-drain `]);
    one.went.length = 0;
    one.outbox.offToEverything();
    one.hear('rig/drain/cmd', 'OFF');
    expect(one.alarms()).toEqual([]);
  });

  it('that the broker refuses are an alarm and an actuator without feedback; a refused report is a line in the log', () => {
    const { arrivals, alarms, lines, topics } = rooms();
    expect(
      arrivals.inputsOf({ news: 'denied', topic: 'rig/drain/cmd', words: 'not authorized (135)' }),
    ).toEqual([{ type: 'bad-feedback', actuator: 'drain', reason: 'offline' }]);
    expect(alarms()).toHaveLength(1);
    expect(
      arrivals.inputsOf({ news: 'denied', topic: topics.status, words: 'not authorized (135)' }),
    ).toEqual([]);
    expect(alarms()).toHaveLength(1);
    expect(lines.filter(({ event }) => event === 'publish-denied')).toHaveLength(2);
  });
});

describe('stored commands (R1)', () => {
  it('are cleared by an empty message, and that message coming back is no foreign command', () => {
    const { hear, went } = rooms(true);
    expect(hear('rig/drain/cmd', 'ON', { retain: true })).toEqual([]);
    expect(went).toEqual(['rig/drain/cmd ']);
    expect(hear('rig/drain/cmd', '')).toEqual([]);
    expect(hear('rig/drain/cmd', '')).toEqual([{ type: 'empty-command', actuator: 'drain' }]);
  });
});

describe('an empty message on a command topic', () => {
  it('is no command, whether or not it asked to be kept, and is written down', () => {
    const { hear, went, lines } = rooms(true);
    expect(hear('rig/drain/cmd', '', { retain: true })).toEqual([
      { type: 'empty-command', actuator: 'drain' },
    ]);
    expect(hear('rig/drain/cmd', '')).toEqual([{ type: 'empty-command', actuator: 'drain' }]);
    expect(went).toEqual([]);
    expect(lines.map(({ event }) => event)).toEqual(['command-topic-emptied']);
  });

  it('blanks are no empty message: nobody can read them, so they may mean on', () => {
    const { hear } = rooms();
    expect(hear('rig/drain/cmd', ' ')).toMatchObject([{ type: 'foreign-command', on: null }]);
  });
});

describe('our own topics', () => {
  it('what stands there and is not ours is cleared; what is ours, and what is said live, is left alone', () => {
    const { hear, outbox, went, topics } = rooms();
    outbox.report({
      do: 'alarm',
      alarm: 'mine',
      state: 'acknowledged',
      priority: 'soon',
      words: message('told-before', { what: 'w' }),
      response: message('told-before', { what: 'm' }),
    });
    went.length = 0;
    hear(topics.alarm('mine'), '{}', { retain: true });
    hear(topics.alarm('other'), '{}');
    hear(topics.alarm('gone'), '', { retain: true });
    expect(went).toEqual([]);
    hear(topics.alarm('old'), '{}', { retain: true });
    hear(topics.task('mixing'), '{}', { retain: true });
    expect(went).toEqual([`${topics.alarm('old')} `, `${topics.task('mixing')} `]);
  });

  it('clearing a stored request is no request', () => {
    const { hear, went, topics } = rooms();
    expect(hear(topics.request, '')).toEqual([]);
    expect(went).toEqual([]);
  });
});
