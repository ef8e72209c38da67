// What the places of each English sentence take, as types: an unknown id or a missing place does not compile.
import { type Place, piecesOf } from '../../src/language/places.ts';

const TYPE = { thing: 'string', quantity: 'number', word: 'OwnText | Message', message: 'Message' } as const;
const typeOf = ({ kind, between }: Place): string =>
  between === null ? TYPE[kind] : `readonly ${kind === 'thing' ? 'string' : 'Message'}[]`;

export function placesOf(catalogue: Readonly<Record<string, string>>): string {
  const lines = Object.entries(catalogue).map(([id, sentence]) => {
    const places = piecesOf(sentence).filter((piece) => typeof piece !== 'string');
    const told = new Map(places.map((place) => [place.name, typeOf(place)]));
    const fields = [...told].map(([name, type]) => `readonly ${name}: ${type}`).join('; ');
    const key = /^[a-z]+$/u.test(id) ? id : `'${id}'`;
    return `  readonly ${key}: ${fields === '' ? 'Nothing' : `{ ${fields} }`};`;
  });
  return `// Made by \`npm run generate\` from en.json: what the places of each sentence take.
import type { OwnText } from '../station/plant.ts';
import type { Message } from './message.ts';

type Nothing = Record<string, never>;

export interface Places {
${lines.join('\n')}
}
`;
}
