// How the station shows itself as a Homie device, with every default filled in. It is no part of the plant: how somebody
// is told of a station changes nothing about how it runs, and must not make its saved state another station's.
import type { StationFile } from './station.generated.ts';

export interface HomieSettings {
  readonly domain: string;
  readonly qos: 1 | 2;
  readonly log: 'off' | 'error' | 'warn' | 'info';
  readonly stopOnBroadcast: boolean;
}

export function homieSettings(announce: StationFile['announce']): HomieSettings {
  const { domain = 'homie', qos = 2, log = 'warn', stopOnBroadcast = false } = announce?.homie ?? {};
  return { domain, qos, log, stopOnBroadcast };
}
