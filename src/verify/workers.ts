// Work that falls into jobs, spread over processors. A job's answer depends on the job alone, so the number of workers and
// the order in which they finish change nothing but the time. Where the code runs from its TypeScript sources (tests) there
// are no worker threads, and the jobs are done one after the other.
import { availableParallelism } from 'node:os';
import { isMainThread, parentPort, Worker, workerData } from 'node:worker_threads';

export interface Spread<Job, Answer> {
  /** `import.meta.url` of the file that calls `serve`. */
  readonly file: string;
  /** What every worker gets once. */
  readonly data: unknown;
  readonly jobs: readonly Job[];
  /** Called as answers arrive, in any order. */
  readonly onAnswer?: (answer: Answer, at: number, done: number) => void;
  /** No further job is begun after such an answer. */
  readonly enough?: (answer: Answer) => boolean;
  /** Default: one for each processor. */
  readonly workers?: number;
  /** The same work without a worker. */
  readonly here: (data: never) => (job: Job) => Answer;
}

interface Done<Answer> {
  readonly at: number;
  readonly answer: Answer;
}

/** All answers, in the order of the jobs; where one was enough, none for what was not begun. */
export async function spread<Job, Answer>(options: Spread<Job, Answer>): Promise<readonly Answer[]> {
  const { file, data, jobs, onAnswer, enough, workers = availableParallelism(), here } = options;
  const answers: Answer[] = new Array(jobs.length);
  let done = 0;
  let next = 0;
  const take = ({ at, answer }: Done<Answer>): void => {
    answers[at] = answer;
    done += 1;
    onAnswer?.(answer, at, done);
    if (enough?.(answer)) next = jobs.length;
  };
  const count = Math.min(workers, jobs.length);
  if (file.endsWith('.ts') || count < 2) {
    const work = here(data as never);
    while (next < jobs.length) {
      const at = next++;
      take({ at, answer: work(jobs[at] as Job) });
    }
    return answers;
  }
  const crew = Array.from(
    { length: count },
    () => new Worker(new URL(file), { workerData: { serves: file, data } }),
  );
  const feed = (worker: Worker): void => {
    if (next < jobs.length) worker.postMessage({ at: next, job: jobs[next++] });
    else void worker.terminate();
  };
  await Promise.all(
    crew.map(
      (worker) =>
        new Promise<void>((resolve, reject) => {
          worker.on('message', (message: Done<Answer>) => {
            take(message);
            feed(worker);
          });
          worker.on('error', reject);
          worker.on('exit', () => resolve());
          feed(worker);
        }),
    ),
  ).finally(() => Promise.all(crew.map((worker) => worker.terminate())));
  return answers;
}

/** In a worker that `spread` started for this very file: answers its jobs. Anywhere else it does nothing. */
export function serve<Data, Job, Answer>(file: string, make: (data: Data) => (job: Job) => Answer): void {
  if (isMainThread || parentPort === null || workerData?.serves !== file) return;
  const port = parentPort;
  const work = make(workerData.data as Data);
  port.on('message', ({ at, job }: { at: number; job: Job }) => {
    port.postMessage({ at, answer: work(job) });
  });
}
