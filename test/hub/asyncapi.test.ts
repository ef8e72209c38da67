// The AsyncAPI document: valid by the standard's own schema, and true of everything that goes over the wire in a day.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { Ajv, type ValidateFunction } from 'ajv';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { beforeAll, describe, expect, it } from 'vitest';
import { Bridge } from '../../src/bridge/bridge.ts';
import { initial } from '../../src/control/process/initial.ts';
import { STAGES } from '../../src/control/process/stages.ts';
import type { State } from '../../src/control/process/state.ts';
import { asyncapiOf } from '../../src/hub/asyncapi.ts';
import { wiringOf } from '../../src/hub/catalogue.ts';
import type { JsonSchema } from '../../src/hub/channel.ts';
import { startWater, type Water } from '../../src/simulate/station-water.ts';
import { device as ear, listLog, machine, until } from '../bridge/rig.ts';
import { embedded } from '../tools/brokers.ts';
import { CORE, startHubSide } from './rig.ts';
import { EXAMPLES, loaded, stationFile } from './stations.ts';

const STANDARD = createRequire(import.meta.url)('@asyncapi/specs/schemas/3.1.0.json') as object;
const standard = new Ajv({ strict: false, validateFormats: false, meta: false }).compile(STANDARD);

const documentOf = (name: (typeof EXAMPLES)[number]) => {
  const { plant, station } = loaded(stationFile(name));
  return asyncapiOf(wiringOf(plant, station));
};

describe.each(EXAMPLES)('the document of %s', (name) => {
  const document = documentOf(name);

  it('fits the schema of AsyncAPI 3.1.0', () => {
    standard(document);
    expect(standard.errors).toBeNull();
  });

  it('is refused by that schema when an operation has no action', () => {
    const spoilt = structuredClone(document) as { operations: Record<string, { action?: string }> };
    const [first] = Object.values(spoilt.operations);
    delete first?.action;
    expect(standard(spoilt)).toBe(false);
  });

  it('has no reference to nothing', () => {
    const references = [...JSON.stringify(document).matchAll(/"\$ref":"([^"]+)"/gu)].map(
      ([, to]) => to ?? '',
    );
    expect(references.length).toBeGreaterThan(100);
    for (const reference of new Set(references)) {
      const keys = reference.slice(2).split('/');
      const found = keys.reduce<unknown>(
        (here, key) => (here as Record<string, unknown> | undefined)?.[key],
        document,
      );
      expect([reference, typeof found]).toEqual([reference, 'object']);
    }
  });

  it('says each address once for each of our two accounts', () => {
    const channels = Object.values(
      (document as unknown as { channels: Record<string, { address: string; servers: object[] }> }).channels,
    );
    const keys = channels.map(({ address, servers }) => `${address} ${JSON.stringify(servers)}`);
    expect(new Set(keys).size).toBe(keys.length);
  });
});

interface Judge {
  /** Null where some message of some channel with that topic fits. */
  readonly objection: (topic: string, payload: Buffer) => string | null;
}

/** Written against the document alone, as a stranger would. */
function judgeOf(document: JsonSchema): Judge {
  const ajv = new Ajv({ strict: false, allErrors: false });
  // To a JSON Schema compiler `id` is a word of an older draft.
  const { id: _, ...schemas } = document;
  ajv.addSchema(schemas, 'document');
  type Entry = { address: string; messages: Record<string, { contentType: string }> };
  const channels = Object.entries(document.channels as Record<string, Entry>).map(
    ([id, { address, messages }]) => ({
      fits: new RegExp(
        `^${address.replaceAll(/[.$^*+?()[\]|\\]/gu, '\\$&').replaceAll(/\{\w+\}/gu, '[^/]+')}$`,
        'u',
      ),
      messages: Object.entries(messages).map(([message, { contentType }]) => ({
        isText: contentType === 'text/plain',
        validate: ajv.compile({
          $ref: `document#/channels/${id}/messages/${message}/payload`,
        }) as ValidateFunction,
      })),
    }),
  );
  return {
    objection: (topic, payload) => {
      const here = channels.filter(({ fits }) => fits.test(topic));
      if (here.length === 0) return `no channel has the topic ${topic}`;
      const fits = here.some(({ messages }) =>
        messages.some(({ isText, validate }) => {
          if (isText) return validate(payload.toString());
          try {
            return validate(JSON.parse(payload.toString())) === true;
          } catch {
            return false;
          }
        }),
      );
      return fits ? null : `no message of ${topic} fits ${payload.toString().slice(0, 300)}`;
    },
  };
}

describe('a full cycle of the Marram Point station', () => {
  const { plant, station } = loaded({
    ...stationFile('marram-point'),
    announce: {
      homie: { log: 'info' },
      templates: [
        {
          each: 'property',
          topic: 'elsewhere/$identifier',
          payload: { label: '$label', topic: '$valueTopic' },
        },
      ],
    },
  });
  const document = asyncapiOf(wiringOf(plant, station));
  const heard = new Map<string, Set<string>>();
  let ended = '';

  beforeAll(async () => {
    const broker = await embedded();
    const url = `mqtt://127.0.0.1:${broker.port}`;
    const listener = await ear(broker.port, 4);
    listener.client.on('message', (topic, payload) => {
      const said = heard.get(topic) ?? new Set();
      if (said.size < 500) said.add(payload.toString());
      heard.set(topic, said);
      listener.heard.length = 0;
    });
    const bridge = new Bridge<State>({
      plant,
      core: CORE,
      state: initial(plant),
      settings: {
        address: { protocol: 'mqtt', host: '127.0.0.1', port: broker.port, path: '' },
        version: 4,
        clientId: 'vatwarden-marram-point',
      },
      time: 'topic',
      boot: 'b0071234',
      machine,
      chance: () => 0.5,
      save: null,
      clearRetained: true,
      log: listLog(),
    });
    bridge.news.subscribe({ error: () => {} });
    const serving = bridge.run();
    serving.catch(() => {});
    const side = startHubSide(plant, broker.port, 4, { announce: station.announce });
    const records = () => [...(heard.get(`vatwarden/${plant.id}/record`) ?? [])].join('\n');
    let doneMs = Number.POSITIVE_INFINITY;
    const water: Water = startWater({
      plant,
      broker: url,
      mqtt: '3.1.1',
      pace: 'lock-step',
      seed: 1,
      forMs: 24 * 3_600_000,
      onStep: (_, { world }) => {
        const isDone = records().includes('batch running, ready') && records().includes('running, supply');
        if (isDone) doneMs = Math.min(doneMs, world.nowMs);
        // What is in the pipes comes to rest first, or the ledger would not add up.
        if (world.nowMs > doneMs + 120_000) water.stop();
      },
    });
    const { ok } = await water.done;
    await until(
      () => heard.has(`homie/5/${plant.id}/$alert/a-02-task`) || heard.has(`homie/5/${plant.id}/$log/info`),
      'the Homie side',
      300_000,
    );
    await listener.say(
      `vatwarden/${plant.id}/request`,
      JSON.stringify({ id: 'last', request: 'hold', unit: 'all' }),
    );
    await until(() => heard.has(`vatwarden/${plant.id}/answer`), 'an answer');
    await side.close();
    await bridge.stop(0);
    await listener.close();
    await broker.close();
    ended = ok ? 'well' : 'badly';
  });

  it('went through a batch and an exchange', () => {
    const phases = [...(heard.get(`vatwarden/${plant.id}/record`) ?? [])].join('\n');
    expect(ended).toBe('well');
    for (const word of ['mix/salt', 'mix/measure', 'ready', 'water change of system running'])
      expect(phases).toContain(word);
  });

  it('says on the wire nothing that the document does not have: every topic and every payload', () => {
    const judge = judgeOf(document);
    const objections = [...heard].flatMap(([topic, payloads]) =>
      [...payloads].flatMap((payload) => judge.objection(topic, Buffer.from(payload)) ?? []),
    );
    expect(objections.slice(0, 5)).toEqual([]);
    expect(heard.size).toBeGreaterThan(200);
  });

  it('the judge objects to a topic, a word and a field that are not in it', () => {
    const judge = judgeOf(document);
    expect(judge.objection('vatwarden/marram-point/else', Buffer.from(''))).toContain('no channel');
    expect(judge.objection('vatwarden/marram-point/online', Buffer.from('on line'))).toContain('no message');
    expect(
      judge.objection(
        'vatwarden/marram-point/answer',
        Buffer.from('{"id":"1","accepted":true,"message":{"text":""},"more":1}'),
      ),
    ).toContain('no message');
    expect(
      judge.objection('marram/pumps/transfer/set', Buffer.from('{"output":true,"seconds":-3,"number":1}')),
    ).toContain('no message');
  });
});

it('The stages of a batch on the wire are those of their table, in its order', () => {
  const file = JSON.parse(readFileSync(new URL('../../schemas/wire.schema.json', import.meta.url), 'utf8'));
  const { batch } = file.$defs.Status.properties.units.properties;
  expect(batch.properties.stage.enum).toEqual(Object.keys(STAGES));
});

it('The definitions of the wire are those that describe() makes: a field more or less there fails here', () => {
  const { plant } = loaded(stationFile('marram-point'));
  const file = JSON.parse(readFileSync(new URL('../../schemas/wire.schema.json', import.meta.url), 'utf8'));
  const ajv = new Ajv2020({ strict: false });
  ajv.addSchema(file, 'wire');
  const fits = ajv.compile({ $ref: 'wire#/$defs/Status' });
  const status = CORE.describe(plant, initial(plant));
  expect(fits(status)).toBe(true);
  expect(fits({ ...status, more: 1 })).toBe(false);
  const { unknown: _, ...less } = status;
  expect(fits(less)).toBe(false);
});
