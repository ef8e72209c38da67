// Tells people of alarms while nobody looks, and a watcher elsewhere that all goes on. It looks at the station now and then and
// returns at once; what it has to send goes its own way.
import { alarmText } from '../language/told.ts';
import { type Alarm, dueOf, type Now } from './due.ts';
import type { NotifyValues } from './notify-file.ts';
import { sendingOf } from './sending.ts';
import type { Note } from './sinks.ts';

export interface Teller {
  /** @param isWell the loop turns, the link is proven, and what happens is kept: only then does the watcher hear of it */
  readonly look: (alarms: readonly Alarm[], now: Now, isWell: boolean) => void;
  readonly close: () => void;
}

export interface TellerParts {
  readonly values: NotifyValues;
  /** Its name. */
  readonly station: string;
  readonly boot: string;
  readonly failed: (sink: string, words: string) => void;
  readonly triesAfterMs?: readonly number[];
}

const MARKS = { begun: '', again: 'Still: ', ended: 'Over: ', test: '' } as const;
const PING_PATIENCE_MS = 10_000;

export function tellerOf({ values, station, boot, failed, ...more }: TellerParts): Teller {
  const due = dueOf(values, boot);
  const names = Object.keys(values.sinks);
  const failing = new Set<string>();
  let count = 0;
  let pingedMs = Number.NEGATIVE_INFINITY;
  const note = (part: Omit<Note, 'id' | 'panel'>): Note => ({
    ...part,
    id: `${boot}-${++count}`,
    panel: values.panel,
  });
  const sending = sendingOf({
    ...more,
    sinks: values.sinks,
    failed: (sink, words) => {
      failed(sink, words);
      if (failing.has(sink)) return;
      failing.add(sink);
      // Once, or two that fail would tell each other for ever.
      const title = `${station}: messages to ${sink} do not arrive`;
      const telling = note({
        incident: `${boot}-${sink}`,
        is: 'begun',
        priority: 'soon',
        title,
        text: words,
      });
      for (const other of names) if (other !== sink) sending.send(other, telling);
    },
  });
  if (values.test) {
    const words = { title: `${station}: messages arrive`, text: 'The service has started.' };
    for (const name of names)
      sending.send(name, note({ incident: `${boot}-test`, is: 'test', priority: 'notice', ...words }));
  }
  return {
    look: (alarms, now, isWell) => {
      for (const { sink, incident, is, alarm } of due(alarms, now)) {
        const { priority, message, response } = alarm;
        const title = `${station}: ${priority}`;
        const text = `${MARKS[is]}${is === 'ended' ? message.text : alarmText(message, response)}`;
        sending.send(sink, note({ incident, is, priority, title, text }));
      }
      const { deadMan } = values;
      if (deadMan === null || !isWell || now.nowMs - pingedMs < deadMan.every) return;
      pingedMs = now.nowMs;
      ping(deadMan.url).catch((error: Error) => failed('deadMan', error.message));
    },
    close: () => sending.close(),
  };
}

async function ping(url: string): Promise<void> {
  const { ok, status } = await fetch(url, { method: 'POST', signal: AbortSignal.timeout(PING_PATIENCE_MS) });
  if (!ok) throw new Error(`the watcher answered ${status}`);
}
