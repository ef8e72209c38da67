// Takes messages to their sinks, beside the control loop and never in its way: a queue with an end for each sink, one message
// at a time, tried again for a while.
import type { NotifyValues, SinkValues } from './notify-file.ts';
import { type Note, type Post, postOf, pushOf } from './sinks.ts';

const WAITING = 50;
const PATIENCE_MS = 10_000;
/** Between the tries: after the last the message is given up. */
export const TRIES_AFTER_MS: readonly number[] = [2_000, 10_000, 60_000, 300_000];

export interface Sending {
  readonly send: (sink: string, note: Note) => void;
  readonly close: () => void;
}

export interface SendingParts {
  readonly sinks: NotifyValues['sinks'];
  readonly failed: (sink: string, words: string) => void;
  readonly arrived: (sink: string) => void;
  readonly triesAfterMs?: readonly number[];
}

export function sendingOf({ sinks, failed, arrived, triesAfterMs = TRIES_AFTER_MS }: SendingParts): Sending {
  const stop = new AbortController();
  const queues = new Map(Object.entries(sinks).map(([name, sink]) => [name, queueOf(name, sink)]));

  function queueOf(name: string, sink: SinkValues) {
    const waiting: Note[] = [];
    let isBusy = false;
    let leftOut = 0;
    const work = async () => {
      for (let note = waiting.shift(); note !== undefined && !stop.signal.aborted; note = waiting.shift()) {
        const before = leftOut;
        const words = await withPatience(() => deliver(sink, counted(note, before)));
        if (words === null) {
          leftOut -= before;
          arrived(name);
        }
        if (words !== null && !stop.signal.aborted) failed(name, words);
      }
      isBusy = false;
    };
    return (note: Note) => {
      // The oldest goes: whoever reads wants to know how it is now.
      if (waiting.push(note) > WAITING && waiting.shift() !== undefined) leftOut++;
      if (isBusy) return;
      isBusy = true;
      void work();
    };
  }

  /** Null when it went; else why not. */
  async function withPatience(once: () => Promise<string | null>): Promise<string | null> {
    for (const waitMs of [...triesAfterMs, null]) {
      const words = await once();
      if (words === null || waitMs === null || stop.signal.aborted) return words;
      await passed(waitMs, stop.signal);
    }
    return null;
  }

  const deliver = (sink: SinkValues, note: Note): Promise<string | null> =>
    (sink.kind === 'email' ? mailed(sink, note) : posted(sink, note, stop.signal)).then(
      () => null,
      (error: Error) => error.message,
    );
  return { send: (sink, note) => queues.get(sink)?.(note), close: () => stop.abort() };
}

const counted = (note: Note, leftOut: number): Note =>
  leftOut === 0
    ? note
    : { ...note, text: `${note.text}\n(${leftOut} messages before this one were left out)` };

async function posted(
  sink: Exclude<SinkValues, { kind: 'email' }>,
  note: Note,
  stop: AbortSignal,
): Promise<void> {
  const { url, headers, body }: Post =
    sink.kind === 'web-push' ? await pushOf(sink, note) : postOf(sink, note, Math.floor(Date.now() / 1000));
  const signal = AbortSignal.any([stop, AbortSignal.timeout(PATIENCE_MS)]);
  const { ok, status } = await fetch(url, { method: 'POST', headers, body, signal, redirect: 'error' });
  if (sink.kind === 'web-push' && (status === 404 || status === 410))
    throw new Error(
      'the browser has ended its subscription: subscribe again, and put the new one into the file',
    );
  if (!ok) throw new Error(`the server answered ${status}`);
}

async function mailed(sink: Extract<SinkValues, { kind: 'email' }>, note: Note): Promise<void> {
  const { createTransport } = await import('nodemailer');
  const { host, port, encrypted, user, password, sender, to } = sink;
  const transport = createTransport({
    host,
    port,
    secure: encrypted === 'at once',
    requireTLS: encrypted === 'after a greeting',
    ignoreTLS: encrypted === 'never',
    ...(user === null ? {} : { auth: { user, pass: password ?? '' } }),
    connectionTimeout: PATIENCE_MS,
    greetingTimeout: PATIENCE_MS,
    socketTimeout: PATIENCE_MS,
  });
  const thread = `<${note.incident}@vatwarden>`;
  try {
    const text = note.panel === null ? note.text : `${note.text}\n\n${note.panel}`;
    await transport.sendMail({ from: sender, to: [...to], subject: note.title, text, references: thread });
  } finally {
    transport.close();
  }
}

function passed(forMs: number, stop: AbortSignal): Promise<void> {
  return new Promise((resolve) => {
    const timer = setTimeout(resolve, forMs);
    stop.addEventListener('abort', () => {
      clearTimeout(timer);
      resolve();
    });
  });
}
