// In what order things go out, with a link and a disk made of arrays.

import { describe, expect, it } from 'vitest';
import { LIMITS } from '../../src/bridge/limits.ts';
import { Outbox } from '../../src/bridge/outbox.ts';
import { ownCommands } from '../../src/bridge/own-commands.ts';
import type { Envelope } from '../../src/bridge/packets.ts';
import { topicsOf } from '../../src/bridge/wire-out.ts';
import type { Effect } from '../../src/control/guard/types.ts';
import { message } from '../../src/language/message.ts';
import { listLog, plant } from './rig.ts';

const on = (actuator: string): Effect => ({ do: 'command', actuator, on: true, leaseMs: 3000 });
const off = (actuator: string): Effect => ({ do: 'command', actuator, on: false, leaseMs: 0 });
const record: Effect = { do: 'record', about: 'phase', words: message('told-before', { what: 'moved' }) };

function rooms(keepsState = true) {
  const went: string[] = [];
  /** After how many messages they were handed to the kernel. */
  const flushes: number[] = [];
  const envelopes: Envelope[] = [];
  const saves: { state: unknown; finish: (durable: boolean) => void }[] = [];
  const log = listLog();
  const now = { ms: 0, proven: true };
  const outbox = new Outbox({
    plant,
    topics: topicsOf(plant.id),
    boot: 'b1',
    own: ownCommands('b1'),
    link: {
      flush: () => {
        flushes.push(went.length);
      },
      isProven: () => now.proven,
      publish: (envelope) => {
        went.push(`${envelope.topic} ${envelope.payload}`);
        envelopes.push(envelope);
        return true;
      },
    },
    nowMs: () => now.ms,
    save: keepsState ? (state) => new Promise((finish) => saves.push({ state, finish })) : null,
    log,
  });
  const durable = async (isDurable = true) => {
    saves.shift()?.finish(isDurable);
    await new Promise((resolve) => setImmediate(resolve));
  };
  return { outbox, went, flushes, envelopes, saves, durable, now, lines: log.lines };
}

const FILL_ON = 'rig/fill/cmd {"on":true,"for_ms":3000}';
const FILL_OFF = 'rig/fill/cmd {"on":false}';

describe('off first, on after it is durable', () => {
  it('`off` is on the wire before the state is saved', () => {
    const { outbox, went, saves } = rooms();
    void outbox.send({ n: 1 }, [on('fill')]);
    expect(saves).toHaveLength(1);
    void outbox.send({ n: 2 }, [off('fill')]);
    expect(went).toEqual([FILL_OFF]);
  });

  it('`off` is handed to the kernel before reports, and before the turn goes on', () => {
    const { outbox, went, flushes } = rooms();
    void outbox.send({}, [off('fill'), record, off('transfer')]);
    expect(went).toHaveLength(3);
    expect(flushes).toEqual([2]);
    outbox.offToEverything();
    expect(flushes).toEqual([2, went.length]);
    void outbox.send({}, [record]);
    expect(flushes).toHaveLength(2);
  });

  it('`on` is on the wire only when the state that contains it is durable', async () => {
    const { outbox, went, durable } = rooms();
    void outbox.send({ n: 1 }, [on('fill')]);
    expect(went).toEqual([]);
    await durable();
    expect(went).toEqual([FILL_ON]);
  });

  it('within one step `off` goes first, then reports, then `on`, whatever their order', async () => {
    const { outbox, went, durable } = rooms();
    void outbox.send({}, [on('transfer'), record, on('fill')]);
    await durable();
    went.length = 0;
    const sent = outbox.send({}, [on('supply'), record, off('fill'), off('transfer')]);
    await durable();
    await sent;
    expect(went.map((line) => line.split(' ')[0])).toEqual([
      'rig/fill/cmd',
      'rig/transfer/cmd',
      `vatwarden/${plant.id}/record`,
      'rig/supply/cmd',
    ]);
  });

  it('an `on` that waits for the disk is void when an `off` comes meanwhile', async () => {
    const { outbox, went, durable } = rooms();
    void outbox.send({ n: 1 }, [on('fill')]);
    void outbox.send({ n: 2 }, [off('fill')]);
    await durable();
    await durable();
    expect(went).toEqual([FILL_OFF]);
  });

  it('an `on` is not sent when its state could not be saved, and the log says so', async () => {
    const { outbox, went, durable, lines } = rooms();
    void outbox.send({}, [on('fill')]);
    await durable(false);
    expect(went).toEqual([]);
    expect(lines).toMatchObject([
      { event: 'command-withheld', fields: { actuator: 'fill', durable: false } },
    ]);
  });

  it('an `on` is not sent when the disk took too long: what allowed it is history', async () => {
    const { outbox, went, durable, now } = rooms();
    void outbox.send({}, [on('fill')]);
    now.ms = LIMITS.onMayWaitMs + 1;
    await durable();
    expect(went).toEqual([]);
  });

  it('renewing a lease waits for no disk: a state in which it is on is durable already', async () => {
    const { outbox, went, saves, durable, now } = rooms();
    void outbox.send({}, [on('fill')]);
    await durable();
    now.ms = 1000;
    void outbox.send({}, [on('fill')]);
    expect(went).toEqual([FILL_ON, FILL_ON]);
    expect(saves).toEqual([]);
  });

  it('after an `off` it must be durable anew', async () => {
    const { outbox, went, durable } = rooms();
    void outbox.send({}, [on('fill')]);
    await durable();
    void outbox.send({}, [off('fill')]);
    void outbox.send({}, [on('fill')]);
    expect(went).toEqual([FILL_ON, FILL_OFF]);
    await durable();
    expect(went).toEqual([FILL_ON, FILL_OFF]);
    await durable();
    expect(went).toEqual([FILL_ON, FILL_OFF, FILL_ON]);
  });

  it('a renewal while the first save is still under way waits for a save of its own', async () => {
    const { outbox, went, saves, durable } = rooms();
    void outbox.send({}, [on('fill')]);
    void outbox.send({}, [on('fill')]);
    expect(went).toEqual([]);
    expect(saves).toHaveLength(2);
    await durable();
    await durable();
    expect(went).toEqual([FILL_ON]);
  });

  it('a station that keeps no state waits for nothing', () => {
    const { outbox, went } = rooms(false);
    void outbox.send({}, [on('fill')]);
    expect(went).toEqual([FILL_ON]);
  });

  it('records are saved at once, mere readings now and then', () => {
    const { outbox, saves, now } = rooms();
    void outbox.send({}, [record]);
    expect(saves).toHaveLength(1);
    void outbox.send({}, []);
    expect(saves).toHaveLength(1);
    now.ms = LIMITS.saveEveryMs;
    void outbox.send({}, []);
    expect(saves).toHaveLength(2);
  });
});

describe('what a command carries', () => {
  it('R2: no `on` goes over a link that is not proven, but every `off` is tried', () => {
    const { outbox, went, now, lines } = rooms(false);
    now.proven = false;
    void outbox.send({}, [on('fill'), off('drain')]);
    expect(went).toEqual(['rig/drain/cmd OFF']);
    expect(lines).toMatchObject([{ event: 'command-sent' }, { event: 'command-withheld' }]);
  });

  it('R3, R4, R7: QoS 1, never retained, a rising sequence in the signature, an expiry only for `on`', () => {
    const { outbox, envelopes } = rooms(false);
    void outbox.send({}, [on('fill'), on('drain')]);
    void outbox.send({}, [off('fill')]);
    expect(envelopes.every(({ qos, retain }) => qos === 1 && !retain)).toBe(true);
    expect(envelopes.map(({ sender }) => sender)).toEqual(['b1/1', 'b1/2', 'b1/3']);
    expect(envelopes.map(({ expiryS }) => expiryS)).toEqual([3, 3, undefined]);
    expect(envelopes.map(({ nowOrNever }) => nowOrNever)).toEqual([true, true, undefined]);
  });

  it('R5: `off` to everything is `off` to everything', () => {
    const { outbox, went } = rooms();
    outbox.offToEverything();
    expect(new Set(went.map((line) => line.split(' ')[0]))).toEqual(
      new Set(Object.values(plant.actuators).map(({ command }) => command.topic)),
    );
  });
});

const FULL = message('told-before', { what: 'full' });
const LOOK = message('told-before', { what: 'look' });

describe('what stands on the broker', () => {
  const alarm = (state: 'unacknowledged' | 'normal'): Effect => ({
    do: 'alarm',
    alarm: 'I-02/fresh',
    state,
    priority: 'urgent',
    words: FULL,
    response: LOOK,
  });
  const topic = `vatwarden/${plant.id}/alarm/I-02-fresh`;

  it('an alarm is retained while it stands and cleared with nothing when it is over', () => {
    const { outbox, envelopes } = rooms(false);
    void outbox.send({}, [alarm('unacknowledged'), alarm('normal')]);
    expect(envelopes.map(({ topic: to, payload, retain }) => [to, payload, retain])).toEqual([
      [
        topic,
        JSON.stringify({
          ...{ state: 'unacknowledged', priority: 'urgent', text: 'Full. look' },
          message: { text: 'full', ...FULL },
          response: { text: 'look', ...LOOK, steps: [{ step: 'plain', text: 'look', ...LOOK }] },
        }),
        true,
      ],
      [topic, '', true],
    ]);
  });

  it('after a connect everything that stands is said again, and what is over is not', () => {
    const { outbox, went } = rooms(false);
    const task = {
      task: 'look' as const,
      vessel: 'mixing',
      massKg: null,
      message: { text: 'look', ...LOOK },
    };
    outbox.stand(
      [
        {
          alarm: 'old',
          state: 'acknowledged',
          priority: 'soon',
          message: { text: 'w' },
          response: { text: 'm', steps: [] },
        },
      ],
      task,
    );
    void outbox.send({}, [alarm('unacknowledged'), { do: 'ask', vessel: 'mixing', task: null }]);
    went.length = 0;
    outbox.announce();
    expect(went.map((line) => line.split(' ')[0])).toEqual([
      `vatwarden/${plant.id}/online`,
      `vatwarden/${plant.id}/alarm/old`,
      topic,
    ]);
    expect(outbox.isStanding(topic)).toBe(true);
  });
});
