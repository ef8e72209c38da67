// While a tray is wet and says so, nothing is told to run: whoever steps into the water must find everything off.
import { SLOW_REACTION_MS } from './bounds.ts';
import type { Check } from './check.ts';
import { notebook, perNight } from './check.ts';

export function flood(): Check {
  const { note, findings } = notebook();
  let wetSinceMs: number | null = null;
  const traysHeard = perNight((plant, troubles): readonly string[] =>
    troubles.some(({ kind }) => UNHEARD.includes(kind))
      ? []
      : Object.values(plant.sensors).flatMap(({ id, measures }) => (measures === 'leak' ? [id] : [])),
  );
  return {
    name: 'flood',
    promise: 'while a tray says that it is wet, nothing is told to run',
    see: (seen) => {
      const { plant, twin, nowMs, sent } = seen;
      const wet = traysHeard(seen).some((id) => twin.present(id) === true);
      wetSinceMs = wet ? (wetSinceMs ?? nowMs) : null;
      if (wetSinceMs === null || nowMs - wetSinceMs < SLOW_REACTION_MS) return;
      for (const { actuator, on } of sent) {
        const kind = plant.actuators[actuator]?.kind;
        const words = `${actuator} was told to be on while a tray was wet`;
        if (on && kind !== 'signal') note({ check: 'flood', harm: null, about: actuator, words });
      }
    },
    findings,
  };
}

const UNHEARD = [
  'silent',
  'offline',
  'power-cut',
  'link-lost',
  'link-mute',
  'messages-lost',
  'sends',
  'chatters',
  'service-away',
  'memory-lost',
  'file-changed',
];
