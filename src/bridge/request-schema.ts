// What may be published on the request topic, printed as JSON Schema from the table of what may be asked.
import { ASKS, type Ask, type Field, fieldsOf, LONGEST } from '../control/guard/asks.ts';
import { BYPASS_MOST_MS, SHELVE_MOST_MS } from '../control/guard/limits.ts';
import { told } from '../station/quantities.ts';
import { MEASURED } from './measured.ts';

export const REQUEST_SCHEMA_ID = 'urn:vatwarden:request:1';

const long = (ms: number): string => told(ms, 'duration-with-unit');

/** What a field means, by its name; or by its request and its name, where that says more. */
const HINTS: Readonly<Record<string, string>> = {
  alarm: 'The id of an alarm.',
  row: 'The key of an interlock, for example I-02/fresh; `check` lists them.',
  who: 'The person who does it and answers for it.',
  'acknowledge alarm': 'The alarm\'s id, or "all".',
  'reset-trip trip': 'The trip\'s id, or "all": those whose cause is seen to be gone by what is heard now.',
  'reset-trip who': 'The person who looked.',
  'reset-trip seen':
    'What that person saw, a sentence. Needed, with the name, where nothing that is heard now shows that the cause is gone; for one trip, not for "all".',
  'salt-added massKg': 'What went in, for example "8.6 kg". Without it: what was asked.',
  instrument:
    'What it was measured with: a second measurement counts as one only with another instrument. "relative-density" for a hydrometer or a refractometer that reads relative density.',
  volumeL: 'For example "40 L".',
  'level-right system': 'A system whose level somebody has looked at and brought to where it belongs.',
  'level-right who': 'The person who looked.',
  device: 'A sensor or an actuator of the station file.',
  valve: 'A hand valve, or an actuator with an exercise, that somebody opened and shut by hand.',
  'bypass minutes': `For example "30 min"; at most ${long(BYPASS_MOST_MS)}.`,
  'shelve minutes': `For example "2 h". At most ${long(SHELVE_MOST_MS.urgent)} for an urgent alarm, ${long(SHELVE_MOST_MS.soon)} for one that is wanted soon, ${long(SHELVE_MOST_MS.notice)} for a notice.`,
};
const hintOf = (ask: Ask, key: string): string => HINTS[`${ask} ${key}`] ?? HINTS[key] ?? '';

const ref = (name: string, description = '') => ({
  $ref: `#/$defs/${name}`,
  ...(description === '' ? {} : { description }),
});

/** The fields on the wire of one field of the table. */
function written(ask: Ask, key: string, field: Field): Readonly<Record<string, object>> {
  switch (field.is) {
    case 'word':
      return { [key]: { enum: field.words } };
    case 'amount':
      return { [field.wire]: ref('Quantity', hintOf(ask, key)) };
    case 'salinity':
      return Object.fromEntries(
        Object.entries(MEASURED).map(([name, { hint }]) => [name, ref('Quantity', hint)]),
      );
    case 'sentence':
      return { [key]: ref('Sentence', hintOf(ask, key)) };
    default:
      return { [key]: ref('Name', hintOf(ask, key)) };
  }
}

function mustBeGiven(ask: Ask, key: string, field: Field): readonly string[] {
  if (field.is === 'salinity')
    return Object.entries(MEASURED).flatMap(([name, { isNeeded }]) => (isNeeded ? [name] : []));
  return Object.keys(written(ask, key, field));
}

function definition(ask: Ask): object {
  const fields = fieldsOf(ask);
  const pair = fields.flatMap(([key, { given }]) => (given === 'together' ? [key] : []));
  return {
    type: 'object',
    additionalProperties: false,
    required: [
      'id',
      'request',
      ...fields.flatMap(([key, field]) => (field.given === undefined ? mustBeGiven(ask, key, field) : [])),
    ],
    properties: {
      id: ref('Id'),
      request: { const: ask },
      ...Object.assign({}, ...fields.map(([key, field]) => written(ask, key, field))),
    },
    ...(pair.length === 0
      ? {}
      : {
          dependentRequired: Object.fromEntries(
            pair.map((key) => [key, pair.filter((other) => other !== key)]),
          ),
        }),
  };
}

export function requestSchema() {
  const asks = Object.keys(ASKS) as Ask[];
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    $id: REQUEST_SCHEMA_ID,
    title: 'Request',
    description:
      'What a person or a hub may ask, published on `vatwarden/<station>/request` and never retained. The answer comes on `vatwarden/<station>/answer` with the same id. A request with an id that was used before is answered again and not carried out again, so that a message delivered twice adds no salt twice.',
    type: 'object',
    required: ['id', 'request'],
    properties: { request: { enum: asks } },
    oneOf: asks.map((ask) => ref(ask)),
    $defs: {
      Id: {
        type: 'string',
        minLength: 1,
        maxLength: 64,
        description: 'Chosen by whoever asks, another one for every request.',
      },
      Sentence: { type: 'string', minLength: 1, maxLength: LONGEST.sentence },
      Name: { type: 'string', minLength: 1, maxLength: LONGEST.name },
      Quantity: { type: 'string', minLength: 1, maxLength: 40 },
      ...Object.fromEntries(asks.map((ask) => [ask, definition(ask)])),
    },
  };
}
