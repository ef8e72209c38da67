// Units that stand still, and why.
import { computed } from '@preact/signals';
import type { Id, Message } from '../../../language/message.ts';
import type { Sections, Words } from '../../contract.ts';
import { t } from '../texts.ts';
import { live, standing } from './live.ts';
import { standingAlarms } from './standing-alarms.ts';
import { rowStanding, targetNow } from './targets.ts';

type Units = Sections['units'];

export interface Waiting {
  readonly unit: string;
  readonly words: Words;
  readonly held: boolean;
  /** Nobody but a person starts it. */
  readonly isForPerson?: true;
  /** It makes no headway for longer than it may, and somebody was told. */
  readonly isOverdue?: true;
  /** The row that it waits for, where its words name none. */
  readonly by: Message | null;
}

/** The core says only that it waits; the first row over its routes says for what. */
function refillBlocker(): Message | null {
  for (const id of standing.value?.targets.refill ?? []) {
    const row = rowStanding(targetNow(id)?.by[0]?.key ?? '');
    if (row) return row.words;
  }
  return null;
}

/** What a unit says while it waits. */
const WAITING: readonly Id[] = [
  'moved-so-far',
  'settling-between-steps',
  'waiting-because',
  'waiting-for-batch',
  'waiting-for-fresh-water-to-begin',
  'waiting-for-next-batch',
  'waiting-for-other-system',
  'waiting-for-request',
  'waiting-for-temperature',
  'waiting-full-and-low',
  'waiting-no-clock',
  'waiting-quiet-hours',
  'waiting-to-fill',
];

/** Units that are held, stopped, or wait for something. */
export const waiting = computed<readonly Waiting[]>(() => {
  const units = live.units.value;
  if (units === null) return [];
  const all: [string, Units['refill']][] = [
    ['refill', units.refill],
    ['batch', units.batch],
    ...Object.entries(units.exchange).map(([id, unit]): [string, Units['refill']] => [id, unit]),
  ];
  const starts = standing.value?.policy.starts;
  return all.flatMap(([id, { procedure, words }]): Waiting[] => {
    const overdue = standingAlarms.value.find(({ alarm }) => alarm === `A-10/${id}`);
    if (overdue !== undefined)
      return [{ unit: unitName(id), words: overdue.words, held: false, isOverdue: true, by: null }];
    const starter = id === 'refill' || id === 'batch' ? starts?.[id] : starts?.exchange;
    const isThere = id !== 'refill' || standing.value?.process.refill !== null;
    if (procedure === 'idle' && starter === 'person' && isThere)
      return [
        { unit: unitName(id), words: t('why.person-starts'), held: false, isForPerson: true, by: null },
      ];
    const held = !['running', 'idle', 'complete', 'restarting'].includes(procedure);
    const asked = id === 'batch' && live.task.value !== null;
    const waits = asked || procedure === 'restarting' || WAITING.includes(words.id);
    return held || waits
      ? [{ unit: unitName(id), words, held, by: id === 'refill' && !held ? refillBlocker() : null }]
      : [];
  });
});

export function unitName(id: string): string {
  if (id === 'refill' || id === 'batch') return t(`unit.${id}`);
  const only = (standing.value?.systemIds.length ?? 0) <= 1;
  return only
    ? t('unit.exchange')
    : t('unit.exchange-of', { system: standing.value?.vessels[id]?.name ?? id });
}
