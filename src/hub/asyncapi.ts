// The catalogue as an AsyncAPI 3 document: for whoever writes the other end.
//
// Payloads are JSON Schema. What is shared with the schemas of this project is put under components; a reference inside a
// schema file (`#/$defs/Task`) becomes one inside the document.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Wiring } from './catalogue.ts';
import type { Channel, JsonSchema, Message } from './channel.ts';

const { version: RELEASE } = createRequire(import.meta.url)('../../package.json') as { version: string };

/** Of the AsyncAPI bindings for MQTT that the document uses. */
const BINDING = '0.2.0';

interface SchemaFile extends JsonSchema {
  readonly $defs: Readonly<Record<string, JsonSchema>>;
}

export function asyncapiOf(
  { plant, device, channels }: Wiring,
  broker = 'mqtt://localhost:1883',
): JsonSchema {
  return {
    asyncapi: '3.1.0',
    id: `urn:vatwarden:station:${plant.id}`,
    info: {
      title: `${plant.name} on MQTT`,
      version: RELEASE,
      description:
        `What Vatwarden says and listens to for the station ${plant.id}: its own topics, the topics of the devices that ` +
        'its station file names, and the station as a Homie 5 device. `send` is what Vatwarden sends.',
      license: { name: 'MIT' },
    },
    defaultContentType: 'application/json',
    servers: {
      service: server(broker, `vatwarden-${plant.id}`, `vatwarden/${plant.id}/online`, 'offline', 1),
      homie: server(broker, `vatwarden-${plant.id}-homie`, `${device.root}/$state`, 'lost', device.qos),
    },
    channels: Object.fromEntries(channels.map((channel) => [channel.id, channelObject(channel)])),
    operations: Object.fromEntries(channels.flatMap(operations)),
    components: { schemas: sharedSchemas() },
  };
}

function server(
  broker: string,
  clientId: string,
  willTopic: string,
  willMessage: string,
  qos: 1 | 2,
): JsonSchema {
  const { protocol, host } = new URL(broker);
  return {
    host,
    protocol: protocol === 'mqtts:' || protocol === 'wss:' ? 'secure-mqtt' : 'mqtt',
    description: 'Which broker it is, is said when the service is started.',
    bindings: {
      mqtt: {
        clientId,
        cleanSession: true,
        keepAlive: clientId.endsWith('-homie') ? 10 : 5,
        sessionExpiryInterval: 0,
        lastWill: { topic: willTopic, qos, message: willMessage, retain: true },
        bindingVersion: BINDING,
      },
    },
  };
}

function channelObject({ address, words, side, messages }: Channel): JsonSchema {
  const names = [...address.matchAll(/\{(\w+)\}/gu)].map(([, name]) => name ?? '');
  const parameters = Object.fromEntries(
    names.map((name) => [name, { description: PARAMETERS[name] ?? name }]),
  );
  return {
    address,
    description: words,
    servers: [{ $ref: `#/servers/${side}` }],
    ...(names.length === 0 ? {} : { parameters }),
    messages: Object.fromEntries(messages.map((message) => [message.name, messageObject(message)])),
  };
}

const PARAMETERS: Readonly<Record<string, string>> = {
  alarm: 'The id of the alarm; what has a stroke in it has a hyphen here.',
  vessel: 'The id of a vessel of the station file.',
  level: 'error, warn or info.',
};

function messageObject({ name, contentType, payload }: Message): JsonSchema {
  return { name, contentType, payload };
}

function operations(channel: Channel): readonly (readonly [string, JsonSchema])[] {
  const { id, does, qos, retain, expiresS, messages } = channel;
  return does.map((action) => [
    `${action}.${id}`,
    {
      action,
      channel: { $ref: `#/channels/${id}` },
      messages: messages.map(({ name }) => ({ $ref: `#/channels/${id}/messages/${name}` })),
      bindings: {
        mqtt: {
          qos,
          ...(action === 'send' ? { retain } : {}),
          ...(action === 'send' && expiresS !== undefined ? { messageExpiryInterval: expiresS } : {}),
          bindingVersion: BINDING,
        },
      },
    },
  ]);
}

/** The definitions of both schema files, each under its own name, and the request as a whole. */
function sharedSchemas(): Readonly<Record<string, JsonSchema>> {
  const wire = schemaFile('wire');
  const request = schemaFile('request');
  const { $schema: _, $id: __, $defs: ___, title: ____, ...whole } = request;
  return {
    ...renamed(wire.$defs, (name) => name),
    ...renamed(request.$defs, requestName),
    Request: rewritten(whole, requestName) as JsonSchema,
  };
}

const requestName = (name: string): string => `request-${name}`;

function renamed(
  definitions: Readonly<Record<string, JsonSchema>>,
  nameOf: (name: string) => string,
): Record<string, JsonSchema> {
  return Object.fromEntries(
    Object.entries(definitions).map(([name, schema]) => [
      nameOf(name),
      rewritten(schema, nameOf) as JsonSchema,
    ]),
  );
}

function rewritten(value: unknown, nameOf: (name: string) => string): unknown {
  if (Array.isArray(value)) return value.map((item) => rewritten(item, nameOf));
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value).map(([key, inner]) =>
      key === '$ref' && typeof inner === 'string'
        ? [
            key,
            inner.replace(/^#\/\$defs\/(.+)$/u, (_, name: string) => `#/components/schemas/${nameOf(name)}`),
          ]
        : [key, rewritten(inner, nameOf)],
    ),
  );
}

function schemaFile(name: 'wire' | 'request'): SchemaFile {
  return JSON.parse(readFileSync(new URL(`../../schemas/${name}.schema.json`, import.meta.url), 'utf8'));
}
