// The books: each batch's record, the exchange against plan, the salt in store, the purifier over the months.
import { useEffect, useState } from 'preact/hooks';
import type { BatchRecord, LedgerDay, SaltStock } from '../../contract.ts';
import { Scroll } from '../parts/scroll.tsx';
import { read } from '../state/api.ts';
import { live, seq, standing } from '../state/live.ts';
import { date, moment } from '../state/time.ts';
import { t } from '../texts.ts';
import { duration, mass, number, salinity, share, temperature, volume } from '../units.ts';
import { Membrane } from './membrane.tsx';
import { SaltStore } from './salt-store.tsx';
import { weeksOf } from './store.ts';

export interface BooksNow {
  readonly batches: readonly BatchRecord[];
  readonly ledger: readonly LedgerDay[];
  readonly salt: SaltStock | null;
}

const REFRESH_MS = 15_000;
/** A share of less than this says nothing. */
const LEAST_PLANNED_L = 1;

export function Books() {
  const [books, setBooks] = useState<BooksNow | null>(null);
  const load = () => {
    read<BooksNow>('api/books').then(setBooks, () => {});
  };
  useEffect(() => {
    load();
    const again = setInterval(load, REFRESH_MS);
    return () => clearInterval(again);
  }, []);
  if (books === null || seq.value < 0) return <p class="first">&hellip;</p>;
  return (
    <div class="books">
      <Batches batches={books.batches} />
      <div class="happened">
        {standing.value?.saltStock ? <SaltStore salt={books.salt} onCounted={load} /> : null}
        <Weeks ledger={books.ledger} />
        <Membrane ledger={books.ledger} />
      </div>
    </div>
  );
}

function Batches({ batches }: { readonly batches: readonly BatchRecord[] }) {
  return (
    <section class="panel" aria-labelledby="batches-head">
      <h2 id="batches-head">{t('books.batches')}</h2>
      {batches.length === 0 ? (
        <p class="reason">{t('books.no-batches')}</p>
      ) : (
        <Scroll label={t('books.table')}>
          <table class="stacks">
            <thead>
              <tr>
                {(
                  [
                    'number',
                    'began',
                    'took',
                    'salt',
                    'trims',
                    'salinity',
                    'temperature',
                    'yield',
                    'delivered',
                  ] as const
                ).map((column) => (
                  <th key={column} scope="col">
                    {t(`books.${column}`)}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {batches.map((batch) => (
                <Batch key={`${batch.number}-${batch.beganMs}`} batch={batch} />
              ))}
            </tbody>
          </table>
        </Scroll>
      )}
    </section>
  );
}

function Batch({ batch }: { readonly batch: BatchRecord }) {
  const { acceptedMs, acceptedSalinity, acceptedC, yieldKgPerKg, endedMs, beganMs } = batch;
  return (
    <tr>
      <th scope="row">
        <span class="stacked">{t('books.number')} </span>
        {batch.number}
      </th>
      <td data-head={t('books.began')}>{moment(beganMs)}</td>
      <td data-head={t('books.took')}>
        {acceptedMs !== null
          ? duration(acceptedMs - beganMs)
          : endedMs === null
            ? t('books.under-way')
            : '\u2013'}
      </td>
      <td data-head={t('books.salt')}>{batch.saltAddedKg > 0 ? mass(batch.saltAddedKg) : '\u2013'}</td>
      <td data-head={t('books.trims')}>{batch.trims}</td>
      <td data-head={t('books.salinity')}>
        {acceptedSalinity === null ? '\u2013' : salinity(acceptedSalinity)}
      </td>
      <td data-head={t('books.temperature')}>{acceptedC === null ? '\u2013' : temperature(acceptedC)}</td>
      <td data-head={t('books.yield')}>{yieldKgPerKg === null ? '\u2013' : number(yieldKgPerKg, 3)}</td>
      <td data-head={t('books.delivered')}>
        {batch.deliveredL === null ? '\u2013' : volume(batch.deliveredL)}
      </td>
    </tr>
  );
}

function Weeks({ ledger }: { readonly ledger: readonly LedgerDay[] }) {
  const systems = Object.keys(live.units.value?.exchange ?? {});
  return (
    <section class="panel" aria-labelledby="weeks-head">
      <h2 id="weeks-head">{t('books.weeks')}</h2>
      {systems.map((system) => {
        const weeks = weeksOf(ledger, system);
        if (weeks.length === 0)
          return (
            <p key={system} class="reason">
              {t('books.no-weeks')}
            </p>
          );
        return (
          <div key={system}>
            {systems.length > 1 ? <h3>{standing.value?.vessels[system]?.name}</h3> : null}
            <Scroll
              label={t('books.weeks-table', { system: standing.value?.vessels[system]?.name ?? system })}
            >
              <table class="stacks">
                <thead>
                  <tr>
                    <th scope="col">{t('books.week')}</th>
                    <th scope="col">{t('books.planned')}</th>
                    <th scope="col">{t('books.delivered')}</th>
                    <th scope="col">{t('books.drained')}</th>
                    <th scope="col">{t('books.share')}</th>
                  </tr>
                </thead>
                <tbody>
                  {weeks.slice(0, 12).map((week) => (
                    <tr key={week.from}>
                      <th scope="row">
                        <span class="stacked">{t('books.week')} </span>
                        {date(Date.parse(`${week.from}T12:00:00Z`))}
                      </th>
                      <td data-head={t('books.planned')}>
                        {week.plannedL === null ? '\u2013' : volume(week.plannedL)}
                      </td>
                      <td data-head={t('books.delivered')}>{volume(week.deliveredL)}</td>
                      <td data-head={t('books.drained')}>{volume(week.drainedL)}</td>
                      <td data-head={t('books.share')}>
                        {week.plannedL !== null && week.plannedL >= LEAST_PLANNED_L
                          ? share(week.deliveredL / week.plannedL)
                          : '\u2013'}
                      </td>
                    </tr>
                  ))}
                </tbody>
              </table>
            </Scroll>
          </div>
        );
      })}
    </section>
  );
}
