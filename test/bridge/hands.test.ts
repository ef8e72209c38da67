// When a device that says `on` counts as pressed by somebody's hand, and when it does not.
import { describe, expect, it } from 'vitest';
import { handsOf } from '../../src/bridge/hands.ts';
import type { Input } from '../../src/control/guard/types.ts';
import { plant } from './rig.ts';

const [actuator = ''] = Object.values(plant.actuators).flatMap(({ id, feedback }) =>
  feedback === null ? [] : [id],
);
const obeysWithinMs = plant.actuators[actuator]?.feedback?.withinMs ?? 0;
const says = (on: boolean, live = true): Input => ({ type: 'feedback', actuator, on, live });
const press: Input = { type: 'foreign-command', actuator, on: true, retained: false };

function begin() {
  let nowMs = 0;
  const pressed: string[] = [];
  const hands = handsOf(
    plant,
    () => nowMs,
    (id) => pressed.push(id),
  );
  return {
    ...hands,
    pressed,
    hear: (input: Input) => hands.seen([input]).slice(1),
    pass: (ms: number) => {
      nowMs += ms;
    },
    /** Told off, obeyed, and said so. */
    rest() {
      hands.commanded(actuator, false);
      nowMs += obeysWithinMs;
      hands.seen([says(false)]);
    },
  };
}

describe('a device that says on', () => {
  it('after it has rested was pressed: a foreign command, once, until it has rested again', () => {
    const { rest, hear, pressed, pass } = begin();
    rest();
    expect(hear(says(true))).toEqual([press]);
    expect(hear(says(true))).toEqual([]);
    pass(1000);
    expect(hear(says(false))).toEqual([]);
    expect(hear(says(true))).toEqual([press]);
    expect(pressed).toEqual([actuator, actuator]);
  });

  it.each<[string, (hands: ReturnType<typeof begin>) => void]>([
    [
      'because we told it to',
      ({ rest, commanded }) => {
        rest();
        commanded(actuator, true);
      },
    ],
    [
      'when nothing was said to it on this connection',
      ({ hear }) => {
        hear(says(false));
      },
    ],
    [
      'and never said off, which is a relay that does not obey',
      ({ commanded, pass }) => {
        commanded(actuator, false);
        pass(1e6);
      },
    ],
    [
      'while it still has time to obey: an old word may be on its way',
      ({ commanded, hear }) => {
        commanded(actuator, false);
        hear(says(false));
      },
    ],
    [
      'after the connection was another',
      ({ rest, forget }) => {
        rest();
        forget();
      },
    ],
    [
      'after it was away',
      ({ rest, hear }) => {
        rest();
        hear({ type: 'bad-feedback', actuator, reason: 'offline' });
      },
    ],
  ])('is no press %s', (_, before) => {
    const hands = begin();
    before(hands);
    expect(hands.hear(says(true))).toEqual([]);
    expect(hands.pressed).toEqual([]);
  });

  it('only out of the store is history', () => {
    const { rest, hear } = begin();
    rest();
    expect(hear(says(true, false))).toEqual([]);
    expect(hear(says(true))).toEqual([press]);
  });
});
