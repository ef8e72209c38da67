// Two runs side by side, with today's targets and with changed ones. One question at a time: a second one ends the first.
import { Worker } from 'node:worker_threads';
import type { State } from '../control/process/state.ts';
import type { Plant } from '../station/plant.ts';
import { builtFile } from './built.ts';
import type { WhatIf, WhatIfRun } from './contract.ts';

/** A run that takes longer than this by the wall is given up. */
const LONGEST_MS = 5 * 60_000;

export interface WhatIfs {
  /** @returns the number to ask for its outcome with */
  readonly begin: (now: Plant, changed: Plant, state: State) => number;
  readonly outcome: (id: number) => WhatIf | null;
  readonly close: () => Promise<void>;
}

type Told = { readonly share: number } | { readonly result: WhatIfRun };

export function whatIfs(): WhatIfs {
  let id = 0;
  let outcome: WhatIf | null = null;
  let workers: Worker[] = [];

  const end = async (): Promise<void> => {
    const ending = workers;
    workers = [];
    await Promise.all(ending.map((worker) => worker.terminate()));
  };

  return {
    begin: (now, changed, state) => {
      void end();
      id += 1;
      const mine = id;
      const beganMs = performance.now();
      const shares = [0, 0];
      outcome = { stage: 'running', share: 0 };
      const set = (next: WhatIf): void => {
        if (mine === id) outcome = next;
      };
      const startMinute = state.clock.trusted ? state.clock.minuteOfDay : 0;
      const started = [now, changed].map((plant) => runOf({ plant, state, startMinute }));
      workers = started.map(({ worker }) => worker);
      for (const [i, { worker }] of started.entries())
        worker.on('message', (told: Told) => {
          if (!('share' in told)) return;
          shares[i] = told.share;
          set({ stage: 'running', share: ((shares[0] ?? 0) + (shares[1] ?? 0)) / 2 });
        });
      Promise.all(started.map(({ result }) => result)).then(
        ([first, second]) => {
          const tookMs = Math.round(performance.now() - beganMs);
          if (first && second) set({ stage: 'done', now: first, changed: second, tookMs });
        },
        (error: unknown) => {
          set({ stage: 'failed', words: error instanceof Error ? error.message : String(error) });
          if (mine === id) void end();
        },
      );
      return mine;
    },
    outcome: (asked) => (asked === id ? outcome : null),
    close: end,
  };
}

function runOf(workerData: { plant: Plant; state: State; startMinute: number }): {
  worker: Worker;
  result: Promise<WhatIfRun>;
} {
  const worker = new Worker(builtFile('what-if-worker.js'), {
    workerData,
    resourceLimits: { maxOldGenerationSizeMb: 512 },
  });
  const result = new Promise<WhatIfRun>((resolve, reject) => {
    const late = setTimeout(() => {
      reject(new Error('the simulated days took too long'));
      void worker.terminate();
    }, LONGEST_MS);
    worker.on('message', (told: Told) => {
      if ('result' in told) resolve(told.result);
    });
    worker.on('error', reject);
    worker.on('exit', () => {
      clearTimeout(late);
      reject(new Error('the simulated days were ended before they were done'));
    });
  });
  // Whoever asked a second question no longer waits for the first.
  result.catch(() => {});
  return { worker, result };
}
