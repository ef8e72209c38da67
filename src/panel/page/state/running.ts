// What the station does at this moment, for the question of the same name.
import type { RowStanding } from '../../contract.ts';
import { sentence, t } from '../texts.ts';
import { duration } from '../units.ts';
import { alarmHref, type Fact } from './fact.ts';
import { atMs, live, standing } from './live.ts';
import { stopped } from './stopped.ts';
import { clock } from './time.ts';

/** Water that nobody told to flow, and a device that nobody told to be on: whatever the units say, not nothing happens. */
export function uncommanded(): readonly Fact[] {
  const rows = live.rows.value ?? {};
  const held = (standing.value?.rows ?? []).filter(({ key }) => rows[key]?.holds);
  const said = (which: readonly RowStanding['finding'][], head: string): readonly Fact[] =>
    held.flatMap(({ key, finding, words }): Fact[] =>
      which.includes(finding)
        ? [{ doing: { mark: 'urgent', head, words: stopped(sentence(words)), href: alarmHref(key) } }]
        : [],
    );
  return [
    ...said(['flow-at-rest', 'level-at-rest'], t('doing.flows')),
    ...said(['on-unasked'], t('doing.unasked')),
  ];
}

/** What the units do, and else what flows all the same. */
export function running(): readonly Fact[] {
  const units = live.units.value;
  if (units === null) return [{ doing: { mark: 'stale', head: t('unknown'), words: '', href: '#now' } }];
  const { batch, refill } = units;
  const busy = Object.values(units.exchange).find(({ step }) => step !== 'rest');
  const said = (head: string, words: string): Fact => ({
    doing: { mark: 'runs', head, words: `${stopped(words)} ${when()}`.trim(), href: '#doing' },
  });
  if (busy !== undefined) return [said(t('unit.exchange'), sentence(busy.words))];
  if (batch.procedure === 'running')
    return [
      said(
        batch.stage === 'ready' ? t('doing.ready') : t('doing.batch', { number: batch.number }),
        sentence(batch.words),
      ),
    ];
  if (refill.procedure === 'running') return [said(t('unit.refill'), sentence(refill.words))];
  const named = (how: 'yes' | 'maybe') =>
    Object.entries(live.routes.value ?? {})
      .filter(([, route]) => route.running === how)
      .map(([id]) => standing.value?.routes[id]?.name ?? id)
      .join(', ');
  const flows = named('yes');
  if (flows !== '')
    return [{ doing: { mark: 'runs', head: t('doing.flows'), words: stopped(flows), href: '#station' } }];
  const perhaps = named('maybe');
  if (perhaps !== '')
    return [
      {
        doing: {
          mark: 'stale',
          head: t('doing.not-proven'),
          words: stopped(`${t('runs.maybe')}: ${perhaps}`),
          href: '#station',
        },
      },
    ];
  return [];
}

/** `Ready about 14:20`: a forecast, so never to the minute when it is far. */
function when(): string {
  const forecast = live.forecast.value;
  const units = live.units.value;
  if (forecast === null || units === null || units.batch.stage === 'ready') return '';
  if (units.batch.procedure !== 'running' || forecast.readyInMs === null) return '';
  const about =
    forecast.readyInMs < 86_400_000 ? clock(atMs.value + forecast.readyInMs) : duration(forecast.readyInMs);
  return t(forecast.waitsForPerson ? 'doing.ready-after-person' : 'doing.ready-about', {
    time: about,
    lasts: duration(forecast.readyInMs),
  });
}
