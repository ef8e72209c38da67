// What is told to people and to other programs: the sentence, and beside it what it means, so that whoever speaks another language
// can print it anew.
import type { Say } from './english.ts';
import { isMessage, type Message } from './message.ts';

/** Every message a sentence; beside `words` its `message`, beside `mend` its `mending`. */
export type Told<T> = T extends Message
  ? string
  : T extends readonly (infer E)[]
    ? readonly Told<E>[]
    : T extends object
      ? { readonly [K in keyof T]: Told<T[K]> } & Beside<T>
      : T;
type Beside<T> = (T extends { readonly words: Message } ? { readonly message: Message } : unknown) &
  (T extends { readonly mend: Message } ? { readonly mending: Message } : unknown);

const BESIDE: Readonly<Record<string, string>> = { words: 'message', mend: 'mending' };

export const told = <T>(say: Say, value: T): Told<T> => tell(say, value) as Told<T>;

function tell(say: Say, value: unknown): unknown {
  if (isMessage(value)) return say(value);
  if (Array.isArray(value)) return value.map((one) => tell(say, one));
  if (typeof value !== 'object' || value === null) return value;
  const said: Record<string, unknown> = {};
  for (const [key, one] of Object.entries(value)) {
    said[key] = tell(say, one);
    const beside = BESIDE[key];
    if (beside !== undefined && isMessage(one)) said[beside] = one;
  }
  return said;
}
