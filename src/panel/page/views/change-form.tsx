// The targets that a person may try: each with its present value beside it. What is as now is not part of the change.
import { useId, useState } from 'preact/hooks';
import type { Change, Standing } from '../../contract.ts';
import { readNumber } from '../parts/number-field.tsx';
import { preferences } from '../state/preferences.ts';
import { t } from '../texts.ts';
import { DIGITS, fromUnit, inUnit, number, unitOf } from '../units.ts';

interface Field {
  readonly key: string;
  readonly label: string;
  readonly unit: string;
  readonly digits: number;
  /** In the person's unit. */
  readonly now: number;
  readonly put: (value: number) => Change;
}

export function ChangeForm(props: {
  readonly station: Standing;
  readonly onChange: (change: Change) => void;
}) {
  const { station, onChange } = props;
  const fields = fieldsOf(station);
  const [values, setValues] = useState<Readonly<Record<string, string>>>({});
  const quiet = station.process.quietHours;
  const [hours, setHours] = useState<Hours>(quiet);
  const tell = (next: Readonly<Record<string, string>>, nextHours: Hours) => {
    const parts = fields.flatMap((field) => {
      const value = readNumber(next[field.key] ?? '');
      const isSame = value === null || number(value, field.digits) === number(field.now, field.digits);
      return isSame ? [] : [field.put(value)];
    });
    onChange(merged([...parts, ...hoursChange(quiet, nextHours)]));
  };
  return (
    <div class="change-form">
      {fields.map((field) => (
        <FieldRow
          key={field.key}
          field={field}
          onText={(text) => {
            const next = { ...values, [field.key]: text };
            setValues(next);
            tell(next, hours);
          }}
        />
      ))}
      <QuietHours
        hours={hours}
        onHours={(next) => {
          setHours(next);
          tell(values, next);
        }}
      />
    </div>
  );
}

function FieldRow({ field, onText }: { readonly field: Field; readonly onText: (text: string) => void }) {
  const id = useId();
  const { label, unit, now, digits } = field;
  const written = now.toFixed(digits);
  return (
    <p class="field">
      <label for={id}>
        {label}{' '}
        <span class="limit">({t('what-if.now', { value: `${number(now, digits)}\u00a0${unit}` })})</span>
      </label>
      <input
        id={id}
        type="text"
        inputMode="decimal"
        autocomplete="off"
        defaultValue={preferences.value.language === 'de' ? written.replace('.', ',') : written}
        onInput={(event) => onText(event.currentTarget.value)}
      />
    </p>
  );
}

function fieldsOf({ process, vessels }: Standing): Field[] {
  const degree = unitOf.temperature() === 'degF' ? '\u00b0F' : '\u00b0C';
  const exchange = Object.entries(process.exchange).flatMap(([system, aims]): Field[] => {
    const name = vessels[system]?.name ?? system;
    return [
      {
        key: `${system}.perDay`,
        label: t('what-if.per-day', { system: name }),
        unit: '%',
        digits: 1,
        now: 100 * aims.perDayShare,
        put: (value) => ({ exchange: { [system]: { perDayShare: value / 100 } } }),
      },
      {
        key: `${system}.step`,
        label: t('what-if.step', { system: name }),
        unit: unitOf.volume(),
        digits: 1,
        now: inUnit.volume(aims.stepL),
        put: (value) => ({ exchange: { [system]: { stepL: fromUnit.volume(value) } } }),
      },
    ];
  });
  return [
    ...exchange,
    {
      key: 'batch',
      label: t('what-if.batch'),
      unit: unitOf.volume(),
      digits: DIGITS.volume(process.batch.contentsL),
      now: inUnit.volume(process.batch.contentsL),
      put: (value) => ({ batchL: fromUnit.volume(value) }),
    },
    {
      key: 'salinity',
      label: t('what-if.salinity'),
      unit: unitOf.salinity(),
      digits: DIGITS.salinity(),
      now: inUnit.salinity(process.salinity.target),
      put: (value) => ({ salinity: fromUnit.salinity(value) }),
    },
    ...(process.temperature === null
      ? []
      : [
          {
            key: 'temperature',
            label: t('what-if.temperature'),
            unit: degree,
            digits: 1,
            now: inUnit.temperature(process.temperature.targetC),
            put: (value: number) => ({ temperatureC: fromUnit.temperature(value) }),
          },
        ]),
    {
      key: 'reserve',
      label: t('what-if.reserve'),
      unit: '%',
      digits: 0,
      now: 100 * process.reserveShare,
      put: (value) => ({ reserveShare: value / 100 }),
    },
  ];
}

type Hours = { readonly fromMinute: number; readonly toMinute: number } | null;

function QuietHours({ hours, onHours }: { readonly hours: Hours; readonly onHours: (hours: Hours) => void }) {
  const id = useId();
  const usual = { fromMinute: 22 * 60, toMinute: 6 * 60 };
  return (
    <fieldset class="field">
      <legend>{t('what-if.quiet')}</legend>
      <label class="tick">
        <input
          type="checkbox"
          checked={hours === null}
          onChange={(event) => onHours(event.currentTarget.checked ? null : usual)}
        />
        <span>{t('what-if.quiet-none')}</span>
      </label>
      {hours === null ? null : (
        <div class="two">
          {(['from', 'to'] as const).map((end) => (
            <p key={end}>
              <label for={`${id}-${end}`}>{t(`what-if.quiet-${end}`)}</label>
              <input
                id={`${id}-${end}`}
                type="time"
                value={clockOf(end === 'from' ? hours.fromMinute : hours.toMinute)}
                onInput={(event) => {
                  const minute = minuteOf(event.currentTarget.value);
                  if (minute !== null)
                    onHours(
                      end === 'from' ? { ...hours, fromMinute: minute } : { ...hours, toMinute: minute },
                    );
                }}
              />
            </p>
          ))}
        </div>
      )}
    </fieldset>
  );
}

const two = (value: number): string => String(value).padStart(2, '0');
const clockOf = (minute: number): string => `${two(Math.floor(minute / 60))}:${two(minute % 60)}`;

function minuteOf(text: string): number | null {
  const match = /^(\d\d):(\d\d)$/u.exec(text);
  return match === null ? null : Number(match[1]) * 60 + Number(match[2]);
}

function hoursChange(before: Hours, now: Hours): Change[] {
  if (before?.fromMinute === now?.fromMinute && before?.toMinute === now?.toMinute) return [];
  return [{ quietHours: now === null ? null : { fromMinute: now.fromMinute, toMinute: now.toMinute } }];
}

/** Parts of one change: those of one system belong together. */
function merged(parts: readonly Change[]): Change {
  const whole: Change = Object.assign({}, ...parts);
  const systems: Record<string, { perDayShare?: number; stepL?: number }> = {};
  for (const { exchange } of parts)
    for (const [id, aims] of Object.entries(exchange ?? {}))
      systems[id] = Object.assign(systems[id] ?? {}, aims);
  return Object.keys(systems).length > 0 ? { ...whole, exchange: systems } : whole;
}
