// The reader's thread: whatever is asked of the past is worked out here, and leaves as bytes that only change hands.
import { readlinkSync } from 'node:fs';
import { constants, setPriority } from 'node:os';
import { parentPort } from 'node:worker_threads';
import { type Looking, lookInto } from '../journal/looking.ts';
import { JournalError } from '../journal/trouble.ts';
import { pastAnswers } from './past.ts';
import type { Asked, ThreadSays } from './reader-thread.ts';

/** Where threads have a priority each (Linux), the loop that runs the water goes first on a core that both want. */
function giveWay(): void {
  try {
    const thread = Number(readlinkSync('/proc/thread-self').split('/').at(-1));
    if (thread !== process.pid) setPriority(thread, constants.priority.PRIORITY_BELOW_NORMAL);
  } catch {
    // Elsewhere the threads share as the system likes.
  }
}

giveWay();
let journal: { readonly file: string; readonly looking: Looking } | null = null;
const past = pastAnswers((file) => {
  if (journal?.file !== file) journal = { file, looking: lookInto(file) };
  return journal.looking;
});
const encoder = new TextEncoder();

parentPort?.on('message', ({ told, question }: Asked) => {
  try {
    past.take(told);
    if (question === null) return;
    const { text, nextMs } = past.answer(question);
    const body = text === null ? null : encoder.encode(text);
    const says: ThreadSays = { body, nextMs };
    parentPort?.postMessage(says, body === null ? [] : [body.buffer as ArrayBuffer]);
  } catch (error) {
    const says: ThreadSays = {
      fault: error instanceof Error ? (error.stack ?? error.message) : String(error),
      isJournal: error instanceof JournalError,
    };
    // What was wrong with the file may be over: it is opened anew when it is asked for again.
    journal?.looking.close();
    journal = null;
    parentPort?.postMessage(says);
  }
});
