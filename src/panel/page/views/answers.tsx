// Four questions, four answers, always at the top.

import { isPriority } from '../../../control/guard/types.ts';
import { Mark } from '../drawing/symbols.tsx';
import { answers } from '../state/answers.ts';
import type { AnswerNow } from '../state/fact.ts';
import { type Key, t } from '../texts.ts';

/** @param compact only the answers' heads, where another view needs the room */
export function Answers({ compact }: { readonly compact: boolean }) {
  const { right, doing, why, todo } = answers.value;
  return (
    <nav class={compact ? 'answers compact' : 'answers'} aria-label={t('answers.label')}>
      <Answer question="answers.right" answer={right} loud />
      <Answer question="answers.doing" answer={doing} />
      <Answer question="answers.why" answer={why} />
      <Answer question="answers.do" answer={todo} />
    </nav>
  );
}

function Answer(props: { readonly question: Key; readonly answer: AnswerNow; readonly loud?: boolean }) {
  const { question, answer, loud = false } = props;
  const { mark, head, words, href } = answer;
  return (
    <a class={`answer ${loud && isPriority(mark) ? mark : ''}`} href={href}>
      <span class="question">{t(question)}</span>
      <span class="head">
        <Mark kind={mark} />
        {head}
      </span>
      <span class="words">{words}</span>
    </a>
  );
}
