// Now, next, when: each unit in words with what may be asked of it, and the timetable of the batch.
import { useState } from 'preact/hooks';
import type { Unit } from '../../../control/guard/types.ts';
import type { PageRequest, Steer, Words } from '../../contract.ts';
import { Act, mayAct } from '../parts/button.tsx';
import { Dialog } from '../parts/dialog.tsx';
import { ask } from '../state/api.ts';
import { atMs, live, standing } from '../state/live.ts';
import { moment } from '../state/time.ts';
import { unitName } from '../state/waiting.ts';
import { sentence, t } from '../texts.ts';
import { duration, share, volume } from '../units.ts';
import { ExchangeTimetable, Timetable } from './timetable.tsx';

export function Doing() {
  const units = live.units.value;
  const steer = live.steer.value;
  if (units === null || steer === null) return null;
  const exchanges = Object.entries(units.exchange);
  return (
    <section class="doing panel" id="doing" aria-labelledby="doing-head">
      <h2 id="doing-head">{t('doing.head')}</h2>
      {standing.value?.process.refill === null ? null : (
        <UnitCard unit="refill" name={unitName('refill')} asks={steer.refill} now={units.refill} />
      )}
      <UnitCard
        unit="batch"
        name={
          units.batch.number === 0 ? t('unit.batch') : t('unit.batch-number', { number: units.batch.number })
        }
        asks={steer.batch}
        now={units.batch}
      >
        <Timetable />
      </UnitCard>
      {exchanges.map(([id, now], index) => (
        <UnitCard
          key={id}
          unit="exchange"
          name={unitName(id)}
          // One request steers all exchanges: its buttons stand once.
          asks={index === exchanges.length - 1 ? steer.exchange : []}
          now={now}
        >
          <p class="limit">
            {t('exchange.today', { today: volume(now.todayL, 1), yesterday: volume(now.yesterdayL, 1) })}
          </p>
          {now.timetable.length > 0 ? <ExchangeTimetable parts={now.timetable} /> : null}
        </UnitCard>
      ))}
      <Reserve />
      <All />
    </section>
  );
}

function UnitCard(props: {
  readonly unit: Unit;
  readonly name: string;
  readonly asks: readonly Steer[];
  readonly now: { readonly procedure: string; readonly words: Words };
  readonly children?: preact.ComponentChildren;
}) {
  const { unit, name, asks, now, children } = props;
  return (
    <article class="unit">
      <header>
        <h3>{name}</h3>
        <span class={`procedure ${now.procedure}`}>
          {t(`procedure.${now.procedure}` as 'procedure.idle')}
        </span>
      </header>
      <p class="reason">{sentence(now.words)}</p>
      {children}
      <Steering unit={unit} name={name} asks={asks} />
    </article>
  );
}

/** Ending a batch can't be taken back; holding can. */
type Grave = 'stop' | 'abort';
const isGrave = (what: Steer): what is Grave => what === 'stop' || what === 'abort';

function wordOf(unit: Unit | 'all', what: Steer) {
  if (unit === 'all' && (what === 'hold' || what === 'restart')) return `steer.${what}-all` as const;
  // A batch that stands ready and is asked to start is topped up.
  if (what === 'start' && unit === 'batch' && live.units.value?.batch.stage === 'ready')
    return 'steer.top-up';
  return `steer.${what}` as const;
}

function Steering(props: {
  readonly unit: Unit | 'all';
  readonly name: string;
  readonly asks: readonly Steer[];
}) {
  const { unit, name, asks } = props;
  const [sure, setSure] = useState<Grave | null>(null);
  if (asks.length === 0 || !mayAct()) return null;
  const ends = asks.filter(isGrave);
  const send = (what: Steer) => void ask({ ask: what, unit } as PageRequest);
  return (
    <div class="buttons">
      {asks
        .filter((what) => !isGrave(what))
        .map((what) => (
          <Act key={what} onPress={() => send(what)}>
            {t(wordOf(unit, what))}
            {unit === 'all' ? null : <span class="visually-hidden"> {name}</span>}
          </Act>
        ))}
      {ends.length === 0 ? null : (
        <details class="ends">
          <summary>{t('steer.end')}</summary>
          <span class="buttons">
            {ends.map((what) => (
              <Act key={what} onPress={() => setSure(what)}>
                {t(`steer.${what}`)}
                <span class="visually-hidden"> {name}</span>
              </Act>
            ))}
          </span>
        </details>
      )}
      {sure === null ? null : (
        <Dialog title={t(`steer.${sure}-sure`, { unit: name })} onClose={() => setSure(null)}>
          <p>{t(`steer.${sure}-words`)}</p>
          <p class="buttons large">
            <Act kind="plain" onPress={() => setSure(null)}>
              {t('steer.no')}
            </Act>
            <Act
              kind="grave"
              onPress={() => {
                send(sure);
                setSure(null);
              }}
            >
              {t(`steer.${sure}`)}
            </Act>
          </p>
        </Dialog>
      )}
    </div>
  );
}

const anyMay = (what: Steer): boolean => {
  const steer = live.steer.value;
  return steer !== null && [...steer.refill, ...steer.batch, ...steer.exchange].includes(what);
};

/** In reach on every view, whatever is scrolled to. */
export function PauseAll() {
  if (!anyMay('hold') || !mayAct()) return null;
  return (
    <div class="pause-all">
      <Act onPress={() => void ask({ ask: 'hold', unit: 'all' })}>{t('steer.hold-all')}</Act>
    </div>
  );
}

function All() {
  return (
    <div class="all">
      <Steering unit="all" name={t('unit.all')} asks={anyMay('restart') ? ['restart'] : []} />
      <p class="limit">{t('steer.all-words')}</p>
    </div>
  );
}

/** Water on hand, against what is wanted, and when it will be there. */
function Reserve() {
  const forecast = live.forecast.value;
  const wanted = standing.value?.process.reserveShare;
  if (forecast === null || wanted === undefined) return null;
  const { reserveShare, reserveInMs } = forecast;
  const words =
    reserveInMs === 0
      ? t('reserve.there')
      : reserveInMs === null
        ? t('reserve.after-batch')
        : t('reserve.in', { lasts: duration(reserveInMs), moment: moment(atMs.value + reserveInMs) });
  const shown = Math.min(1, wanted > 0 ? reserveShare / wanted : 1);
  return (
    <article class="unit">
      <header>
        <h3>{t('reserve.head')}</h3>
        <span class="procedure">
          {t('reserve.of', { share: share(reserveShare), wanted: share(wanted) })}
        </span>
      </header>
      <div class="bar" aria-hidden="true">
        <span class="bar-filled" style={{ width: `${100 * shown}%` }} />
      </div>
      <p class="reason">{words}</p>
    </article>
  );
}
