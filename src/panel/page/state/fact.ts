// One thing that is so, and what it says to each of the four questions.
import type { MarkKind } from '../drawing/symbols.tsx';

export interface AnswerNow {
  readonly mark: MarkKind;
  readonly head: string;
  readonly words: string;
  readonly href: string;
}

export type Question = 'right' | 'doing' | 'why' | 'todo';
export type Fact = Readonly<Partial<Record<Question, AnswerNow>>>;

export const alarmHref = (key: string): string => `#alarms/${encodeURIComponent(key)}`;
