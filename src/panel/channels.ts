// Which lines a station's history has, and their values at one moment: the journal's own, so that a picture of this hour
// and one of last winter show the same thing. Contents are one line there, with a least and a most, and two here.
import type { State } from '../control/process/state.ts';
import { channelsOf as linesOf } from '../journal/channels.ts';
import type { Plant } from '../station/plant.ts';
import type { Channel } from './contract.ts';

/** What the journal calls it; its names are `quantity/subject`. */
const QUANTITY: Readonly<Record<Channel['kind'], string>> = {
  least: 'contents',
  most: 'contents',
  salinity: 'salinity',
  temperature: 'temperature',
  flow: 'flow',
  output: 'output-at-25',
  delivered: 'delivered',
  difference: 'difference',
  reserve: 'reserve',
};

export const nameOf = ({ kind, subject }: Pick<Channel, 'kind' | 'subject'>): string =>
  subject === null ? QUANTITY[kind] : `${QUANTITY[kind]}/${subject}`;

/** Every line that this station can have a value for. */
export function channelsOf(plant: Plant): readonly Channel[] {
  const names = linesOf(plant).map(({ name }) => name.split('/'));
  return (Object.keys(QUANTITY) as Channel['kind'][]).flatMap((kind) =>
    names
      .filter(([quantity, subject]) => quantity === QUANTITY[kind] && isSeen(plant, kind, subject))
      .map(
        ([, subject = null]): Channel => ({
          id: subject === null ? kind : `${kind}:${subject}`,
          kind,
          subject,
        }),
      ),
  );
}

/** Water without a probe has a salinity only while a batch is made of it. */
const isSeen = (plant: Plant, kind: Channel['kind'], vessel = ''): boolean =>
  kind !== 'salinity' || vessel === plant.mixingId || plant.vessels[vessel]?.conductivity !== null;

/** What each line says of a state; null where nothing fresh says anything. */
export function samplerOf(
  plant: Plant,
  channels: readonly Channel[],
): (state: State) => readonly (number | null)[] {
  const lines = linesOf(plant);
  const reads = channels.map((channel) => {
    const now = lines.find(({ name }) => name === nameOf(channel))?.now ?? (() => null);
    return (state: State): number | null => {
      const value = now(state);
      return typeof value === 'number' || value === null ? value : value[channel.kind === 'least' ? 0 : 1];
    };
  });
  return (state) => reads.map((read) => read(state));
}
