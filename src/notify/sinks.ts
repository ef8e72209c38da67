// What goes to each kind of sink, in the form that its documentation has: ntfy (docs/publish.md, JSON to the root of the
// server), Gotify (docs/pushmsg.md, msgextras.md), Apprise API (README), a webhook with a signature, e-mail.
import { createHash, createHmac } from 'node:crypto';
import type { SinkValues } from './notify-file.ts';

export interface Note {
  /** The same whenever it is tried again. */
  readonly id: string;
  readonly incident: string;
  readonly is: 'begun' | 'again' | 'ended' | 'test';
  readonly priority: string;
  readonly title: string;
  readonly text: string;
  /** Where a person sees more; null: nowhere. */
  readonly panel: string | null;
}

export interface Post {
  readonly url: string;
  readonly headers: Readonly<Record<string, string>>;
  readonly body: string | Uint8Array<ArrayBuffer>;
}

type PlainSink = Exclude<SinkValues, { readonly kind: 'email' | 'web-push' }>;

/** ntfy: 5 the highest; Gotify: from 8 on a phone vibrates. What has ended wakes nobody. */
const URGENCY = {
  urgent: { ntfy: 5, gotify: 10 },
  soon: { ntfy: 4, gotify: 6 },
  notice: { ntfy: 2, gotify: 2 },
};
const urgencyOf = ({ priority, is }: Note) =>
  is === 'begun' || is === 'again'
    ? (URGENCY[priority as keyof typeof URGENCY] ?? URGENCY.notice)
    : URGENCY.notice;

/** @param timeS since 1970, for a signature that is good for a time only */
export function postOf(sink: PlainSink, note: Note, timeS: number): Post {
  const { title, text, panel } = note;
  const { ntfy, gotify } = urgencyOf(note);
  switch (sink.kind) {
    case 'ntfy':
      return json(
        sink.url,
        {
          topic: sink.topic,
          title,
          message: text,
          priority: ntfy,
          ...(panel === null ? {} : { click: panel }),
        },
        sink.token === null ? {} : { Authorization: `Bearer ${sink.token}` },
      );
    case 'gotify':
      return json(
        `${sink.url.replace(/\/$/u, '')}/message`,
        {
          title,
          message: text,
          priority: gotify,
          ...(panel === null ? {} : { extras: { 'client::notification': { click: { url: panel } } } }),
        },
        { 'X-Gotify-Key': sink.token },
      );
    case 'apprise': {
      const failing = note.priority === 'urgent' ? 'failure' : 'warning';
      const type = note.is === 'ended' ? 'success' : note.is === 'test' ? 'info' : failing;
      return json(sink.url, { title, body: text, type, ...(sink.tag === null ? {} : { tag: sink.tag }) });
    }
    case 'webhook': {
      const post = json(sink.url, { ...note, timeS }, { 'Idempotency-Key': note.id });
      if (sink.secret === null) return post;
      const signature = createHmac('sha256', sink.secret).update(`${timeS}.${post.body}`).digest('hex');
      return { ...post, headers: { ...post.headers, 'X-Vatwarden-Signature': `t=${timeS},v1=${signature}` } };
    }
  }
}

const json = (url: string, body: object, headers: Readonly<Record<string, string>> = {}): Post => ({
  url,
  headers: { 'Content-Type': 'application/json', ...headers },
  body: JSON.stringify(body),
});

/** Nobody wants to hear tomorrow what was urgent today. */
const PUSH_LIVES_S = { urgent: 3600, other: 6 * 3600 };
const PUSH_LONGEST = 3000;

/** RFC 8030, encrypted by RFC 8291, signed by RFC 8292; a later message about the same incident takes the place of an earlier. */
export async function pushOf(
  { subject, publicKey, privateKey, subscription }: Extract<SinkValues, { readonly kind: 'web-push' }>,
  note: Note,
): Promise<Post> {
  const { default: webPush } = await import('web-push');
  const isUrgent = note.priority === 'urgent' && note.is !== 'ended';
  const payload = JSON.stringify({ ...note, text: note.text.slice(0, PUSH_LONGEST) });
  const { endpoint, keys } = subscription;
  const details = webPush.generateRequestDetails({ endpoint, keys: { ...keys } }, payload, {
    vapidDetails: { subject, publicKey, privateKey },
    TTL: isUrgent ? PUSH_LIVES_S.urgent : PUSH_LIVES_S.other,
    urgency: isUrgent ? 'high' : 'normal',
    // At most 32 letters of base64url.
    topic: createHash('sha256').update(note.incident).digest('base64url').slice(0, 32),
  });
  // The length is for whoever sends it to say.
  const headers = Object.fromEntries(
    Object.entries(details.headers).flatMap(([name, value]) =>
      name === 'Content-Length' ? [] : [[name, String(value)]],
    ),
  );
  return { url: details.endpoint, headers, body: new Uint8Array(details.body ?? []) };
}
