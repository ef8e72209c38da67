import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { inboxOf } from '../../src/bridge/inbox.ts';
import { LIMITS } from '../../src/bridge/limits.ts';
import type { Input } from '../../src/control/guard/types.ts';

const level = (value: number, sensor = 'level'): Input => ({ type: 'reading', sensor, value, live: true });
const float = (value: boolean, sensor = 'float'): Input => ({ type: 'reading', sensor, value, live: true });

describe('the inbox (R19)', () => {
  it('of many levels only the newest stays, in the place of the first, and of contacts every change in order of arrival', () => {
    const inbox = inboxOf();
    for (const input of [level(1), float(true), level(2), float(true), float(false), level(3)])
      inbox.put(input);
    expect(inbox.drain()).toEqual([level(3), float(true), float(false)]);
    expect(inbox.drain()).toEqual([]);
  });

  it('a flood of one contact makes that contact bad and leaves every other as it is', () => {
    const inbox = inboxOf();
    inbox.put(float(true, 'calm'));
    for (let n = 0; n < 10_000; n++) inbox.put(float(n % 2 === 0, 'mad'));
    expect(inbox.drain()).toEqual([
      float(true, 'calm'),
      { type: 'bad-reading', sensor: 'mad', reason: 'overflow' },
    ]);
    inbox.put(float(true, 'mad'));
    expect(inbox.drain()).toEqual([float(true, 'mad')]);
  });

  it('chatter up to the bound is kept change by change', () => {
    const inbox = inboxOf();
    const changes = Array.from({ length: LIMITS.queuedPerContact }, (_, n) => float(n % 2 === 0));
    for (const input of changes) inbox.put(input);
    expect(inbox.drain()).toEqual(changes);
  });

  it('a flood of feedback is bad feedback; of foreign commands the first ones stay, and none is lost without a trace', () => {
    const inbox = inboxOf();
    for (let n = 0; n < 500; n++) {
      inbox.put({ type: 'feedback', actuator: 'fill', on: n % 2 === 0, live: true });
      inbox.put({ type: 'foreign-command', actuator: 'fill', on: n % 2 === 0, retained: false });
    }
    const inputs = inbox.drain();
    expect(inputs.at(-1)).toEqual({ type: 'bad-feedback', actuator: 'fill', reason: 'overflow' });
    expect(inputs.filter(({ type }) => type === 'foreign-command')).toHaveLength(LIMITS.queuedPerContact);
    expect(inputs.filter(({ type }) => type === 'feedback')).toEqual([]);
  });

  it('more requests than anybody makes are refused, and the caller is told', () => {
    const inbox = inboxOf();
    const ask = (id: number): Input => ({
      type: 'request',
      id: String(id),
      request: { ask: 'start', unit: 'all' },
    });
    const taken = Array.from({ length: 100 }, (_, n) => inbox.put(ask(n)));
    expect(taken.filter(Boolean)).toHaveLength(LIMITS.queuedRequests);
    expect(inbox.drain()).toHaveLength(LIMITS.queuedRequests);
  });

  it('a word repeated after the link came back is news, and of many losses only the last is told', () => {
    const inbox = inboxOf();
    const up: Input = { type: 'link', up: true };
    const down: Input = { type: 'link', up: false };
    const foreign: Input = { type: 'foreign-command', actuator: 'fill', on: true, retained: false };
    for (const input of [
      float(true),
      level(1),
      foreign,
      down,
      up,
      float(true),
      level(2),
      down,
      up,
      float(true),
    ])
      inbox.put(input);
    expect(inbox.drain()).toEqual([foreign, down, up, float(true)]);
  });

  it('whatever comes in, what comes out is bounded, and the last word of every sensor is its newest or `overflow`', () => {
    const inputs = fc.array(
      fc.oneof(
        fc.tuple(fc.constantFrom('a', 'b'), fc.integer()).map(([sensor, value]) => level(value, sensor)),
        fc.tuple(fc.constantFrom('c', 'd'), fc.boolean()).map(([sensor, value]) => float(value, sensor)),
      ),
      { maxLength: 400, size: 'max' },
    );
    fc.assert(
      fc.property(inputs, (given) => {
        const inbox = inboxOf();
        for (const input of given) inbox.put(input);
        const out = inbox.drain();
        expect(out.length).toBeLessThanOrEqual(2 + 2 * LIMITS.queuedPerContact);
        for (const sensor of ['a', 'b', 'c', 'd']) {
          const about = (list: readonly Input[]) =>
            list.findLast((input) => 'sensor' in input && input.sensor === sensor);
          const last = about(out);
          if (last?.type !== 'bad-reading') expect(last).toEqual(about(given));
        }
      }),
    );
  });
});
