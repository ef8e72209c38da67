import { describe, expect, it } from 'vitest';
import {
  arrival,
  departure,
  filtersOf,
  pause,
  reconfiguration,
  removal,
  type Step,
} from '../../src/hub/life.ts';
import { deviceOf } from '../../src/hub/model.ts';
import { pictureOf, stateTopic } from '../../src/hub/view.ts';
import { device, EXAMPLES, plantOf, shownOf } from './stations.ts';

const plant = plantOf('marram-point');
const marram = deviceOf(plant);
const shown = shownOf(plant);

/** One word a step: what it does to whom. */
const told = (steps: readonly Step[]) =>
  steps.map((step) =>
    step.do === 'publish'
      ? `${step.message.topic.replace(`${marram.root}/`, '')}=${step.message.payload.slice(0, 12)}`
      : step.do,
  );
const placeOf = (steps: readonly Step[], matches: (text: string) => boolean) =>
  told(steps).findIndex(matches);

describe('arriving', () => {
  const steps = arrival(marram, shown);

  it('S3: it is init, then the description, then every value, then the subscriptions, then ready', () => {
    const words = told(steps);
    expect(words[0]).toBe('$state=init');
    expect(words[1]).toMatch(/^\$description=/u);
    expect(words.slice(2, -2).every((word) => !word.startsWith('$state') && word !== 'subscribe')).toBe(true);
    expect(words.slice(-2)).toEqual(['subscribe', '$state=ready']);
  });

  it('S2: ready comes after every retained value and target, and after the subscriptions', () => {
    const ready = placeOf(steps, (word) => word === '$state=ready');
    expect(ready).toBe(steps.length - 1);
    for (const { topic, targetTopic, retained } of marram.properties) {
      const place = (of: string) =>
        steps.findIndex((step) => step.do === 'publish' && step.message.topic === of);
      if (retained) expect(place(topic)).toBeGreaterThan(0);
      if (targetTopic !== null) expect(place(targetTopic)).toBeLessThan(place(topic));
    }
  });

  it('C3: each property that uses a target has one by the time of ready', () => {
    const targets = marram.properties.flatMap(({ targetTopic }) => targetTopic ?? []);
    expect(targets.length).toBeGreaterThan(0);
    for (const target of targets) {
      const step = steps.find((one) => one.do === 'publish' && one.message.topic === target);
      expect(step).toMatchObject({
        message: { payload: expect.stringMatching(/^(true|false)$/u), retain: true },
      });
    }
  });

  it('without a word from the station it stays init and subscribes to nothing', () => {
    expect(told(arrival(marram, null))).toEqual(['$state=init', expect.stringMatching(/^\$description=/u)]);
  });

  it('S10: what an earlier run left behind and is not ours any more is cleared before ready', () => {
    const gone = `${marram.root}/route-old/running`;
    const kept = `${marram.root}/station/link`;
    const again = arrival(marram, shown, [gone, kept, stateTopic(marram)]);
    const cleared = again.filter((step) => step.do === 'publish' && step.message.topic === gone);
    expect(cleared).toEqual([{ do: 'publish', message: { topic: gone, payload: '', retain: true, qos: 2 } }]);
    expect(told(again).filter((word) => word === 'station/link=')).toEqual([]);
    expect(told(again).filter((word) => word.startsWith('$state'))).toEqual(['$state=init', '$state=ready']);
  });

  it('S9: a tree under another domain is removed, its state first', () => {
    const old = [
      'water/5/marram-point/$description',
      'water/5/marram-point/$state',
      'water/5/marram-point/station/link',
    ];
    const cleared = arrival(marram, shown, old).flatMap((step) =>
      step.do === 'publish' && step.message.topic.startsWith('water/') ? [step.message.topic] : [],
    );
    expect(cleared).toEqual([old[1], old[0], old[2]]);
  });
});

describe('states', () => {
  const everything = [
    ...arrival(marram, shown),
    ...arrival(marram, null),
    ...departure(marram),
    ...pause(marram),
    ...reconfiguration(marram, pictureOf(marram, shown), deviceOf({ ...plant, heaters: {} }), shown),
  ];
  const said = everything.flatMap((step) =>
    step.do === 'publish' && step.message.topic.endsWith('/$state') ? [step.message.payload] : [],
  );

  it('S5: it never sleeps', () => {
    expect(said).not.toContain('sleeping');
  });

  it('S6: it never says lost by its own hand', () => {
    expect(said).not.toContain('lost');
    expect(new Set(said)).toEqual(new Set(['init', 'ready', 'disconnected']));
  });

  it('S4: leaving is one message: disconnected, stored', () => {
    expect(departure(marram)).toEqual([
      {
        do: 'publish',
        message: { topic: `${marram.root}/$state`, payload: 'disconnected', retain: true, qos: 2 },
      },
    ]);
  });

  /** The table of the convention for the state of a device, in a tree or not. */
  const effective = (own: string, root: string | null) => (root === 'lost' ? 'lost' : own);

  it('S8: a device without a root is in its own state, a child of a lost root is lost', () => {
    for (const own of ['init', 'ready', 'disconnected', 'lost']) {
      expect(effective(own, null)).toBe(own);
      expect(effective(own, 'ready')).toBe(own);
      expect(effective(own, 'lost')).toBe('lost');
    }
    // The station is a root and has no children, so the first line is the one that counts for it.
    expect(JSON.stringify(arrival(marram, shown))).not.toMatch(/\\"(root|parent|children)\\":/u);
  });
});

describe('changing and leaving for good', () => {
  const before = pictureOf(marram, shown);
  const fewer = deviceOf({ ...plant, heaters: {} });

  it('S7: another description goes out only between init and ready', () => {
    const steps = reconfiguration(marram, before, fewer, shown);
    const words = told(steps);
    expect(words[0]).toBe('$state=init');
    expect(words.at(-1)).toBe('$state=ready');
    const description = words.findIndex((word) => word.startsWith('$description='));
    expect(description).toBeGreaterThan(0);
    expect(description).toBeLessThan(words.length - 1);
  });

  it('S10: properties that are gone are cleared by an empty message, and nothing else is', () => {
    const steps = reconfiguration(marram, before, fewer, shown);
    const cleared = steps.flatMap((step) =>
      step.do === 'publish' && step.message.payload === '' ? [step.message.topic] : [],
    );
    const gone = marram.properties.filter(({ kind }) => kind === 'heater').map(({ topic }) => topic);
    expect(gone.length).toBeGreaterThan(0);
    expect(cleared.toSorted()).toEqual(gone.toSorted());
  });

  it('S7: a property that can no longer be set is no longer listened to', () => {
    const none = deviceOf({ ...plant, process: { ...plant.process, refill: null } });
    const steps = reconfiguration(marram, before, none, shown);
    expect(steps).toContainEqual({
      do: 'unsubscribe',
      filters: [`${marram.root}/refill/ask/set`, `${marram.root}/refill/held/set`],
    });
    expect(steps.findIndex((step) => step.do === 'unsubscribe')).toBeLessThan(
      steps.findIndex((step) => step.do === 'subscribe'),
    );
  });

  it('S9: removing clears the state first, then every other topic, each once', () => {
    const topics = removal(marram, [...before.keys(), stateTopic(marram)]).flatMap((step) =>
      step.do === 'publish' ? [`${step.message.topic} ${step.message.retain} '${step.message.payload}'`] : [],
    );
    expect(topics[0]).toBe(`${marram.root}/$state true ''`);
    expect(topics.slice(1)).toEqual([...before.keys()].map((topic) => `${topic} true ''`));
  });
});

describe('listening', () => {
  it.each(EXAMPLES)(
    'C1: %s subscribes to the set topic of every settable property and to nothing else',
    (name) => {
      const here = device(name);
      const settable = here.properties
        .filter((property) => property.settable)
        .map(({ topic }) => `${topic}/set`);
      expect(filtersOf(here)).toEqual(settable);
      expect(filtersOf(here).filter((filter) => /[+#]/u.test(filter))).toEqual([]);
    },
  );

  it('a broadcast is listened to only where the station file asks for it, and only the one to stop', () => {
    const here = device('one-vat', { homie: { stopOnBroadcast: true } });
    expect(filtersOf(here).filter((filter) => filter.includes('$broadcast'))).toEqual([
      'homie/5/$broadcast/stop',
    ]);
  });
});
