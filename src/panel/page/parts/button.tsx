// Buttons that can't be pressed while what they act on is the past, or by those who may only look.
import type { ComponentChildren } from 'preact';
import { me } from '../state/api.ts';
import { isOld } from '../state/live.ts';

export const mayAct = (): boolean => me.value?.role === 'act' && !isOld.value;

export function Act(props: {
  readonly children: ComponentChildren;
  readonly onPress: () => void;
  readonly kind?: 'main' | 'plain' | 'grave';
  readonly disabled?: boolean;
}) {
  const { children, onPress, kind = 'plain', disabled = false } = props;
  return (
    <button type="button" class={`button ${kind}`} disabled={disabled || !mayAct()} onClick={onPress}>
      {children}
    </button>
  );
}
