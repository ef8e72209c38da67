// The marks of the drawing. Valve and pump follow ISO 14617 (two triangles, a triangle in a circle); everything else is a
// plain picture of the thing. On is filled, off is hollow, unproven is dashed; colour stays away until something is wrong.
import type { ComponentChildren } from 'preact';
import type { Priority } from '../../../control/guard/types.ts';
import type { ActuatorStanding } from '../../contract.ts';

export type DeviceLook = 'on' | 'off' | 'unproven' | 'contradicts';

const SHAPES: Readonly<Record<ActuatorStanding['kind'], ComponentChildren>> = {
  valve: <path d="M-9-11h18L-9 11H9z" />,
  pump: (
    <>
      <circle r="12" />
      <path class="inner" d="M-8-3.5h16L0 9z" />
    </>
  ),
  heater: (
    <>
      <rect x="-15" y="-9" width="30" height="18" rx="2" />
      <path class="inner line" d="M-10 4l4-8 4 8 4-8 4 8 4-8" />
    </>
  ),
  contactor: <path d="M-9-9h18v18H-9zM-5 5L5-5" />,
  doser: <path d="M-11-11h22L4 2v9h-8V2z" />,
  signal: <path d="M0-11L11 0 0 11-11 0z" />,
};

export function Device(props: {
  readonly kind: ActuatorStanding['kind'];
  readonly look: DeviceLook;
  readonly x?: number | string;
  readonly y?: number | string;
  readonly turned?: boolean;
}) {
  const { kind, look, x = 0, y = 0, turned = false } = props;
  return (
    <svg x={x} y={y} class={`device ${look}`} overflow="visible" aria-hidden="true">
      <g transform={turned ? 'rotate(180)' : undefined}>{SHAPES[kind]}</g>
      {look === 'contradicts' ? (
        <g class="wrong" transform="translate(13 -11)">
          <path d="M0-7L7 6H-7z" />
          <path class="sign" d="M0-3v4M0 3.6v.4" />
        </g>
      ) : null}
    </svg>
  );
}

export type MarkKind =
  | Priority
  | 'fine'
  | 'forbidden'
  | 'passes'
  | 'stale'
  | 'faulty'
  | 'person'
  | 'latched'
  | 'runs'
  | 'rests';

/** A shape for each meaning, so that none is told by its colour alone. */
const MARKS: Readonly<Record<MarkKind, ComponentChildren>> = {
  urgent: (
    <>
      <path class="solid" d="M10 1.5L19 17.5H1z" />
      <path class="sign" d="M10 7v5M10 14.6v.6" />
    </>
  ),
  soon: (
    <>
      <path class="solid" d="M10 1l9 9-9 9-9-9z" />
      <path class="sign" d="M10 5.6v5.2M10 13.6v.6" />
    </>
  ),
  notice: (
    <>
      <circle class="solid" cx="10" cy="10" r="8.5" />
      <path class="sign" d="M10 9v5.4M10 5.6v.6" />
    </>
  ),
  latched: (
    <>
      <rect class="solid" x="3" y="8.5" width="14" height="9.5" rx="1.5" />
      <path class="shackle" d="M6 9V6.5a4 4 0 0 1 8 0V9" />
    </>
  ),
  runs: <path class="solid" d="M5 3l12 7-12 7z" />,
  rests: <circle class="stroke" cx="10" cy="10" r="6.5" />,
  fine: <path class="stroke" d="M3.5 10.5l4.4 4.6L16.5 5" />,
  passes: <path class="stroke" d="M4.5 10.5l3.6 3.8 7.4-8.4" />,
  forbidden: <path class="solid" d="M3 7.5h14v5H3z" />,
  stale: <path class="stroke dashed" d="M10 2.5a7.5 7.5 0 1 1-.01 0M10 6v4.4l3 2" />,
  faulty: <path class="stroke" d="M4.5 4.5l11 11M15.5 4.5l-11 11" />,
  person: (
    <>
      <circle class="solid" cx="10" cy="5.6" r="3.6" />
      <path class="solid" d="M3 18.5c0-5 3-7.4 7-7.4s7 2.4 7 7.4z" />
    </>
  ),
};

export function Mark({ kind }: { readonly kind: MarkKind }) {
  return (
    <svg class={`mark ${kind}`} viewBox="0 0 20 20" aria-hidden="true" focusable="false">
      {MARKS[kind]}
    </svg>
  );
}
