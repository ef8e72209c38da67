// Seven days twice: the sums beside each other, and both lines in each picture.
import type { Message } from '../../../language/message.ts';
import type { WhatIf, WhatIfRun } from '../../contract.ts';
import { Chart, type Line } from '../parts/chart.tsx';
import { standing } from '../state/live.ts';
import { sentence, t } from '../texts.ts';
import { duration, inUnit, mass, number, share, unitOf, volume } from '../units.ts';

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;

type Done = Extract<WhatIf, { stage: 'done' }>;

export function Outcome({ outcome }: { readonly outcome: Done }) {
  const { now, changed, tookMs } = outcome;
  return (
    <>
      <Sums now={now.sums} changed={changed.sums} />
      <WouldAlarm label={t('what-if.alarms-now')} alarms={now.sums.alarms} />
      <WouldAlarm label={t('what-if.alarms-changed')} alarms={changed.sums.alarms} />
      <Pair
        outcome={outcome}
        line="reserve"
        label={t('what-if.line-reserve')}
        unit="%"
        convert={(value) => 100 * value}
      />
      <Pair
        outcome={outcome}
        line="delivered"
        label={t('what-if.line-delivered')}
        unit={unitOf.volume()}
        convert={inUnit.volume}
      />
      {Object.keys(now.lines)
        .filter((name) => name.startsWith('contents:') && !standing.value?.systemIds.includes(name.slice(9)))
        .map((name) => (
          <Pair
            key={name}
            outcome={outcome}
            line={name}
            label={t('what-if.line-contents', {
              vessel: standing.value?.vessels[name.slice(9)]?.name ?? name,
            })}
            unit={unitOf.volume()}
            convert={inUnit.volume}
          />
        ))}
      <p class="limit">
        {t('what-if.assumes')} {t('what-if.took', { time: duration(tookMs) })}
      </p>
    </>
  );
}

function WouldAlarm({ label, alarms }: { readonly label: string; readonly alarms: readonly Message[] }) {
  if (alarms.length === 0) return null;
  return (
    <>
      <h3>{label}</h3>
      <ul class="would">
        {alarms.map((words) => (
          <li key={JSON.stringify(words)}>{sentence(words)}</li>
        ))}
      </ul>
    </>
  );
}

function Sums({ now, changed }: { readonly now: WhatIfRun['sums']; readonly changed: WhatIfRun['sums'] }) {
  const rows: readonly (readonly [string, (sums: WhatIfRun['sums']) => string])[] = [
    [t('what-if.delivered'), (sums) => volume(sums.deliveredL)],
    [t('what-if.least-reserve'), (sums) => share(sums.leastReserveShare)],
    [t('what-if.batches'), (sums) => String(sums.batches)],
    [t('what-if.salt'), (sums) => mass(sums.saltKg, 1)],
    [t('what-if.tasks'), (sums) => String(sums.tasks)],
    [t('what-if.ready'), (sums) => share(sums.readyShare)],
    [t('what-if.trips'), (sums) => String(sums.trips)],
    [t('what-if.alarms'), (sums) => String(sums.alarms.length)],
  ];
  return (
    <table class="sums">
      <thead>
        <tr>
          <td />
          <th scope="col">{t('what-if.as-now')}</th>
          <th scope="col">{t('what-if.changed')}</th>
        </tr>
      </thead>
      <tbody>
        {rows.map(([label, write]) => (
          <tr key={label}>
            <th scope="row">{label}</th>
            <td>{write(now)}</td>
            <td class={write(now) === write(changed) ? '' : 'differs'}>{write(changed)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Pair(props: {
  readonly outcome: Done;
  readonly line: string;
  readonly label: string;
  readonly unit: string;
  readonly convert: (value: number) => number;
}) {
  const { outcome, line, label, unit, convert } = props;
  const { now, changed } = outcome;
  const values = (run: WhatIfRun) =>
    (run.lines[line] ?? []).map((value) => (value === null ? null : convert(value)));
  const lines: Line[] = [
    { name: t('what-if.as-now'), least: values(now), most: values(now) },
    { name: t('what-if.changed'), least: values(changed), most: values(changed) },
  ];
  return (
    <Chart
      label={label}
      unit={unit}
      atMs={now.hours.map((hour) => hour * HOUR_MS)}
      lines={lines}
      fromMs={0}
      toMs={7 * DAY_MS}
      daily
      write={(value) => `${number(value, 0)}\u00a0${unit}`}
      writeAt={(ms) => t('what-if.day', { day: number(ms / DAY_MS, 0) })}
    />
  );
}
