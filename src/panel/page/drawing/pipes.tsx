// One row's share of the pipes. Rows grow with their text, so lines go to 100 % of whatever the row's height turns out to be.
import { live, standing } from '../state/live.ts';
import type { Piece } from './column.ts';
import { lookOf, pipeClass } from './looks.ts';
import { DEVICE_PX, DROP_PX, type Drawing } from './measures.ts';
import { Device } from './symbols.tsx';

export function Pipes({ pieces, at }: { readonly pieces: readonly Piece[]; readonly at: Drawing }) {
  return (
    <>
      {pieces.map((piece) => (
        <Pipe key={piece.route} piece={piece} at={at} />
      ))}
    </>
  );
}

function Pipe({ piece, at }: { readonly piece: Piece; readonly at: Drawing }) {
  const { route, lane, part, upward } = piece;
  const x = at.laneX(lane);
  const drawn = pipeClass(live.routes.value?.[route]);
  switch (part) {
    case 'passes':
      return <line class={drawn} x1={x} x2={x} y1="-1" y2="100%" />;
    case 'devices':
      return (
        <>
          <line class={drawn} x1={x} x2={x} y1="-1" y2="100%" />
          <Devices route={route} x={x} upward={upward} />
        </>
      );
    case 'arrives':
      return <Arrival piece={piece} at={at} drawn={drawn} />;
    case 'leaves':
      return <Leaving piece={piece} at={at} drawn={drawn} />;
  }
}

/** Valves and pumps in the order in which water meets them. */
function Devices({
  route,
  x,
  upward,
}: {
  readonly route: string;
  readonly x: number;
  readonly upward: boolean;
}) {
  const { routes, actuators } = standing.value ?? {};
  const through = routes?.[route]?.through ?? [];
  return (
    <>
      {through.map((id, index) => {
        const device = actuators?.[id];
        if (device === undefined) return null;
        const look = lookOf(device, live.actuators.value?.[id], live.rows.value);
        const y = DEVICE_PX * (index + 0.75);
        return <Device key={id} kind={device.kind} look={look} x={x} y={y} turned={upward} />;
      })}
    </>
  );
}

type Part = { readonly piece: Piece; readonly at: Drawing; readonly drawn: string };

/** Over the brim and down: water falls in, so that a siphon finds no way back. */
function Arrival({ piece, at, drawn }: Part) {
  const { lane, upward } = piece;
  const x = at.laneX(lane);
  const middle = at.laneX(0);
  if (lane === 0)
    return (
      <>
        <line class={drawn} x1={x} x2={x} y1="-1" y2={DROP_PX - 5} />
        <path class={`${drawn} head`} d={`M${x - 5} ${DROP_PX - 7}h10l-5 8z`} />
      </>
    );
  const over = 6 + 4 * (lane - 1);
  const into = middle + 10 * lane;
  return (
    <>
      {upward ? <line class={drawn} x1={x} x2={x} y1={over} y2="100%" /> : null}
      <path class={drawn} d={`M${x} ${upward ? over + 2 : 0}V${over}H${into}V${DROP_PX - 5}`} />
      <path class={`${drawn} head`} d={`M${into - 5} ${DROP_PX - 7}h10l-5 8z`} />
    </>
  );
}

function Leaving({ piece, at, drawn }: Part) {
  const { lane, route, upward } = piece;
  const x = at.laneX(lane);
  const from = standing.value?.routes[route]?.from ?? '';
  const box = at.boxes[from];
  const bottom = box === undefined ? 22 : DROP_PX + box.height;
  const middle = at.laneX(0);
  if (lane === 0) return <line class={drawn} x1={x} x2={x} y1={bottom} y2="100%" />;
  const y = box === undefined ? 14 : bottom - 6;
  const edge = middle + (box === undefined ? 16 : box.width / 2);
  return (
    <>
      <path class={drawn} d={`M${edge} ${y}H${x}`} />
      <line class={drawn} x1={x} x2={x} y1={upward ? 0 : y} y2={upward ? y : '100%'} />
    </>
  );
}
