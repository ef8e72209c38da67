// The places of a sentence, `{vessel}`, `{flowLpm.1}`, `{devices|, }`: what may stand there is said by the name alone, so that a
// catalogue needs no schema and a quantity carries its unit.
//
// After a point: with how many digits; of a duration first its unit (`min0`); of a mass `weighed` is as a kitchen scale shows it.
// After a bar: a list, and what stands between its parts.

export type Kind = 'thing' | 'quantity' | 'word' | 'message';

/** Things of the plant, by the table that their id is looked up in. */
export const THINGS = [
  'vessel',
  'route',
  'sensor',
  'device',
  'heater',
  'valve',
  'system',
  'target',
  'station',
] as const;
export type Thing = (typeof THINGS)[number];

/** Quantities by the end of a place's name, and how they are measured. */
export const QUANTITIES = {
  Lpm: 'flow',
  L: 'volume',
  C: 'temperature',
  K: 'difference',
  Kg: 'mass',
  Ms: 'duration',
  share: 'share',
  salinity: 'salinity',
  count: 'count',
} as const;
export type Measure = (typeof QUANTITIES)[keyof typeof QUANTITIES];

/** Enumerations, whose values the catalogue may name (`procedure-held`), and what persons wrote or a station calls its own. */
export const WORDS = [
  'alarm',
  'alarmState',
  'ask',
  'byHand',
  'file',
  'format',
  'instrument',
  'procedure',
  'reason',
  'result',
  'row',
  'salt',
  'seen',
  'stage',
  'step',
  'topic',
  'unit',
  'what',
  'where',
  'who',
] as const;

export interface Place {
  readonly name: string;
  readonly kind: Kind;
  /** Of a thing. */
  readonly thing?: Thing;
  /** Of a quantity. */
  readonly measure?: Measure;
  /** What stands after the point: how a quantity is written. */
  readonly digits: string;
  /** Of a list: what stands between its parts; null: no list. */
  readonly between: string | null;
}

/** A sentence, cut into what is always said and what is put in. */
export type Piece = string | Place;

const PLACE = /(\{[^}]+\})/u;

export const piecesOf = (sentence: string): readonly Piece[] =>
  sentence
    .split(PLACE)
    .filter((piece) => piece !== '')
    .map((piece) => (piece.startsWith('{') ? placeOf(piece.slice(1, -1)) : piece));

export function placeOf(written: string): Place {
  const [told = '', between = null] = written.split('|');
  const [name = '', digits = ''] = told.split('.');
  return { name, digits, between, ...kindOf(name, between !== null) };
}

/** `fromVessel` is a vessel, `leastSalinity` a salinity: the end of the name says it. */
function kindOf(name: string, isList: boolean): Pick<Place, 'kind' | 'thing' | 'measure'> {
  const one = isList ? name.replace(/s$/u, '') : name;
  const ends = (end: string): boolean =>
    one === end ||
    one.endsWith(end[0]?.toUpperCase() + end.slice(1)) ||
    (/^[A-Z]/u.test(end) && one.endsWith(end));
  const thing = THINGS.find(ends);
  if (thing !== undefined) return { kind: 'thing', thing };
  const measure = (Object.keys(QUANTITIES) as (keyof typeof QUANTITIES)[]).find(ends);
  if (measure !== undefined) return { kind: 'quantity', measure: QUANTITIES[measure] };
  return { kind: WORDS.some(ends) ? 'word' : 'message' };
}
