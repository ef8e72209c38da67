// The purifier's output over the days: slow falls are the membrane. Referred to 25 degC where the inlet has a thermometer.
import { permeateTemperatureDivisor } from '../../../engineering/purification.ts';
import type { LedgerDay } from '../../contract.ts';
import { Chart, type Line } from '../parts/chart.tsx';
import { t } from '../texts.ts';
import { inUnit, number, unitOf } from '../units.ts';

const MINUTE_MS = 60_000;
/** A run of less than this says more about its start than about the membrane. */
const LEAST_RUN_MS = 30 * MINUTE_MS;
const DAY_MS = 86_400_000;

export function Membrane({ ledger }: { readonly ledger: readonly LedgerDay[] }) {
  const days = ledger.filter(({ refillMs }) => refillMs >= LEAST_RUN_MS).toReversed();
  const hasInlet = days.some(({ inletC }) => inletC !== null);
  const hasPurity = days.some(({ purityMsPerCm }) => purityMsPerCm !== null);
  const atMs = days.map(({ day }) => Date.parse(`${day}T12:00:00Z`));
  const first = atMs[0];
  const last = atMs.at(-1);
  return (
    <section class="panel" aria-labelledby="membrane-head">
      <h2 id="membrane-head">{t('books.membrane')}</h2>
      {first === undefined || last === undefined ? (
        <p class="reason">{t('books.membrane-none')}</p>
      ) : (
        <>
          <Chart
            label={t(hasInlet ? 'books.membrane-25' : 'books.membrane-flow')}
            unit={unitOf.flow()}
            atMs={atMs}
            lines={[line(t('books.membrane'), days.map(outputOf))]}
            fromMs={first - DAY_MS}
            toMs={last + DAY_MS}
            fromZero
            daily
            write={(value) => `${number(value, 3)}\u00a0${unitOf.flow()}`}
          />
          {hasPurity ? (
            <Chart
              label={t('books.membrane-purity')}
              unit={'\u00b5S/cm'}
              atMs={atMs}
              lines={[
                line(
                  t('books.membrane'),
                  days.map(({ purityMsPerCm }) => (purityMsPerCm === null ? null : 1000 * purityMsPerCm)),
                ),
              ]}
              fromMs={first - DAY_MS}
              toMs={last + DAY_MS}
              fromZero
              daily
              write={(value) => `${number(value, 0)}\u00a0\u00b5S/cm`}
            />
          ) : null}
          {hasInlet ? null : <p class="limit">{t('books.membrane-cold')}</p>}
          <p class="limit">{t('books.membrane-words')}</p>
        </>
      )}
    </section>
  );
}

const line = (name: string, values: readonly (number | null)[]): Line => ({
  name,
  least: values,
  most: values,
});

function outputOf({ refillL, refillMs, inletC }: LedgerDay): number | null {
  const lpm = refillL / (refillMs / MINUTE_MS);
  // The formula ends at 1 and 45 degC; outside, the measured output is all there is.
  const divisor = inletC === null || inletC < 1 || inletC > 45 ? 1 : permeateTemperatureDivisor(inletC);
  return inUnit.flow(lpm * divisor);
}
