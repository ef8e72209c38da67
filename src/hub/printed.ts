// The catalogue for people: properties, placeholders and topics, and what would be published at a start.
import { ANNOUNCEMENT_PLACEHOLDERS } from '../station/placeholders.ts';
import type { Wiring } from './catalogue.ts';
import type { Channel } from './channel.ts';
import { arrival } from './life.ts';
import type { Property } from './model.ts';
import type { Shown } from './row.ts';
import { type Publish, stored } from './view.ts';

export function listLines({ device, channels }: Wiring): readonly string[] {
  const ours = channels.filter(({ side }) => side === 'service');
  return [
    `Properties (${device.properties.length}): on Homie below ${device.root}/, for other hubs by their placeholders`,
    ...device.nodes.flatMap(({ id, name, properties }) => [
      `  ${id} (${name})`,
      ...properties.flatMap(propertyLines),
    ]),
    '',
    'Placeholders for "announce": {"templates": [...]} in the station file',
    ...Object.entries(ANNOUNCEMENT_PLACEHOLDERS).map(
      ([name, { words, mayLack, ofProperty }]) =>
        `  ${name.padEnd(19)} ${words}${mayLack ? '; left out where there is none' : ''}${ofProperty ? '' : '; also with "each": "station"'}`,
    ),
    '',
    `Topics of the service and of the devices (${ours.length})`,
    ...ours.map(topicLine),
  ];
}

function propertyLines(property: Property): readonly string[] {
  const { id, datatype, format, unit, settable, retained, words } = property;
  const facts = [
    datatype,
    ...(format === null ? [] : [format]),
    ...(unit === null ? [] : [unit]),
    ...(settable ? ['settable'] : []),
    ...(retained ? [] : ['momentary']),
  ];
  return [`    ${id.padEnd(21)} ${facts.join(' | ')}`, `      ${words}`];
}

function topicLine({ address, does, qos, retain, words }: Channel): string {
  const ways = does.map((action) => (action === 'send' ? 'says' : 'hears')).join(', ');
  return `  ${address}\n      ${ways}, QoS ${qos}${retain ? ', stored' : ''}: ${words}`;
}

/** Everything that goes out when the Homie side starts over a broker that knows nothing, in order. */
export function startMessages({ device, announcements }: Wiring, shown: Shown): readonly Publish[] {
  const steps = arrival(device, shown).flatMap((step) => (step.do === 'publish' ? [step.message] : []));
  const extra = announcements.map(({ topic, payload }) => stored(device, topic, payload));
  return [...steps.slice(0, -1), ...extra, ...steps.slice(-1)].filter(({ payload }) => payload !== '');
}

export function messageLine({ topic, payload, qos, retain }: Publish): string {
  return `${topic}  ${payload === '\u0000' ? '(an empty text)' : payload}  [QoS ${qos}${retain ? ', stored' : ''}]`;
}
