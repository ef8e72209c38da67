// The panel beside a running service: it sees every step and hands requests on; the service never waits for it.
import type { Bridge } from '../bridge/bridge.ts';
import type { State } from '../control/state.ts';
import { memorySource } from '../panel/memory-source.ts';
import { type Panel, startPanel } from '../panel/server.ts';
import type { Plant } from '../station/plant.ts';

export interface PageOptions {
  readonly plant: Plant;
  readonly state: State;
  readonly bridge: Pick<Bridge<State>, 'ask' | 'turns'>;
  /** 0: any free one. */
  readonly port: number;
  /** The moment of the first step in a simulated day; null: the wall's. */
  readonly simulatedFromMs: number | null;
}

/** @throws Error where the port is taken, or the page was not built */
export async function showPage({ plant, state, bridge, port, simulatedFromMs }: PageOptions): Promise<Panel> {
  const simulated = simulatedFromMs !== null;
  const source = memorySource({
    plant,
    state,
    simulated,
    startMs: simulatedFromMs ?? Date.now(),
    send: (id, request) => bridge.ask(id, request),
  });
  bridge.turns.subscribe({
    next: ({ state: now, effects, beat }) =>
      source.observe(now, effects, beat.elapsedMs, simulated ? undefined : Date.now()),
    error: () => {},
  });
  return startPanel({ source, port });
}
