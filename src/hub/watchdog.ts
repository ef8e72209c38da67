// What a service manager wants to hear (sd_notify(3)): ready, alive, stopping, and a line for people.
//
// Alive is said after a completed control tick and at no other moment: a bare timer would go on telling the manager that all
// is well while the loop hangs. Node has no datagram sockets of the Unix kind (tried: `dgram` refuses the type), and a native
// module for one message every ten seconds is more to look after than the program that every such system has: systemd-notify,
// measured (two busy cores, systemd 252): 27 ms until it is gone, 5 ms of them work, and 5 ms of our loop for starting it;
// once in ten seconds with `WatchdogSec=30`.
import { spawn } from 'node:child_process';

export interface Watchdog {
  /** A control tick is complete: its commands are on the wire. */
  readonly ticked: () => void;
  /** A line for people, for example `systemctl status`. */
  readonly says: (words: string) => void;
  readonly stopping: () => void;
}

export interface WatchdogOptions {
  readonly environment: Readonly<Record<string, string | undefined>>;
  /** Monotonic, ms. */
  readonly monotonicMs: () => number;
  readonly failed: (words: string) => void;
  readonly send?: (lines: readonly string[], done: (failure: string | null) => void) => void;
}

const SILENT: Watchdog = { ticked: () => {}, says: () => {}, stopping: () => {} };

/** Silent where no service manager listens. */
export function watchdogOf({
  environment,
  monotonicMs,
  failed,
  send = systemdNotify,
}: WatchdogOptions): Watchdog {
  if (environment.NOTIFY_SOCKET === undefined || environment.NOTIFY_SOCKET === '') return SILENT;
  const everyMs = intervalOf(environment);
  let toldMs = Number.NEGATIVE_INFINITY;
  let isReady = false;
  let words: string | null = null;
  let isBusy = false;
  let hasFailed = false;

  const tell = (lines: readonly string[]): void => {
    isBusy = true;
    send(lines, (failure) => {
      isBusy = false;
      if (failure !== null && !hasFailed) failed(failure);
      hasFailed = failure !== null;
    });
  };
  return {
    ticked: () => {
      const nowMs = monotonicMs();
      const isDue = nowMs - toldMs >= everyMs;
      // One at a time: a manager that does not take them must not make us start hundreds of processes.
      if (isBusy || (isReady && !isDue && words === null)) return;
      const lines = [
        ...(isReady ? [] : ['READY=1']),
        'WATCHDOG=1',
        ...(words === null ? [] : [`STATUS=${words}`]),
      ];
      isReady = true;
      words = null;
      toldMs = nowMs;
      tell(lines);
    },
    says: (line) => {
      words = line.replaceAll(/[\r\n]+/gu, ' ').slice(0, 200);
    },
    stopping: () => tell(['STOPPING=1']),
  };
}

/** A third of what the manager waits, so that two may get lost; without a watchdog only words go out, when there are any. */
function intervalOf({ WATCHDOG_USEC, WATCHDOG_PID }: Readonly<Record<string, string | undefined>>): number {
  const isForUs = WATCHDOG_PID === undefined || WATCHDOG_PID === String(process.pid);
  const microseconds = Number(WATCHDOG_USEC);
  return isForUs && microseconds > 0 ? microseconds / 3000 : Number.POSITIVE_INFINITY;
}

const PATIENCE_MS = 5000;

function systemdNotify(lines: readonly string[], done: (failure: string | null) => void): void {
  // It waits until the manager has read the message: before that it must not go, or nobody knows whose message it was.
  const child = spawn('systemd-notify', [...lines], {
    stdio: ['ignore', 'ignore', 'pipe'],
    timeout: PATIENCE_MS,
  });
  let words = '';
  child.stderr?.on('data', (chunk) => {
    words = `${words}${chunk}`.slice(0, 300);
  });
  child.once('error', (error) => done(`systemd-notify can't be started: ${error.message}`));
  child.once('exit', (code) =>
    done(code === 0 ? null : `systemd-notify ended with ${code}: ${words.trim()}`),
  );
}
