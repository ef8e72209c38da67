// Who may do what at the broker: one account for each party, each with the least that it needs. Read off the catalogue.
//
// The rule that everything hangs on: only the service writes a command topic. A sensor writes its own readings, a hub
// writes set topics of the Homie tree, a person writes requests; all three ask, and the service decides.
import type { Wiring } from './catalogue.ts';
import { type Channel, filterOf, type Side } from './channel.ts';
import { filtersOf } from './life.ts';

export interface Account {
  readonly name: string;
  readonly words: string;
  readonly reads: readonly string[];
  readonly writes: readonly string[];
}

/** @param simulated also what a simulated water needs to set the pace: never where a real station hangs on the broker */
export function accountsOf(wiring: Wiring, simulated = false): readonly Account[] {
  const { plant, device, announcements, channels } = wiring;
  const real = channels.filter(({ onlyInLockStep }) => simulated || onlyInLockStep !== true);
  const own = (name: string) => `vatwarden/${plant.id}/${name}`;
  const told = ['status', 'online', 'alarm/+', 'task/+'].map(own);
  return [
    ourSide(`vatwarden-${plant.id}`, 'service', 'the service: `run --username`', real),
    ourSide(`vatwarden-${plant.id}-homie`, 'homie', 'its Homie side: `run --homie --homie-username`', real),
    {
      name: `${plant.id}-hub`,
      words: 'a hub: reads the Homie tree and the messages for it, and sets what is settable there',
      reads: [
        `${device.root}/#`,
        own('online'),
        ...(device.discovery === null ? [] : [own('status')]),
        ...announcements.map(({ topic }) => topic),
      ],
      writes: [...filtersOf(device), ...(device.discovery === null ? [] : [device.discovery.birth])],
    },
    {
      name: `${plant.id}-person`,
      words: 'a person at a panel or a phone: reads what is told, and asks',
      reads: [...told, own('record'), own('answer')],
      writes: [own('request')],
    },
    {
      name: `${plant.id}-watcher`,
      words: 'somebody who only looks on',
      reads: [...told, own('record')],
      writes: [],
    },
    ...deviceAccounts(real),
    ...(simulated ? simulatedAccounts(plant.id, told, own) : []),
  ];
}

export const clockAccount = (station: string): string => `${station}-clock`;
export const narratorAccount = (station: string): string => `${station}-narrator`;

/** Whoever sets the clock can make a minute last a day: these two exist for a simulated station only. */
function simulatedAccounts(
  station: string,
  told: readonly string[],
  own: (name: string) => string,
): readonly Account[] {
  return [
    {
      name: clockAccount(station),
      words: 'SIMULATED STATIONS ONLY: the water that says how far time went',
      reads: [own('online'), own('time/done')],
      writes: [own('time'), own('time/nudge')],
    },
    {
      name: narratorAccount(station),
      words: 'SIMULATED STATIONS ONLY: tells the day from what goes over the wire',
      reads: [...told, own('record'), own('request'), own('answer'), own('time'), own('time/done')],
      writes: [],
    },
  ];
}

function ourSide(name: string, side: Side, words: string, channels: readonly Channel[]): Account {
  const mine = channels.filter((channel) => channel.side === side);
  const where = (action: 'send' | 'receive') =>
    unique(mine.filter(({ does }) => does.includes(action)).map(filterOf));
  return { name, words, reads: where('receive'), writes: where('send') };
}

function deviceAccounts(channels: readonly Channel[]): readonly Account[] {
  const names = unique(channels.flatMap(({ device }) => device?.accounts ?? []));
  return names.map((name) => {
    const mine = channels.filter(({ device }) => device?.accounts.includes(name));
    const where = (does: 'speaks' | 'listens') =>
      unique(mine.filter(({ device }) => device?.does === does).map(filterOf));
    return {
      name,
      words: `a device: ${unique(mine.map(({ words }) => words.split(':')[0] ?? '')).join('; ')}`,
      reads: where('listens'),
      writes: where('speaks'),
    };
  });
}

const unique = (texts: readonly string[]): readonly string[] => [...new Set(texts)];
