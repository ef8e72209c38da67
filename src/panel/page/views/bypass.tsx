// Bypasses: what is switched off of the protection, by whom and for how much longer, on every view; and asking for one where
// the kind of row allows it. The core bounds the time, refuses while what it guards may run, and counts it down.

import { useState } from 'preact/hooks';
import type { Message } from '../../../language/message.ts';
import type { RowStanding, Sections } from '../../contract.ts';
import { Mark } from '../drawing/symbols.tsx';
import { Act, mayAct } from '../parts/button.tsx';
import { ForAWhile } from '../parts/for-a-while.tsx';
import { ask } from '../state/api.ts';
import { bypassOf, live, standing } from '../state/live.ts';
import { rowStanding } from '../state/targets.ts';
import { person, sentence, t, told } from '../texts.ts';
import { duration } from '../units.ts';

const MINUTE_MS = 60_000;

/** Under the head of every view, for as long as there is one. */
export function Bypassed() {
  const all = live.bypasses.value ?? [];
  if (all.length === 0) return null;
  return (
    <section class="bypassed" aria-label={t('bypass.label')}>
      <ul>
        {all.map((one) => (
          <li key={one.row}>
            <Mark kind="soon" />
            <Lasting bypass={one} isNamed />
          </li>
        ))}
      </ul>
    </section>
  );
}

function Lasting({
  bypass,
  isNamed,
}: {
  readonly bypass: Sections['bypasses'][number];
  readonly isNamed: boolean;
}) {
  const { row, words, reason, who, leftMinutes } = bypass;
  const time = duration(leftMinutes * MINUTE_MS);
  const only = rowStanding(row)?.bypassIf ?? null;
  const condition = only === null ? null : t('bypass.while', { condition: told(only) });
  return (
    <>
      <p>
        <b>{t('bypass.left', { time })}</b> {isNamed ? `${sentence(words)}. ` : ''}
        {t('bypass.by', { who: person(who), reason })} {condition} <span class="tag">{row}</span>
      </p>
      {mayAct() ? (
        <Act onPress={() => void ask({ ask: 'end-bypass', row })}>
          {t('bypass.end')}
          <span class="visually-hidden"> {row}</span>
        </Act>
      ) : null}
    </>
  );
}

/** Beside a row that forbids, or that would: how long it is off yet, or the way to switch it off where that may be. */
export function BypassOf({ row }: { readonly row: RowStanding }) {
  const [isOpen, setOpen] = useState(false);
  const lasting = bypassOf(row.key);
  if (lasting)
    return (
      <div class="lasting">
        <Lasting bypass={lasting} isNamed={false} />
      </div>
    );
  const { holds = false } = live.rows.value?.[row.key] ?? {};
  if (row.bypassIf === null || !holds || !mayAct() || !standing.value?.asks.includes('bypass')) return null;
  return (
    <p class="buttons">
      <Act onPress={() => setOpen(true)}>
        {t('bypass.open')}
        <span class="visually-hidden"> {row.key}</span>
      </Act>
      {isOpen ? <BypassDialog row={row} onlyIf={row.bypassIf} onClose={() => setOpen(false)} /> : null}
    </p>
  );
}

const MINUTES = [15, 60, 120, 240];

function BypassDialog(props: {
  readonly row: RowStanding;
  readonly onlyIf: Message;
  readonly onClose: () => void;
}) {
  const { row, onlyIf, onClose } = props;
  const most = (standing.value?.limits.bypassMostMs ?? 0) / MINUTE_MS;
  return (
    <ForAWhile
      of="bypass"
      minutes={MINUTES.filter((minutes) => minutes <= most)}
      care={t('bypass.care', { condition: told(onlyIf) })}
      onSend={(aside) => void ask({ ask: 'bypass', row: row.key, ...aside })}
      onClose={onClose}
    >
      {sentence(row.words)} <span class="tag">{row.key}</span>
    </ForAWhile>
  );
}
