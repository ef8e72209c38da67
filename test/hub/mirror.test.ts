// The mirror, with a broker made of paper. What was announced is remembered across starts, whatever happens to the file; and a disk that is full takes nothing off
// the hub.
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { HubConnection } from '../../src/hub/connection.ts';
import { memoryIn } from '../../src/hub/memory.ts';
import { Mirror } from '../../src/hub/mirror.ts';
import { deviceOf } from '../../src/hub/model.ts';
import type { Publish } from '../../src/hub/view.ts';
import { until } from '../bridge/rig.ts';
import { plantOf, shownOf } from './stations.ts';

let directory = '';
beforeEach(() => {
  directory = mkdtempSync(join(tmpdir(), 'vatwarden-memory-'));
});
afterEach(() => rmSync(directory, { recursive: true, force: true }));

describe('the file', () => {
  it('holds the topics for the next start, each once, and leaves nothing beside it', () => {
    memoryIn(join(directory, 'state')).keep(['b', 'a', 'b']);
    expect(memoryIn(join(directory, 'state')).topics()).toEqual(['a', 'b']);
    expect(readdirSync(join(directory, 'state'))).toEqual(['announced.json']);
  });

  it('is not written again where nothing changed', () => {
    const memory = memoryIn(directory);
    memory.keep(['a']);
    writeFileSync(join(directory, 'announced.json'), 'touched');
    memory.keep(['a']);
    expect(readFileSync(join(directory, 'announced.json'), 'utf8')).toBe('touched');
  });

  it.each([
    '',
    '{',
    '{"version":1}',
    '{"version":2,"topics":["a"]}',
    '[]',
    '{"version":1,"topics":[1,"a",null]}',
  ])('that holds %j is no reason to fail', (text) => {
    writeFileSync(join(directory, 'announced.json'), text);
    expect(memoryIn(directory).topics()).toEqual(text.includes('[1') ? ['a'] : []);
  });
});

it('What is about to be said is remembered before it is said', async () => {
  const plant = plantOf('one-vat');
  const device = deviceOf(plant);
  const memory = memoryIn(directory);
  const surprises: string[] = [];
  const connection: HubConnection = {
    publish: async ({ topic, payload, retain }: Publish) => {
      if (retain && payload !== '' && ready && !memoryIn(directory).topics().includes(topic))
        surprises.push(topic);
    },
    subscribe: async () => {},
    unsubscribe: async () => {},
    close: async () => {},
    drop: () => {},
  };
  let ready = false;
  const mirror = new Mirror({
    device,
    announcements: [{ topic: 'x/y', payload: '{}' }],
    memory,
    troubled: () => {},
    forgot: () => {},
  });
  await mirror.begin(connection);
  ready = true;
  mirror.show(shownOf(plant));
  await until(() => mirror.isReady(), 'ready');
  expect(surprises).toEqual([]);
  expect(memory.topics()).toEqual(
    expect.arrayContaining(['x/y', `${device.root}/$state`, `${device.root}/batch/procedure`]),
  );
});

it('A disk that is full is told of, and the device is ready all the same', async () => {
  const plant = plantOf('one-vat');
  const words: string[] = [];
  const full = {
    topics: () => [],
    keep: () => {
      throw new Error('ENOSPC: no space left on device');
    },
  };
  const connection: HubConnection = {
    publish: async () => {},
    subscribe: async () => {},
    unsubscribe: async () => {},
    close: async () => {},
    drop: () => {},
  };
  const mirror = new Mirror({
    device: deviceOf(plant),
    announcements: [],
    memory: full,
    troubled: (trouble) => words.push(`trouble ${trouble}`),
    forgot: (why) => words.push(why),
  });
  await mirror.begin(connection);
  mirror.show(shownOf(plant));
  await until(() => mirror.isReady(), 'ready');
  expect(new Set(words)).toEqual(new Set(['ENOSPC: no space left on device']));
});

it('Two messages in one gulp of the socket are both shown: the second does not wait for a third', async () => {
  const plant = plantOf('one-vat');
  const said: string[] = [];
  const connection: HubConnection = {
    publish: async ({ topic, payload }: Publish) => {
      if (topic.endsWith('/$state')) said.push(payload);
    },
    subscribe: async () => {},
    unsubscribe: async () => {},
    close: async () => {},
    drop: () => {},
  };
  const mirror = new Mirror({
    device: deviceOf(plant),
    announcements: [],
    memory: memoryIn(directory),
    troubled: () => {},
    forgot: () => {},
  });
  await mirror.begin(connection);
  mirror.show(null);
  mirror.show(shownOf(plant));
  await until(() => mirror.isReady(), 'ready');
  expect(said).toEqual(['init', 'init', 'ready']);
});
