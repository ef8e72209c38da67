// The reader: whatever is asked of the past is worked out here, in a process of its own, and leaves as bytes.
import { constants, setPriority } from 'node:os';
import { type Looking, lookInto } from '../journal/looking.ts';
import { JournalError } from '../journal/trouble.ts';
import { pastAnswers } from './past.ts';
import type { Asked, ThreadSays } from './reader-thread.ts';

// The loop that runs the water goes first on a core that both want; where that may not be said, they share it.
try {
  setPriority(constants.priority.PRIORITY_BELOW_NORMAL);
} catch {}
// Whoever ends the service says so to all of its processes; this one ends with the service, not before.
for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => {});
process.on('disconnect', () => process.exit());

let journal: { readonly file: string; readonly looking: Looking } | null = null;
const past = pastAnswers((file) => {
  if (journal?.file !== file) journal = { file, looking: lookInto(file) };
  return journal.looking;
});
const encoder = new TextEncoder();

process.on('message', ({ told, question }: Asked) => {
  try {
    past.take(told);
    if (question === null) return;
    const { text, nextMs } = past.answer(question);
    const body = text === null ? null : encoder.encode(text);
    const says: ThreadSays = { body, nextMs };
    process.send?.(says);
  } catch (error) {
    const says: ThreadSays = {
      fault: error instanceof Error ? (error.stack ?? error.message) : String(error),
      isJournal: error instanceof JournalError,
    };
    // What was wrong with the file may be over: it is opened anew when it is asked for again.
    journal?.looking.close();
    journal = null;
    process.send?.(says);
  }
});
