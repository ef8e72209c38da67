// A vessel: what it certainly holds is solid, what it may hold is hatched; the brim less its margin is a dotted line; floats
// are marks on the wall where they hang, filled when wet, hollow when dry, crossed when nobody can say.
import type { Vessel } from '../../../station/plant.ts';
import { live, standing } from '../state/live.ts';
import { lookOf, seenOf } from './looks.ts';
import { DROP_PX, type Drawing } from './measures.ts';
import type { Box } from './scale.ts';
import { Device } from './symbols.tsx';

export function VesselPicture({ vessel, at }: { readonly vessel: Vessel; readonly at: Drawing }) {
  const box = at.boxes[vessel.id];
  const x = at.laneX(0);
  if (box === undefined) return <Terminal role={vessel.role} x={x} />;
  const left = x - box.width / 2;
  return (
    <g transform={`translate(${left} ${DROP_PX})`}>
      <Water vessel={vessel} box={box} />
      <Walls box={box} brim={box.surface(vessel.capacityL - vessel.marginL)} />
      <Floats vessel={vessel} box={box} />
      <Heaters vessel={vessel} box={box} />
      <Loop vessel={vessel} box={box} />
    </g>
  );
}

/** Where the station begins and ends: a tap, a grating. */
function Terminal({ role, x }: { readonly role: Vessel['role']; readonly x: number }) {
  return role === 'waste' ? (
    <path
      class="terminal"
      d={`M${x - 20} ${DROP_PX}h40M${x - 13} ${DROP_PX}v8M${x} ${DROP_PX}v8M${x + 13} ${DROP_PX}v8`}
    />
  ) : (
    <path class="terminal" d={`M${x - 16} 8h32M${x} 8v14M${x - 9} 4v8M${x + 9} 4v8`} />
  );
}

function Water({ vessel, box }: { readonly vessel: Vessel; readonly box: Box }) {
  const held = live.vessels.value?.[vessel.id];
  if (held === undefined) return null;
  const certain = box.surface(held.leastL);
  // An interval thinner than a hair would look like certainty.
  const possible = Math.max(box.surface(held.mostL), held.mostL > held.leastL ? certain + 2 : certain);
  const { width, height } = box;
  return (
    <>
      <rect class="certain" y={height - certain} width={width} height={certain} />
      <rect class="possible" y={height - possible} width={width} height={possible - certain} />
    </>
  );
}

function Walls({ box, brim }: { readonly box: Box; readonly brim: number }) {
  const { width, height, lying } = box;
  const round = lying ? Math.min(14, height / 3) : 3;
  return (
    <>
      <path class="brim" d={`M0 ${height - brim}H${width}`} />
      <path
        class="wall"
        d={
          lying
            ? `M${round} 0H${width - round}Q${width} 0 ${width} ${round}V${height - round}Q${width} ${height} ${width - round} ${height}H${round}Q0 ${height} 0 ${height - round}V${round}Q0 0 ${round} 0z`
            : `M0-3V${height - round}q0 ${round} ${round} ${round}H${width - round}q${round} 0 ${round}-${round}V-3`
        }
      />
    </>
  );
}

function Floats({ vessel, box }: { readonly vessel: Vessel; readonly box: Box }) {
  const { sensors } = standing.value ?? {};
  return (
    <>
      {Object.entries(vessel.floats).map(([position, id]) => {
        const now = live.sensors.value?.[id];
        const seen = seenOf(now);
        const wet = now?.value === true;
        const y = box.height - box.surface(sensors?.[id]?.markL ?? 0);
        return (
          <g
            key={position}
            class={`float ${seen} ${wet ? 'wet' : 'dry'}`}
            transform={`translate(${box.width + (position === 'overflow' ? 21 : 7)} ${y})`}
          >
            {position === 'overflow' ? <path d="M-14 0h8" /> : null}
            <rect x="-6" y="-3.5" width="12" height="7" rx="3.5" />
            {seen === 'fresh' ? null : <path d="M-4-2.5l8 5M4-2.5l-8 5" />}
          </g>
        );
      })}
    </>
  );
}

function Heaters({ vessel, box }: { readonly vessel: Vessel; readonly box: Box }) {
  const { heaters, actuators } = standing.value ?? {};
  const here = Object.values(heaters ?? {}).filter((heater) => heater.vessel === vessel.id);
  return (
    <>
      {here.map(({ id, actuator }, index) => {
        const device = actuators?.[actuator];
        if (device === undefined) return null;
        const look = lookOf(device, live.actuators.value?.[actuator], live.rows.value);
        return (
          <Device key={id} kind="heater" look={look} x={box.width / 2 + 36 * index} y={box.height - 14} />
        );
      })}
    </>
  );
}

/** Circulation: an arrow that turns in the water while it is proven. */
function Loop({ vessel, box }: { readonly vessel: Vessel; readonly box: Box }) {
  const loop = Object.values(standing.value?.routes ?? {}).find(
    (route) => route.loop && route.from === vessel.id,
  );
  if (loop === undefined) return null;
  const running = live.routes.value?.[loop.id]?.running ?? 'maybe';
  const y = Math.max(16, box.height * 0.42);
  return (
    <g class={`turn runs-${running}`} transform={`translate(${box.width / 2} ${y})`}>
      <path class="ring" d="M-11-1a11 8 0 0 1 20-4M11 1a11 8 0 0 1-20 4" />
      <path class="head" d="M12-8v6h-6zM-12 8V2h6z" />
    </g>
  );
}
