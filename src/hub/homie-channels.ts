// The topics of the Homie tree, and of the messages for other hubs.
import type { Announcement } from './announcements.ts';
import { type Channel, type JsonSchema, json, REMOVED, text } from './channel.ts';
import { boundsOf, valuesOf } from './datatypes.ts';
import type { Device, Property } from './model.ts';

const FLOAT = String.raw`^-?(\d+\.?\d*|\.\d+)([eE]-?\d+)?$`;
const DURATION = String.raw`^PT(\d+H)?(\d+M)?(\d+(\.\d+)?S)?$`;

export function homieChannels(device: Device): readonly Channel[] {
  const { root, qos } = device;
  const own = { side: 'homie', does: ['send'], qos, retain: true } as const;
  return [
    {
      ...own,
      id: 'homie.state',
      address: `${root}/$state`,
      words: 'The state of the device; lost is its will.',
      messages: [text('state', { enum: ['init', 'ready', 'disconnected', 'lost'] })],
    },
    {
      ...own,
      id: 'homie.description',
      address: `${root}/$description`,
      words: 'What nodes and properties there are.',
      messages: [json('description', { type: 'object', required: ['homie', 'version', 'nodes'] })],
    },
    {
      ...own,
      id: 'homie.alert',
      address: `${root}/$alert/{alert}`,
      words: 'An alarm, and what to do about it, in its order.',
      messages: [text('alert', { minLength: 1 }), REMOVED],
    },
    {
      ...own,
      id: 'homie.log',
      address: `${root}/$log/{level}`,
      words: 'What happened, for whoever looks on.',
      qos: 0,
      retain: false,
      messages: [text('line', { minLength: 1 })],
    },
    ...device.properties.flatMap((property) => propertyChannels(property, device)),
    ...(device.stopOnBroadcast ? [broadcast(device)] : []),
    ...(device.discovery === null ? [] : [birth(device.discovery.birth)]),
  ];
}

function broadcast({ domain, qos }: Device): Channel {
  return {
    id: 'homie.broadcast.stop',
    address: `${domain}/5/$broadcast/stop`,
    words: 'Holds every unit, whatever it says.',
    side: 'homie',
    does: ['receive'],
    qos,
    retain: false,
    messages: [text('stop', {})],
  };
}

function birth(address: string): Channel {
  return {
    id: 'discovery.birth',
    address,
    words: 'A hub that reads discovery messages has started: they are sent again.',
    side: 'homie',
    does: ['receive'],
    qos: 1,
    retain: false,
    messages: [text('birth', {})],
  };
}

function propertyChannels(property: Property, { qos }: Device): readonly Channel[] {
  const { node, id, nodeName, name, words, topic, setTopic, targetTopic, retained } = property;
  const own = { side: 'homie', words: `${nodeName}, ${name}: ${words}` } as const;
  const key = `homie.${node}.${id}`;
  const value = text('value', valueSchema(property));
  return [
    {
      ...own,
      id: key,
      address: topic,
      does: ['send'],
      qos: retained ? qos : 0,
      retain: retained,
      messages: retained ? [value, REMOVED] : [value],
    },
    ...(targetTopic === null
      ? []
      : [
          {
            ...own,
            id: `${key}.target`,
            address: targetTopic,
            does: ['send'] as const,
            qos,
            retain: true,
            messages: [value],
          },
        ]),
    ...(setTopic === null
      ? []
      : [
          {
            ...own,
            id: `${key}.set`,
            address: setTopic,
            does: ['receive'] as const,
            qos: retained ? qos : (0 as const),
            retain: false,
            messages: [value],
          },
        ]),
  ];
}

function valueSchema(property: Property): JsonSchema {
  switch (property.datatype) {
    case 'boolean':
      return { enum: ['true', 'false'] };
    case 'enum':
      return { enum: valuesOf(property) };
    case 'integer':
      return { pattern: '^-?\\d+$' };
    case 'duration':
      return { pattern: DURATION };
    case 'string':
      return { minLength: 1, description: 'An empty text is one zero byte.' };
    case 'float': {
      const { least, most, step } = boundsOf(property);
      const said = [
        least === null ? '' : `from ${least}`,
        most === null ? '' : `to ${most}`,
        step === null ? '' : `in steps of ${step}`,
      ];
      const bounds = said.filter((part) => part !== '').join(' ');
      return { pattern: FLOAT, ...(bounds === '' ? {} : { description: bounds }) };
    }
  }
}

/** @param qos as the Homie side has it: both go out over its connection. */
export function announcementChannels(announcements: readonly Announcement[], qos: 1 | 2): readonly Channel[] {
  return announcements.map(({ topic, payload }, place) => ({
    id: `announcement.${place}`,
    address: topic,
    words: 'A message for a hub that wants to be told in a form of its own, from the station file.',
    side: 'homie',
    does: ['send'],
    qos,
    retain: true,
    messages: [json('announcement', { const: JSON.parse(payload) }), REMOVED],
  }));
}
