// The service's own topics.
import type { Plant } from '../station/plant.ts';
import { type Channel, json, REMOVED, shared, text } from './channel.ts';

type Own = Omit<Channel, 'side' | 'address' | 'id'>;

const SEND = ['send'] as const;
const RECEIVE = ['receive'] as const;

// biome-ignore format: a table reads as a table
const OWN: Readonly<Record<string, Own>> = {
  'status':        { does: SEND, qos: 1, retain: true, messages: [json('status', shared('Status'))], words: 'Everything about the station; when it changed, at most once a second.' },
  'online':        { does: SEND, qos: 1, retain: true, messages: [text('online', shared('Online'))], words: 'Whether the service is there; offline is also its will.' },
  'alarm/{alarm}': { does: ['send', 'receive'], qos: 1, retain: true, messages: [json('alarm', shared('Alarm')), REMOVED], words: 'An alarm that is not normal. Listened to in order to clear what an earlier run left behind.' },
  'task/{vessel}': { does: ['send', 'receive'], qos: 1, retain: true, messages: [json('task', shared('Task')), REMOVED], words: 'What a person is asked to do. Listened to in order to clear what an earlier run left behind.' },
  'record':        { does: SEND, qos: 1, retain: false, messages: [json('record', shared('Record'))], words: 'Something worth keeping.' },
  'request':       { does: RECEIVE, qos: 1, retain: false, messages: [json('request', shared('Request'))], words: 'What a person or a hub asks. A stored one is refused.' },
  'answer':        { does: SEND, qos: 1, retain: false, messages: [json('answer', shared('Answer'))], words: 'To a request, with its id.' },
  'heartbeat':     { does: ['send', 'receive'], qos: 0, retain: false, messages: [json('heartbeat', shared('Heartbeat'))], words: 'Sent round through the broker: only what comes back proves the link.' },
  'time':          { does: RECEIVE, qos: 1, retain: false, onlyInLockStep: true, messages: [json('time', shared('Time'))], words: 'Lock step with a simulated water (`run --time topic`): how far time went.' },
  'time/done':     { does: SEND, qos: 1, retain: false, onlyInLockStep: true, messages: [json('time-done', shared('TimeDone'))], words: 'Lock step: everything that follows from that step is on the wire.' },
};

export function ownChannels(plant: Plant): readonly Channel[] {
  const root = `vatwarden/${plant.id}`;
  return Object.entries(OWN).map(([name, own]) => ({
    ...own,
    id: `own.${name.replaceAll('/', '.').replaceAll(/[{}]/gu, '')}`,
    address: `${root}/${name}`,
    side: 'service',
  }));
}

/** What the Homie side listens to and asks, on the service's topics. */
export function ownChannelsOfHomie(plant: Plant): readonly Channel[] {
  return ownChannels(plant)
    .filter(({ id }) => ['own.status', 'own.online', 'own.answer', 'own.record', 'own.request'].includes(id))
    .map((channel) => ({
      ...channel,
      id: `homie.${channel.id}`,
      side: 'homie',
      does: channel.id === 'own.request' ? SEND : RECEIVE,
    }));
}
