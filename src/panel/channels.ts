// Which lines a station's history has: the journal's own, so that a picture of this hour
// and one of last winter show the same thing. Contents are one line there, with a least and a most, and two here.
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
