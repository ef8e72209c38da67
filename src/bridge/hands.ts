// A hand at the device: it says that it is on, and nobody told it to on the wire. A press of its button, its own page, its
// own timer: for the core that is a command by somebody else, whatever way it took.
//
// Only a device that has rested can be pressed. It rests when it was told `off`, has had its time to obey, and has said
// `off` since; an `on` of ours, a lost connection and a reading that is bad end that. A device that never obeyed is row
// I-23's business, not this one's. One press is told once, until the device has rested again.
import type { Input } from '../control/guard/types.ts';
import type { Plant } from '../station/plant.ts';

export interface Hands {
  /** What was just sent. */
  readonly commanded: (actuator: string, on: boolean) => void;
  /** Inputs with what a hand did put behind them. */
  readonly seen: (inputs: readonly Input[]) => readonly Input[];
  readonly forget: () => void;
}

interface Watched {
  /** When it was told `off`, station time; null: it was told `on`, or nothing on this connection. */
  offMs: number | null;
  rested: boolean;
}

/** @param nowMs station time @param pressed for the log */
export function handsOf(plant: Plant, nowMs: () => number, pressed: (actuator: string) => void): Hands {
  const watched = new Map<string, Watched>();
  const watch = (actuator: string): Watched => {
    const known = watched.get(actuator) ?? { offMs: null, rested: false };
    watched.set(actuator, known);
    return known;
  };

  const isPress = ({ actuator, on, live }: Extract<Input, { readonly type: 'feedback' }>): boolean => {
    const device = watch(actuator);
    if (!live || device.offMs === null) return false;
    const obeysWithinMs = plant.actuators[actuator]?.feedback?.withinMs ?? 0;
    const wasRested = device.rested;
    device.rested = !on && nowMs() - device.offMs >= obeysWithinMs;
    return on && wasRested;
  };

  return {
    commanded: (actuator, on) => {
      const device = watch(actuator);
      if (on) Object.assign(device, { offMs: null, rested: false });
      else device.offMs ??= nowMs();
    },
    seen: (inputs) => {
      const presses = inputs.flatMap((input): readonly Input[] => {
        if (input.type === 'bad-feedback') watch(input.actuator).rested = false;
        if (input.type !== 'feedback' || !isPress(input)) return [];
        pressed(input.actuator);
        return [{ type: 'foreign-command', actuator: input.actuator, on: true, retained: false }];
      });
      return presses.length === 0 ? inputs : [...inputs, ...presses];
    },
    forget: () => watched.clear(),
  };
}
