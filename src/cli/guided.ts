// `listen --guided`: the terminal side of it. Questions on standard output, answers from standard input, the file after each.
import { existsSync, readFileSync } from 'node:fs';
import { createInterface } from 'node:readline';
import { Coded } from '../errors/coded.ts';
import type { BrokerAccess } from '../hub/connection.ts';
import { guided } from '../hub/guided.ts';
import { learner } from '../hub/learning.ts';
import { earAt, filterUnder } from '../hub/listen.ts';
import { loadStation } from '../station/load.ts';
import { wordsOf } from '../station/problem.ts';
import { writeText } from './files.ts';

/** What was moved takes so long to arrive at most. */
const SETTLE_MS = 1500;

export interface GuideGiven {
  readonly access: BrokerAccess;
  readonly under: string | null;
  readonly station: string;
  readonly stop: AbortSignal;
}

/** @returns the exit code */
export async function guide({ access, under, station, stop }: GuideGiven): Promise<number> {
  const file = begun(station);
  const startedMs = performance.now();
  const ear = learner();
  const client = await earAt(access, [filterUnder(under)], (topic, payload, retain) =>
    ear.hear(topic, payload.toString('utf8'), retain, performance.now()),
  );
  const lines = createInterface({ input: process.stdin });
  stop.addEventListener('abort', () => lines.close());
  client.once('close', () => lines.close());
  const answers = lines[Symbol.asyncIterator]();
  const say = (words: string) => process.stdout.write(`${words}\n`);
  const typed = { answers: 0, characters: 0 };
  try {
    await guided(file, ear, {
      used: new Set(),
      say,
      ask: async (words) => {
        say(words);
        const { value, done } = await answers.next();
        if (done === true) return null;
        typed.answers++;
        typed.characters += value.length;
        return value.trim();
      },
      settle: () => new Promise((resolve) => setTimeout(resolve, SETTLE_MS)),
      save: (now) => writeText('the station file', station, `${JSON.stringify(now, null, 2)}\n`),
    });
  } finally {
    lines.close();
    await client.endAsync(true);
  }
  const minutes = ((performance.now() - startedMs) / 60_000).toFixed(1);
  say(`${typed.answers} answers, ${typed.characters} characters typed, ${minutes} min`);
  if (ear.leftOut() > 0) say(`${ear.leftOut()} messages were too many or too long to look at: give --under`);
  const loaded = loadStation(station, readFileSync(station, 'utf8'));
  if (loaded.ok) say(`${station} can be used: \`vatwarden check ${station}\` says what is worth a look`);
  else for (const error of loaded.errors) say(wordsOf(error));
  return loaded.ok ? 0 : 1;
}

/** What the file has so far; nothing where there is none, or an empty one. */
function begun(station: string): Record<string, unknown> {
  const text = existsSync(station) ? readFileSync(station, 'utf8') : '';
  if (text.trim() === '') return {};
  try {
    const file: unknown = JSON.parse(text);
    if (typeof file === 'object' && file !== null && !Array.isArray(file))
      return file as Record<string, unknown>;
  } catch {
    // Said below.
  }
  throw new Coded(
    'E-211',
    `${station} holds no JSON object: name a file that does not exist yet, or a begun one`,
  );
}
