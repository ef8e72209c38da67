// How the station shows itself as a Homie device, with every default filled in. It is no part of the plant: how somebody
// is told of a station changes nothing about how it runs, and must not make its saved state another station's.
import { readFile } from './file/declare.ts';
import { Announce, type StationFile, type StationValues } from './file/station.ts';

type Values = StationValues['announce'];
export type HomieSettings = Values['homie'] & Pick<Values, 'discovery'>;

export function homieSettings(announce: StationFile['announce']): HomieSettings {
  const { homie, discovery } = readFile(Announce(), announce ?? {}).values;
  return { ...homie, discovery };
}
