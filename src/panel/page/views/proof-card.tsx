// Proof tests among the tasks: the one under way before everything else, then what failed,
// then those that nobody did in time.
import { Mark } from '../drawing/symbols.tsx';
import { live } from '../state/live.ts';
import { dueWords, failed, overdue, proofHref, sensorName } from '../state/proofs.ts';
import { sentence, t } from '../texts.ts';

export function ProofUnderWay() {
  const test = live.proofTests.value?.underWay ?? null;
  if (test === null) return null;
  return (
    <article class="task">
      <h3>
        <Mark kind="person" />
        {t('proofs.under-way', { sensor: sensorName(test.sensor) })}
      </h3>
      <p>{sentence(test.words)}</p>
      <p class="buttons large">
        <a class="button main" href={proofHref(test.row)}>
          {t('proofs.show')}
        </a>
      </p>
    </article>
  );
}

export function ProofsFailed() {
  if (live.proofTests.value?.underWay) return null;
  return (
    <>
      {failed.value.map(({ row, moved }) => (
        <article class="task" key={row.key}>
          <h3>
            <Mark kind="faulty" />
            {t('proofs.has-failed', { sensor: moved })}
          </h3>
          <p>{t('proofs.failed-care')}</p>
          <p class="buttons large">
            <a class="button main" href={proofHref(row.key)}>
              {t('proofs.show')}
            </a>
          </p>
        </article>
      ))}
    </>
  );
}

export function ProofsOverdue() {
  const late = overdue.value;
  const [first] = late;
  if (first === undefined || live.proofTests.value?.underWay) return null;
  return (
    <article class="task">
      <h3>
        <Mark kind="person" />
        {t('proofs.count-overdue', { count: late.length })}
      </h3>
      <p>
        {t('proofs.first', { sensor: first.moved })} <span class="limit">{dueWords(first)}</span>
      </p>
      <p class="buttons large">
        <a class="button main" href={proofHref(first.row.key)}>
          {t('proofs.to-first')}
        </a>
      </p>
    </article>
  );
}
