// Input images as the service sees them by the wall clock: each message a step of its own, a tick every 250 ms, an echo a
// second, the clock once a minute; recorded while the real core ran a station through its water.
import type { Event, Input } from '../../../src/control/guard/types.ts';
import { initial } from '../../../src/control/process/initial.ts';
import type { State } from '../../../src/control/process/state.ts';
import { step } from '../../../src/control/step.ts';
import type { Taken } from '../../../src/journal/keeping.ts';
import { makeTwin } from '../../../src/simulate/twin.ts';
import type { Plant } from '../../../src/station/plant.ts';
import { taskOf } from '../../tools/english.ts';

export function recorded(plant: Plant, hours: number, take: (taken: Taken) => void): State {
  const twin = makeTwin(plant, 7);
  let state = initial(plant);
  const one = (event: Event) => {
    const done = step(plant, state, event);
    state = done.state;
    take({ event, effects: done.effects, state });
    for (const effect of done.effects) {
      if (effect.do === 'command') twin.command(effect.actuator, effect.on, effect.leaseMs);
      if (effect.do === 'ask') twin.ask(effect.vessel, taskOf(plant, effect.task));
    }
  };
  one({ elapsedMs: 0, inputs: [{ type: 'link', up: true }], tick: false });
  for (let ticks = 0; ticks < hours * 14_400; ticks++) {
    twin.advance(250);
    const told = twin
      .told()
      .map((request, at): Input => ({ type: 'request', id: `${ticks}-${at}`, request }));
    for (const input of [...twin.inputs(), ...told]) one({ elapsedMs: 0, inputs: [input], tick: false });
    if (ticks % 4 === 0) one({ elapsedMs: 0, inputs: [{ type: 'echo' }], tick: false });
    one({ elapsedMs: 250, inputs: ticks % 240 === 0 ? [twin.clock()] : [], tick: true });
  }
  return state;
}
