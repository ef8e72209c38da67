// Tells people of alarms while nobody looks, and a watcher elsewhere that all goes on. It looks at the station now and then and
// returns at once; what it has to send goes its own way.
import type { Priority } from '../control/guard/types.ts';
import type { Say } from '../language/english.ts';
import { message } from '../language/message.ts';
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
  /** In the language of the file. */
  readonly say: Say;
  readonly boot: string;
  readonly failed: (sink: string, words: string) => void;
  /** Where messages do not arrive now; said when that changes. */
  readonly failing: (sinks: readonly string[]) => void;
  readonly triesAfterMs?: readonly number[];
}

const TITLES = {
  urgent: 'notify-title-urgent',
  soon: 'notify-title-soon',
  notice: 'notify-title-notice',
} as const satisfies Readonly<Record<Priority, string>>;
/** What its failure goes by: no name of a sink has a capital letter. */
const DEAD_MAN = 'deadMan';
const PING_PATIENCE_MS = 10_000;

export function tellerOf(parts: TellerParts): Teller {
  const { values, station, say, boot, failed, failing: tell, ...more } = parts;
  const due = dueOf(values, boot);
  const names = Object.keys(values.sinks);
  /** By name, when it was last tried. */
  const failing = new Map<string, number>();
  let lookedMs = 0;
  const fails = (name: string, words: string) => {
    failed(name, words);
    const isNew = !failing.has(name);
    failing.set(name, lookedMs);
    if (isNew) tell([...failing.keys()]);
  };
  const arrives = (name: string) => {
    if (failing.delete(name)) tell([...failing.keys()]);
  };
  let count = 0;
  let pingedMs = Number.NEGATIVE_INFINITY;
  const note = (part: Omit<Note, 'id' | 'panel'>): Note => ({
    ...part,
    id: `${boot}-${++count}`,
    panel: values.panel,
  });
  const sending = sendingOf({ ...more, sinks: values.sinks, failed: fails, arrived: arrives });
  const textOf = (is: Note['is'], { message: words, response }: Alarm): string => {
    if (is === 'ended') return say(message('notify-ended', { what: words.text }));
    const told = alarmText(words, response);
    return is === 'again' ? say(message('notify-again', { what: told })) : told;
  };
  const tryOut = (name: string, text: string) => {
    const title = say(message('notify-messages-arrive', { where: station }));
    sending.send(name, note({ incident: `${boot}-test`, is: 'test', priority: 'notice', title, text }));
  };
  if (values.test) for (const name of names) tryOut(name, say(message('notify-service-started')));
  return {
    look: (alarms, now, isWell) => {
      lookedMs = now.nowMs;
      for (const { sink, incident, is, alarm } of due(alarms, now)) {
        const { priority } = alarm;
        const title = say(message(TITLES[priority as Priority], { where: station }));
        const text = textOf(is, alarm);
        sending.send(sink, note({ incident, is, priority, title, text }));
      }
      for (const [name, triedMs] of failing) {
        if (now.nowMs - triedMs < values.repeat || name === DEAD_MAN) continue;
        failing.set(name, now.nowMs);
        tryOut(name, say(message('notify-arrive-again')));
      }
      const { deadMan } = values;
      if (deadMan === null || !isWell || now.nowMs - pingedMs < deadMan.every) return;
      pingedMs = now.nowMs;
      ping(deadMan.url).then(
        () => arrives(DEAD_MAN),
        (error: Error) => fails(DEAD_MAN, error.message),
      );
    },
    close: () => sending.close(),
  };
}

async function ping(url: string): Promise<void> {
  const { ok, status } = await fetch(url, { method: 'POST', signal: AbortSignal.timeout(PING_PATIENCE_MS) });
  if (!ok) throw new Error(`the watcher answered ${status}`);
}
