// The command `replay`: a journal through the core again, or an incident in plain words.
import type { Command } from 'commander';
import { deriveRows } from '../control/guard/interlocks.ts';
import { Coded } from '../errors/coded.ts';
import { openRecording, type Recording } from '../journal/recording.ts';
import { type Difference, replay, type Verdict } from '../journal/replay.ts';
import { type Incident, rowsNamed, type Story, type StoryQuery, tell } from '../journal/story.ts';
import { Damaged, JournalError, refusalOf } from '../journal/trouble.ts';

interface Options {
  readonly from?: string;
  readonly to?: string;
  readonly why?: string;
  readonly json?: true;
}

/** Adds `replay` to the program. */
export function addReplay(program: Command): void {
  program
    .command('replay')
    .summary('Tells an incident from a journal, or runs all of it through the core again')
    .description(
      'Runs what a journal recorded through the core again and compares every effect with what was recorded. ' +
        'With --from, --to or --why it tells what happened: what was seen, which row said what, what was decided.',
    )
    .argument('<file>', 'the journal.db of a station, or a copy of it with its -wal file')
    .option('--from <time>', 'tell from here on: 2026-06-01T07:40, local time unless it ends in Z or +02:00')
    .option('--to <time>', 'tell up to here')
    .option('--why <row>', 'tell only when and why this row spoke, for example I-07 or I-07/transfer')
    .option('--json', 'answer in JSON')
    .addHelpText(
      'after',
      '\nExamples:\n  $ vatwarden replay state/journal/journal.db\n  $ vatwarden replay state/journal/journal.db --why I-01\n' +
        'Nothing is sent anywhere and the file stays as it is; it may belong to a running station.\n' +
        'Exit code 0: identical; 1: this release decides otherwise, and where first; 2: a wrong question; 4: not a journal, or damaged.',
    )
    .action((file: string, options: Options) => {
      try {
        process.exitCode = replayFile(file, options, print);
      } catch (error) {
        throw error instanceof Coded ? error : asJournalError(error, file);
      }
    });
}

function asJournalError(error: unknown, file: string): Error {
  // A fault of our own is no damage of the file, and must not look like it.
  if (!(error instanceof Damaged) && typeof (error as { code?: unknown }).code !== 'string') throw error;
  const mend = 'A copy from before may be whole; what is damaged can not be replayed.';
  return new JournalError({ ...refusalOf(error, file), mend });
}

function replayFile(file: string, options: Options, out: (line: string) => void): number {
  const query = queryOf(options);
  const recording = openRecording(file);
  try {
    const isStory = Object.keys(query).length > 0;
    if (isStory) checkQuestion(recording, query);
    const told = isStory ? tell(recording, query) : null;
    const verdict = told?.verdict ?? replay(recording);
    if (options.json) out(JSON.stringify(told ?? { verdict }, null, 2));
    else
      for (const line of [...(told === null ? [] : storyLines(told, query)), ...verdictLines(verdict)])
        out(line);
    return verdict.difference === null ? 0 : 1;
  } finally {
    recording.close();
  }
}

function queryOf({ from, to, why }: Options): StoryQuery {
  const query = {
    ...(from === undefined ? {} : { fromMs: readTime('--from', from) }),
    ...(to === undefined ? {} : { toMs: readTime('--to', to) }),
    ...(why === undefined ? {} : { why }),
  };
  if (query.fromMs !== undefined && query.toMs !== undefined && query.fromMs >= query.toMs)
    throw new Coded('E-121', `--from ${from} is not before --to ${to}`);
  return query;
}

const TIME = /^(\d{4}-\d{2}-\d{2})(?:[T ](\d{2}:\d{2}(?::\d{2}(?:\.\d{1,3})?)?)(Z|[+-]\d{2}:\d{2})?)?$/u;

function readTime(option: string, text: string): number {
  const [, day, time = '00:00', zone = ''] = TIME.exec(text) ?? [];
  const ms = day === undefined ? Number.NaN : Date.parse(`${day}T${time}${zone}`);
  // Date.parse takes 31 February for 3 March.
  const exists = !Number.isNaN(ms) && new Date(`${day}T00:00Z`).toISOString().startsWith(String(day));
  if (!exists)
    throw new Coded(
      'E-121',
      `${option} '${text}' is no time; write for example 2026-06-01T07:40 or 2026-06-01T05:40Z`,
    );
  return ms;
}

function checkQuestion({ starts, plantOf, file }: Recording, { fromMs, why }: StoryQuery): void {
  const [first] = starts;
  const last = starts.at(-1);
  if (first === undefined || last === undefined) throw new Coded('E-121', `${file} holds no steps yet`);
  if (fromMs !== undefined && last.endedMs !== null && fromMs > last.endedMs)
    throw new Coded('E-121', `${file} ends at ${clockWords(last.endedMs)}: nothing is recorded after it`);
  if (why === undefined || starts.some((start) => rowsNamed(plantOf(start).plant, why).length > 0)) return;
  const ids = [...new Set(deriveRows(plantOf(last).plant).map(({ id }) => id))].sort();
  throw new Coded('E-121', `this station has no interlock '${why}'; it has ${ids.join(', ')}`);
}

function storyLines({ name, station, incidents, tellings, leftOut }: Story, { why }: StoryQuery): string[] {
  const none = why === undefined ? 'Nothing happened in this time.' : `${why} forbade nothing in this time.`;
  return [
    `${name} (${station})`,
    '',
    ...incidents.flatMap(incidentLines),
    ...(tellings.length === 0 ? [none, ''] : []),
    ...tellings.map(({ wallMs, kind, words }) => `${clockWords(wallMs)}  ${kind.padEnd(7)}  ${words}`),
    ...(leftOut > 0 ? [`... and ${leftOut} lines more: ask for a shorter time`] : []),
    ...(tellings.length === 0 ? [] : ['']),
  ];
}

function incidentLines({ row, hazard, words, response, fromMs, toMs, latched, forbade }: Incident): string[] {
  const lasted = toMs === null ? 'and still does at the end' : `until ${clockWords(toMs)}`;
  const kind = latched ? '; latched' : '';
  return [
    `${row} (${hazard}${kind}) forbade ${forbade.join(', ')} from ${clockWords(fromMs)} ${lasted}`,
    `    ${words}`,
    ...(response === '' ? [] : [`    ${response}`]),
    '',
  ];
}

function verdictLines({ steps, starts, firstStep, lastStep, fromMs, toMs, difference }: Verdict): string[] {
  if (difference !== null) return differenceLines(difference);
  if (firstStep === null || fromMs === null || toMs === null) return ['No steps were recorded.'];
  const where = `${firstStep} to ${lastStep}, ${clockWords(fromMs)} to ${clockWords(toMs)}`;
  const times = starts === 1 ? '' : `, over ${starts} starts of the service`;
  return [`Replayed ${steps} steps (${where})${times}: identical.`];
}

function differenceLines({ step, wallMs, event, words, recorded, replayed, software }: Difference): string[] {
  return [
    `Step ${step}, ${clockWords(wallMs)}: ${words}.`,
    ...(event === null ? [] : ['The event:', block(event)]),
    'Recorded:',
    block(recorded),
    'Replayed:',
    block(replayed),
    `It was recorded by release ${software === '' ? 'unknown' : software}. A later release may decide otherwise on purpose; the same one must not.`,
  ];
}

const block = (value: unknown): string =>
  JSON.stringify(value, null, 2)
    .split('\n')
    .map((line) => `    ${line}`)
    .join('\n');

/** Local time, to the second. */
function clockWords(ms: number): string {
  const at = new Date(ms);
  const two = (part: number) => String(part).padStart(2, '0');
  const day = `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
  return `${day} ${two(at.getHours())}:${two(at.getMinutes())}:${two(at.getSeconds())}`;
}

function print(line: string): void {
  process.stdout.write(`${line}\n`);
}
