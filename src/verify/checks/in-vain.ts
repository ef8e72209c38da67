// What does not obey is let go. A device that was told to run and rests may start at any moment, when nobody expects it: a
// loose wire, a hand switch, a plug. A pump against a closed valve boils its water; a tap that brings nothing floods later.
import type { Plant, Route } from '../../station/plant.ts';
import type { Trouble } from '../trial/misfortunes.ts';
import { delayMs, meterMs, SLOW_REACTION_MS } from './bounds.ts';
import type { Check, Seen } from './check.ts';
import { notebook, perNight } from './check.ts';

export function inVain(): Check {
  const { note, findings } = notebook();
  const toldUntilMs = new Map<string, number>();
  const vainMs = new Map<string, number>();
  const count = (
    about: string,
    isVain: boolean,
    elapsedMs: number,
    allowedMs: number,
    words: string,
  ): void => {
    const lastedMs = isVain ? (vainMs.get(about) ?? 0) + elapsedMs : 0;
    vainMs.set(about, lastedMs);
    if (lastedMs <= allowedMs) return;
    const long = `${words} for ${(lastedMs / 1000).toFixed(0)} s; ${(allowedMs / 1000).toFixed(0)} s can not be helped`;
    note({ check: 'in vain', harm: null, about, words: long });
  };
  const honestOf = perNight(honest);
  const devices = (seen: Seen): void => {
    const { twin, nowMs, elapsedMs } = seen;
    for (const { id, allowedMs, words } of honestOf(seen).devices) {
      const isVain = (toldUntilMs.get(id) ?? 0) > nowMs && !twin.isOn(id);
      count(id, isVain, elapsedMs, allowedMs, words);
    }
  };
  const ways = (seen: Seen): void => {
    const { twin, nowMs, elapsedMs } = seen;
    for (const { about, id, through, nothingLpm, allowedMs, words } of honestOf(seen).ways) {
      const isOpen = through.every((device) => (toldUntilMs.get(device) ?? 0) > nowMs && twin.isOn(device));
      const isVain = isOpen && (twin.world.flowLpm[id] ?? 0) < nothingLpm;
      count(about, isVain, elapsedMs, allowedMs, words);
    }
  };
  return {
    name: 'in vain',
    promise: 'what does not pull in, or moves no water, is let go as soon as that can be known',
    see: (seen) => {
      for (const { actuator, on, leaseMs } of seen.sent)
        toldUntilMs.set(actuator, on ? seen.nowMs + leaseMs : 0);
      devices(seen);
      ways(seen);
    },
    findings,
  };
}

/** The devices and routes that can be asked, and how long each may be in vain. */
function honest(plant: Plant, troubles: readonly Trouble[]) {
  const devices = Object.values(plant.actuators).flatMap(({ id, kind, feedback, upstream }) => {
    if (kind === 'signal' || feedback === null || isLiar(troubles, id) || isLiar(troubles, upstream))
      return [];
    // What did not obey changes nothing, so it is heard at its next report; from then on it contradicts its command.
    const heardMs = feedback.republishesMs ?? feedback.maxAgeMs;
    const allowedMs = heardMs + feedback.withinMs + SLOW_REACTION_MS + delayMs(plant, troubles);
    return [{ id, allowedMs, words: `${id} was told to be on and stayed off` }];
  });
  const ways = Object.values(plant.routes).flatMap((route) => {
    if (route.meter === null || isLiar(troubles, route.meter)) return [];
    const { id, through, primingMs, flowLeastLpm } = route;
    const allowedMs = primingMs + meterMs(plant, route) + SLOW_REACTION_MS + delayMs(plant, troubles, route);
    const words = `${id} was kept open and nothing flowed`;
    return [{ about: `${id}, flow`, id, through, nothingLpm: NOTHING * flowLeastLpm, allowedMs, words }];
  });
  return { devices, ways };
}

/** Less than this share of the least flow is nothing. */
const NOTHING = 0.05;

/** What says the contrary of what is can't be found out by asking it. */
const isLiar = (troubles: readonly Trouble[], id: Plant['id'] | Route['meter']): boolean =>
  troubles.some(({ kind, what }) => LIES.includes(kind) && what === id);
const LIES = ['feedback-says', 'says', 'frozen', 'reads-low', 'loses-first', 'resets', 'sends'];
