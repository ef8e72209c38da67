// The file that says who is told of alarms while nobody looks, declared: where messages go, from which priority, and when
// again. It holds secrets, so it is no part of the station file. `schemas/notify.schema.json` is printed from this.
import { PRIORITIES, type Priority } from '../control/guard/types.ts';
import { LANGUAGES } from '../language/for-people.ts';
import { optional, otherwise } from '../station/file/absent.ts';
import {
  byName,
  integer,
  list,
  object,
  oneKindOf,
  oneWordOf,
  pair,
  printed,
  type Read,
  readFile,
  text,
  truth,
  type Written,
} from '../station/file/declare.ts';
import { Duration, editorsSchema, Id } from '../station/file/parts.ts';

const url = (hint: string) => text({ pattern: '^https?://', description: hint });
const clock = text({ pattern: '^([01][0-9]|2[0-3]):[0-5][0-9]$' });

const common = {
  from: otherwise(oneWordOf(PRIORITIES, 'Alarms of this priority and above.'), 'soon'),
  after: otherwise(Duration('Only what nobody has acknowledged for so long: for a second person.'), '0 s'),
  quiet: optional(
    pair(
      clock,
      clock,
      'Between these times of day nothing but urgent is told, for example ["22:00", "07:00"].',
    ),
  ),
} as const;

const Sink = oneKindOf('kind', {
  ntfy: {
    ...common,
    url: url('The server, without the topic.'),
    topic: text({ minLength: 1 }),
    token: optional(text('An access token.')),
  },
  gotify: { ...common, url: url('The server.'), token: text('Of an application.') },
  apprise: {
    ...common,
    url: url('Of the Apprise API, with /notify/KEY.'),
    tag: optional(text('Which of its services.')),
  },
  webhook: {
    ...common,
    url: url('Gets JSON by POST.'),
    secret: optional(text('Signs time and body: HMAC-SHA256.')),
  },
  'web-push': {
    ...common,
    subject: text({
      pattern: '^(mailto:|https://)',
      description: 'Whom the push service may ask: mailto:... or https://...',
    }),
    publicKey: text('Of the pair that `npx web-push generate-vapid-keys` makes, once.'),
    privateKey: text(),
    subscription: object(
      { endpoint: url('Of the push service.'), keys: object({ p256dh: text(), auth: text() }) },
      'As the browser gave it: `subscription.toJSON()`.',
    ),
  },
  email: {
    ...common,
    host: text({ minLength: 1 }),
    port: otherwise(integer({ minimum: 1, maximum: 65_535 }), 465),
    encrypted: otherwise(
      oneWordOf(['at once', 'after a greeting', 'never'], 'never: for a server on this computer only.'),
      'at once',
    ),
    user: optional(text()),
    password: optional(text()),
    sender: text({ minLength: 3 }),
    to: list(text({ minLength: 3 }), { minItems: 1 }),
  },
});

const NOTIFY = object({
  $schema: editorsSchema,
  sinks: byName(Sink, { minProperties: 1, description: 'Where messages go, by names of your own.' }, Id()),
  language: otherwise(oneWordOf(LANGUAGES, 'What messages are written in.'), 'en'),
  repeat: otherwise(Duration('What is urgent and unacknowledged is told again after so long.'), '15 min'),
  panel: optional(url('Where a person sees the station: a message leads there.')),
  test: otherwise(truth('A message at each start, so that a sink that does not work is noticed.'), true),
  deadMan: optional(
    object(
      {
        url: url('Of the watcher, for example https://hc.example.org/ping/UUID.'),
        every: otherwise(Duration('How often; not over five times a minute.'), '60 s'),
      },
      'A watcher on another computer and another supply: it is told that all goes on, and wakes somebody when it is told nothing.',
    ),
  ),
});

export type NotifyText = Written<typeof NOTIFY>;
export type NotifyValues = Read<typeof NOTIFY>;
export type SinkValues = NotifyValues['sinks'][string];
export const rankOf = (priority: string): number => PRIORITIES.indexOf(priority as Priority);

export const notifySchema = () =>
  printed(NOTIFY, { $id: 'notify.schema.json', title: 'Who is told of alarms while nobody looks' });

/** @param file one that the schema has accepted */
export const notifyValues = (file: NotifyText): NotifyValues => readFile(NOTIFY, file).values;
