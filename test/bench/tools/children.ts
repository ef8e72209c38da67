// What is measured runs in a process of its own, as it would in life, and is asked by messages.
import { type ChildProcess, fork } from 'node:child_process';
import { once } from 'node:events';
import { fileURLToPath } from 'node:url';

const HOOK = fileURLToPath(new URL('./typescript.mjs', import.meta.url));

export interface Child {
  readonly pid: number;
  readonly process: ChildProcess;
  /** What it answers; rejects where it ends first or stays silent. */
  readonly ask: <Answer>(message: object, withinMs?: number) => Promise<Answer>;
  readonly end: () => Promise<void>;
}

/** @param file beside this one @param options handed over as its only argument */
export async function child(
  file: string,
  options: object,
  nodeOptions: readonly string[] = [],
): Promise<Child> {
  const path = fileURLToPath(new URL(file, import.meta.url));
  const started = fork(path, [JSON.stringify(options)], {
    execArgv: ['--import', HOOK, ...nodeOptions],
    stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
  });
  const ask = <Answer>(message: object, withinMs = 60_000) =>
    new Promise<Answer>((resolve, reject) => {
      const gone = (code: number | null) => reject(new Error(`${file} ended with ${code}`));
      const timer = setTimeout(
        () => reject(new Error(`${file} said nothing for ${withinMs} ms to ${JSON.stringify(message)}`)),
        withinMs,
      );
      started.once('exit', gone);
      started.once('message', (answer) => {
        clearTimeout(timer);
        started.off('exit', gone);
        resolve(answer as Answer);
      });
      started.send(message);
    });
  await ask({ do: 'ready' });
  return {
    pid: started.pid as number,
    process: started,
    ask,
    end: async () => {
      if (started.exitCode !== null || started.signalCode !== null) return;
      const exit = once(started, 'exit');
      started.kill('SIGKILL');
      await exit;
    },
  };
}

/** The other side: answers one message after the other. */
export function answering(act: (message: { readonly do: string }) => object | Promise<object>): void {
  process.on('message', async (message) => process.send?.(await act(message as { do: string })));
  // Whoever measures went away: so do we.
  process.on('disconnect', () => process.exit(0));
}

export const optionsGiven = <Options>(): Options => JSON.parse(process.argv[2] ?? '{}') as Options;

export const pause = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms));
