// The drawing's part of one row. What it shows stands beside it in words, so screen readers pass it by.
import { standing } from '../state/live.ts';
import type { Row } from './column.ts';
import { LoopAtVessel, LoopRow } from './loop.tsx';
import { DEVICE_PX, DROP_PX, drawing } from './measures.ts';
import { Pipes } from './pipes.tsx';
import { VesselPicture } from './vessel.tsx';

export function Cell({ row, index }: { readonly row: Row; readonly index: number }) {
  const at = drawing.value;
  const station = standing.value;
  if (at === null || station === null) return null;
  const { kind, id } = row;
  const box = kind === 'vessel' ? at.boxes[id] : undefined;
  const devices = kind === 'route' || kind === 'loop' ? (station.routes[id]?.through.length ?? 0) : 0;
  const least = box ? DROP_PX + box.height + 18 : kind === 'vessel' ? 34 : DEVICE_PX * devices + 14;
  return (
    <div class="cell" style={{ width: `${at.cellPx}px`, minHeight: `${least}px` }}>
      <svg width={at.cellPx} height="100%" aria-hidden="true">
        <Pipes pieces={at.column.pieces[index] ?? []} at={at} />
        {kind === 'vessel' ? <LoopAtVessel vessel={id} at={at} /> : null}
        {kind === 'vessel' && station.vessels[id] ? (
          <VesselPicture vessel={station.vessels[id]} at={at} />
        ) : null}
        {kind === 'loop' ? <LoopRow route={id} at={at} /> : null}
      </svg>
    </div>
  );
}
