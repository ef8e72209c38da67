// Requests on their way: each has an id of its own and an end to its patience, and there are never many.
import type { Command } from './commands.ts';

export type Asked = Extract<Command, { readonly is: 'asked' }>;

export interface Settled {
  readonly command: Asked;
  readonly accepted: boolean;
  readonly words: string;
}

const MOST = 32;
const PATIENCE_MS = 10_000;

export class Requests {
  readonly #boot: string;
  readonly #refuse: (words: string) => void;
  readonly #waiting = new Map<string, { readonly command: Asked; readonly timer: NodeJS.Timeout }>();
  #number = 0;

  constructor(boot: string, refuse: (words: string) => void) {
    this.#boot = boot;
    this.#refuse = refuse;
  }

  /** The payload for the request topic; null where too much is asked at once. */
  ask(command: Asked): string | null {
    if (this.#waiting.size >= MOST) {
      this.#refuse('too many commands at once: set them one after the other');
      return null;
    }
    const id = `homie-${this.#boot}-${++this.#number}`;
    const timer = setTimeout(() => {
      this.#waiting.delete(id);
      this.#refuse('the station does not answer: see whether it runs, then ask again');
    }, PATIENCE_MS);
    this.#waiting.set(id, { command, timer });
    return JSON.stringify({ id, ...command.body });
  }

  /** Null: not an answer to us. */
  settle(answer: unknown): Settled | null {
    const { id, accepted, message } = (answer ?? {}) as {
      id?: unknown;
      accepted?: unknown;
      message?: { text?: unknown };
    };
    const waiting = typeof id === 'string' ? this.#waiting.get(id) : undefined;
    if (waiting === undefined || typeof id !== 'string') return null;
    clearTimeout(waiting.timer);
    this.#waiting.delete(id);
    return { command: waiting.command, accepted: accepted === true, words: String(message?.text ?? '') };
  }

  /** The connection ended: nobody knows any more what becomes of them, and nobody is asked a second time. */
  forget(): void {
    for (const { timer } of this.#waiting.values()) clearTimeout(timer);
    this.#waiting.clear();
  }
}
