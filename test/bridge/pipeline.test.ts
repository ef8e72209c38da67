import { Subject } from 'rxjs';
import { describe, expect, it } from 'vitest';
import type { Beat } from '../../src/bridge/clockwork.ts';
import { codecOf } from '../../src/bridge/codec.ts';
import { inboxOf } from '../../src/bridge/inbox.ts';
import type { News } from '../../src/bridge/news.ts';
import { type Turn, turnsOf } from '../../src/bridge/pipeline.ts';
import { topicsOf } from '../../src/bridge/wire-out.ts';
import type { Event, Input } from '../../src/control/guard/types.ts';
import { type FakeState, fakeCore } from './fake-core.ts';
import { plant } from './rig.ts';

function line(read: (news: News) => readonly Input[]) {
  const news = new Subject<News>();
  const beats = new Subject<Beat>();
  const events: Event[] = [];
  const turns: Turn<FakeState>[] = [];
  const refused: Input[] = [];
  const failed: unknown[] = [];
  const core = {
    ...fakeCore,
    step: (...given: Parameters<typeof fakeCore.step>) => {
      events.push(given[2]);
      return fakeCore.step(...given);
    },
  };
  turnsOf<FakeState>({
    news,
    read,
    refuse: (input) => refused.push(input),
    inbox: inboxOf(),
    clockwork: {
      nowMs: () => 0,
      beats: (arrived) => {
        arrived.subscribe();
        return beats;
      },
    },
    plant,
    core,
    state: fakeCore.initial(plant),
    send: (turn) => turns.push(turn),
  }).subscribe({ error: (error) => failed.push(error) });
  const beat = (more: Partial<Beat> = {}) =>
    beats.next({ elapsedMs: 250, tick: true, clock: null, step: null, ...more });
  return { news, beat, events, turns, refused, failed };
}

const float: Input = { type: 'reading', sensor: 'fresh-high', value: true, live: true };

describe('the pipeline', () => {
  it('what arrived between two beats makes one event, and an event is made without anything, too', () => {
    const { news, beat, events } = line(() => [float]);
    news.next({ news: 'up' });
    news.next({ news: 'up' });
    beat();
    beat({ tick: false, elapsedMs: 7 });
    expect(events).toEqual([
      { elapsedMs: 250, tick: true, inputs: [float] },
      { elapsedMs: 7, tick: false, inputs: [] },
    ]);
  });

  it('R13: the proof of the link and the time of day come first, in whatever order a broker carried them', () => {
    const inputs: Input[] = [float, { type: 'echo' }];
    const { news, beat, events } = line(() => inputs);
    const clock = { type: 'clock', minuteOfDay: 1, day: 0, trusted: true } as const;
    news.next({ news: 'echo' });
    beat({ clock });
    expect(events[0]?.inputs).toEqual([{ type: 'echo' }, clock, float]);
  });

  it('every state follows from the one before it', () => {
    const { news, beat, turns } = line(() => [{ type: 'link', up: true }]);
    beat();
    news.next({ news: 'up' });
    beat();
    beat();
    expect(turns.map(({ state }) => [state.isUp, state.elapsedMs])).toEqual([
      [false, 250],
      [true, 500],
      [true, 750],
    ]);
  });

  it('an exception of the core ends the line and reaches whoever must switch everything off', () => {
    const { news, beat, turns, failed } = line(() => [
      { type: 'request', id: 'x', request: { ask: 'abort', unit: 'all' } },
    ]);
    news.next({ news: 'up' });
    beat();
    beat();
    expect(turns).toEqual([]);
    expect(failed).toMatchObject([{ message: 'the core contradicts itself' }]);
  });
});

describe('what the service listens to', () => {
  it('R21: wildcards only under its own prefix', () => {
    const { leftBehind } = topicsOf(plant.id);
    const filters = [...codecOf(plant).topics, ...leftBehind];
    const wild = filters.filter((filter) => /[+#]/u.test(filter));
    expect(wild.length).toBeGreaterThan(0);
    expect(wild.every((filter) => filter.startsWith(`vatwarden/${plant.id}/`))).toBe(true);
  });

  it('an id with a slash or a wildcard in it stays one level of a topic', () => {
    expect(topicsOf('s').alarm('I-02/fresh')).toBe('vatwarden/s/alarm/I-02-fresh');
    expect(topicsOf('s').alarm('a+b#c')).toBe('vatwarden/s/alarm/a-b-c');
  });
});
