// The station: drawing and words in the same rows, from the tap down to the drain.
import type { OwnText } from '../../../station/plant.ts';
import { Cell } from '../drawing/cell.tsx';
import { seenOf } from '../drawing/looks.ts';
import { drawing } from '../drawing/measures.ts';
import { Mark } from '../drawing/symbols.tsx';
import { live, standing } from '../state/live.ts';
import { preferences } from '../state/preferences.ts';
import { t } from '../texts.ts';
import { sensorWord } from './checks.tsx';
import { Target } from './target.tsx';
import { VesselFacts } from './vessel.tsx';

export function Station() {
  const at = drawing.value;
  const station = standing.value;
  if (at === null || station === null) return null;
  return (
    <section class="station" id="station" aria-labelledby="station-head">
      <h2 id="station-head">{t('station.head')}</h2>
      <ol class="column" style={{ '--cell': `${at.cellPx}px` }}>
        {at.column.rows.map((row, index) => {
          const vessel = row.kind === 'vessel' ? station.vessels[row.id] : undefined;
          return (
            <li key={`${row.kind}-${row.id}`} class={`row ${row.kind}`}>
              <Cell row={row} index={index} />
              <div class="facts">{vessel ? <VesselFacts vessel={vessel} /> : <Target id={row.id} />}</div>
            </li>
          );
        })}
      </ol>
      <Trays />
      <Legend />
    </section>
  );
}

/** What the owner wrote, in the reader's language. */
const ownWords = (text: OwnText): string =>
  typeof text === 'string' ? text : text[preferences.value.language];

/** Leak sensors lie on the floor, under everything. */
function Trays() {
  const trays = Object.values(standing.value?.sensors ?? {}).filter(({ measures }) => measures === 'leak');
  if (trays.length === 0) return null;
  return (
    <ul class="trays" aria-label={t('station.trays')}>
      {trays.map(({ id, name, tray }) => {
        const now = live.sensors.value?.[id];
        const seen = seenOf(now);
        const wet = seen === 'fresh' && now?.value === true;
        return (
          <li key={id} class={wet ? 'wet' : seen}>
            <Mark kind={wet ? 'urgent' : seen === 'fresh' ? 'passes' : seen} />
            <span>
              {name}: <b>{sensorWord(id)}</b>
              {tray === null ? null : <span class="limit"> {ownWords(tray)}</span>}
            </span>
          </li>
        );
      })}
    </ul>
  );
}

function Legend() {
  return (
    <details class="legend">
      <summary>{t('legend.head')}</summary>
      <dl>
        <dt>
          <svg width="26" height="18" aria-hidden="true">
            <rect class="certain" width="26" height="18" />
          </svg>
        </dt>
        <dd>{t('legend.certain')}</dd>
        <dt>
          <svg width="26" height="18" aria-hidden="true">
            <rect class="possible" width="26" height="18" />
          </svg>
        </dt>
        <dd>{t('legend.possible')}</dd>
        <dt>
          <svg width="26" height="18" aria-hidden="true">
            <path class="brim" d="M0 9H26" />
          </svg>
        </dt>
        <dd>{t('legend.brim')}</dd>
        {(['yes', 'maybe', 'no'] as const).map((running) => (
          <>
            <dt key={`mark-${running}`}>
              <svg width="26" height="18" aria-hidden="true">
                <path class={`pipe runs-${running}`} d="M0 9H26" />
              </svg>
            </dt>
            <dd key={`words-${running}`}>{t(`legend.pipe-${running}`)}</dd>
          </>
        ))}
      </dl>
    </details>
  );
}
