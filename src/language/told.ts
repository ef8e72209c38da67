// What is told to people and to other programs: the sentence, and beside it what it means, so that whoever speaks another language
// can print it anew.
import type { Say } from './english.ts';
import { isMessage, type Message, type Value } from './message.ts';

/** A sentence as it goes over wires. */
export interface Sentence {
  readonly text: string;
  /** What it means; absent where a text came from outside the catalogues. */
  readonly id?: string;
  readonly values?: Readonly<Record<string, Value>>;
}

/** In its order, with what can hurt first: `first` stands before the alarm itself on every surface. */
export type StepKind =
  | 'first'
  | 'caution'
  | 'do'
  | 'consequence'
  | 'check'
  | 'if'
  | 'later'
  | 'clears'
  | 'reset'
  | 'plain';

export interface Step extends Sentence {
  readonly step: StepKind;
}

/** What a person does about an alarm. */
export interface Response extends Sentence {
  readonly steps: readonly Step[];
}

/** Every message a sentence; `words` as `message` with what it means, `response` with its steps. */
export type Told<T> = T extends Message
  ? string
  : T extends readonly (infer E)[]
    ? readonly Told<E>[]
    : T extends object
      ? {
          readonly [K in keyof T as K extends 'words' ? 'message' : K]: K extends 'words'
            ? Sentence
            : K extends 'response'
              ? Response
              : Told<T[K]>;
        }
      : T;

const KINDS: Readonly<Record<string, StepKind>> = {
  'step-first': 'first',
  'step-caution': 'caution',
  'step-do': 'do',
  'step-consequence': 'consequence',
  'step-check': 'check',
  'step-if': 'if',
  'step-later': 'later',
  'step-clears': 'clears',
  'step-reset': 'reset',
};

/** The steps of a response, each with its kind. */
export const stepsIn = (response: Message): readonly { readonly step: StepKind; readonly told: Message }[] =>
  (response.id === 'response' ? (response.values.all as readonly Message[]) : [response])
    .filter(({ id }) => id !== 'nothing')
    .map((told) => ({ step: KINDS[told.id] ?? 'plain', told }));

/** What each step says, without its kind. */
export const toldIn = (response: Message): readonly Message[] =>
  stepsIn(response).flatMap(({ told: { values } }) => (isMessage(values.told) ? [values.told] : []));

/** Is this one of the steps of a response? */
export const asksFor = (response: Message, id: Message['id']): boolean =>
  toldIn(response).some((step) => step.id === id);

/** What a hub, a phone and a log get in one text: electricity before everything else, then what it is, then the steps. */
export function alarmText(message: Sentence, { steps }: Response): string {
  const textOf = (isMeant: (step: StepKind) => boolean) =>
    steps.filter(({ step }) => isMeant(step)).map(({ text }) => text);
  return [
    ...textOf((step) => step === 'first'),
    capital(stopped(message.text)),
    ...textOf((step) => step !== 'first'),
  ].join(' ');
}

const capital = (text: string): string => text.replace(/^\p{Ll}/u, (letter) => letter.toUpperCase());

const stopped = (text: string): string => (/[.!?]$/u.test(text) ? text : `${text}.`);

export const sentenceOf = (say: Say, message: Message): Sentence => ({ text: say(message), ...message });

export const responseOf = (say: Say, response: Message): Response => ({
  ...sentenceOf(say, response),
  steps: stepsIn(response).map(({ step, told }) => ({ step, ...sentenceOf(say, told) })),
});

export const told = <T>(say: Say, value: T): Told<T> => tell(say, value) as Told<T>;

function tell(say: Say, value: unknown): unknown {
  if (isMessage(value)) return say(value);
  if (Array.isArray(value)) return value.map((one) => tell(say, one));
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value).map(([key, one]) => {
      if (key === 'words' && isMessage(one)) return ['message', sentenceOf(say, one)];
      if (key === 'response' && isMessage(one)) return [key, responseOf(say, one)];
      return [key, tell(say, one)];
    }),
  );
}
