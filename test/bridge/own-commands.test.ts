import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { LIMITS } from '../../src/bridge/limits.ts';
import type { Message } from '../../src/bridge/message.ts';
import { type OwnCommands, ownCommands } from '../../src/bridge/own-commands.ts';

const arrives = (payload: string, more: Partial<Message> = {}): Message => ({
  topic: 'rig/fill/cmd',
  payload: new TextEncoder().encode(payload),
  retain: false,
  dup: false,
  sender: null,
  ...more,
});
const send = (own: OwnCommands, payload: string, sequence = 1, unique = false) =>
  own.sent({ actuator: 'fill', topic: 'rig/fill/cmd', payload, sequence, unique });

describe('MQTT 3.1.1, where a message does not say who sent it', () => {
  it('what was sent once comes back once; a second one is a stranger', () => {
    const own = ownCommands('b1');
    send(own, 'ON');
    expect(own.isOwn(arrives('ON'))).toBe(true);
    expect(own.isOwn(arrives('ON'))).toBe(false);
  });

  it('another text, another topic or a stored message is never ours', () => {
    const own = ownCommands('b1');
    send(own, 'ON');
    expect(own.isOwn(arrives('OFF'))).toBe(false);
    expect(own.isOwn(arrives('ON', { topic: 'rig/drain/cmd' }))).toBe(false);
    expect(own.isOwn(arrives('ON', { retain: true }))).toBe(false);
    expect(own.isOwn(arrives('ON'))).toBe(true);
  });

  it('of n equal texts with m strangers among them exactly m are strangers, in whatever order they come', () => {
    const texts = fc.constantFrom('ON', 'OFF');
    fc.assert(
      fc.property(
        fc.array(texts, { maxLength: 30 }),
        fc.array(texts, { maxLength: 10 }),
        fc.infiniteStream(fc.nat()),
        (ours, strangers, dice) => {
          const own = ownCommands('b1');
          ours.forEach((text, place) => {
            send(own, text, place);
          });
          const all = [...ours, ...strangers]
            .map((text) => ({ text, at: dice.next().value }))
            .toSorted((a, b) => a.at - b.at);
          const foreign = all.filter(({ text }) => !own.isOwn(arrives(text)));
          expect(foreign.map(({ text }) => text).toSorted()).toEqual(strangers.toSorted());
        },
      ),
    );
  });

  it('a copy that says it is one (dup), or whose text can not repeat, is ours a second time', () => {
    const own = ownCommands('b1');
    send(own, 'ON', 1);
    send(own, 'ON 2', 2, true);
    for (const text of ['ON', 'ON 2']) expect(own.isOwn(arrives(text))).toBe(true);
    expect(own.isOwn(arrives('ON', { dup: true }))).toBe(true);
    expect(own.isOwn(arrives('ON 2'))).toBe(true);
    expect(own.isOwn(arrives('ON'))).toBe(false);
  });

  it('R6: what does not come back within some heartbeats is missing, and no stranger can pass for it afterwards', () => {
    const own = ownCommands('b1');
    send(own, 'ON', 5);
    for (let n = 1; n < LIMITS.echoesUntilMissing; n++) expect(own.heartbeatCameBack()).toEqual([]);
    expect(own.heartbeatCameBack()).toMatchObject([{ actuator: 'fill', sequence: 5 }]);
    expect(own.isOwn(arrives('ON'))).toBe(false);
    expect(own.heartbeatCameBack()).toEqual([]);
  });

  it('a new connection brings nothing of the old one back', () => {
    const own = ownCommands('b1');
    send(own, 'ON');
    own.forget();
    expect(own.isOwn(arrives('ON'))).toBe(false);
  });
});

describe('MQTT 5, where it does', () => {
  it('ours are those with our signature, as often as they come; an equal text with another one is a stranger', () => {
    const own = ownCommands('b1');
    send(own, 'ON', 7);
    expect(own.isOwn(arrives('ON', { sender: 'b2/7' }))).toBe(false);
    expect(own.isOwn(arrives('ON', { sender: own.signature(7) }))).toBe(true);
    expect(own.isOwn(arrives('ON', { sender: own.signature(7) }))).toBe(true);
    expect(own.isOwn(arrives('ON', { sender: own.signature(7), retain: true }))).toBe(false);
  });

  it("an unsigned command with our text is a stranger's once ours has come back", () => {
    const own = ownCommands('b1');
    send(own, 'ON', 7);
    own.isOwn(arrives('ON', { sender: own.signature(7) }));
    expect(own.isOwn(arrives('ON'))).toBe(false);
  });
});
