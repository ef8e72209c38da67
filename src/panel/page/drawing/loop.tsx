// Circulation as it is plumbed: out at the bottom, through its devices below the vessel, and back over the brim.
import { live, standing } from '../state/live.ts';
import { lookOf, pipeClass } from './looks.ts';
import { DEVICE_PX, DROP_PX, type Drawing } from './measures.ts';
import { Device } from './symbols.tsx';

interface Ends {
  readonly outX: number;
  readonly backX: number;
}

function endsOf(vessel: string, at: Drawing): Ends {
  const box = at.boxes[vessel];
  const middle = at.laneX(0);
  const left = middle - (box?.width ?? 0) / 2;
  return { outX: Math.min(left + 13, middle - 8), backX: left - 15 };
}

const loopsOf = (vessel: string) =>
  Object.values(standing.value?.routes ?? {}).filter((route) => route.loop && route.from === vessel);

/** The part beside the vessel itself. */
export function LoopAtVessel({ vessel, at }: { readonly vessel: string; readonly at: Drawing }) {
  const loop = loopsOf(vessel)[0];
  const box = at.boxes[vessel];
  if (loop === undefined || box === undefined) return null;
  const { outX, backX } = endsOf(vessel, at);
  const drawn = pipeClass(live.routes.value?.[loop.id]);
  return (
    <>
      <line class={drawn} x1={outX} x2={outX} y1={DROP_PX + box.height} y2="100%" />
      <line class={drawn} x1={backX} x2={backX} y1={DROP_PX - 12} y2="100%" />
      <path class={drawn} d={`M${backX} ${DROP_PX - 12}H${outX}V${DROP_PX - 5}`} />
      <path class={`${drawn} head`} d={`M${outX - 5} ${DROP_PX - 7}h10l-5 8z`} />
    </>
  );
}

/** The part below it, with the devices. Only the first loop of a vessel is piped; others show their devices alone. */
export function LoopRow({ route, at }: { readonly route: string; readonly at: Drawing }) {
  const { routes, actuators } = standing.value ?? {};
  const loop = routes?.[route];
  if (loop === undefined) return null;
  const { outX, backX } = endsOf(loop.from, at);
  const bottom = DEVICE_PX * (loop.through.length + 0.25) + 6;
  const drawn = pipeClass(live.routes.value?.[route]);
  const isFirst = loopsOf(loop.from)[0]?.id === route;
  return (
    <>
      {isFirst ? <path class={drawn} d={`M${outX} -1V${bottom}H${backX}V-1`} /> : null}
      {loop.through.map((id, index) => {
        const device = actuators?.[id];
        if (device === undefined) return null;
        const look = lookOf(device, live.actuators.value?.[id], live.rows.value);
        return <Device key={id} kind={device.kind} look={look} x={outX} y={DEVICE_PX * (index + 0.6)} />;
      })}
    </>
  );
}
