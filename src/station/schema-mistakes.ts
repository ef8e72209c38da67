// From what ajv reports to one sentence for each mistake. Ajv says what a schema minds; an owner needs to know what to
// type. Where one slip makes two reports (a misspelt key is also a missing one) only the useful one is kept.
import type { ErrorObject } from 'ajv/dist/2020.js';
import { UnitError } from '../units/quantity.ts';
import { member } from './pointer.ts';
import { listed, type Mistake, nearest, quoted, shown } from './problem.ts';
import { FORMATS, isQuantityFormat, readStation, unitsOf } from './quantities.ts';
import { type Schema, STATION_SCHEMA } from './schema.ts';

/** A mistake and what the rules beyond the schema must no longer look at because of it. */
export interface SchemaMistake extends Mistake {
  /** The part that can't be used; null where something is missing. */
  readonly spoils: string | null;
  /** The parts that the file lacks only because of this mistake. */
  readonly lacks: readonly string[];
}

type Raw = ErrorObject & { readonly parentSchema?: { readonly [key: string]: unknown } };
type Definition = Schema['definition'];

/** @param definition of the schema that found the errors; the station's where none is named */
export function mistakesOf(
  errors: readonly ErrorObject[],
  definition: Definition = STATION_SCHEMA.definition,
): SchemaMistake[] {
  const misspelt = new Set(errors.flatMap(missingKeyMeantBy));
  return errors.flatMap((error) => {
    const required =
      error.keyword === 'required' ? [member(error.instancePath, error.params.missingProperty)] : [];
    if (required.some((pointer) => misspelt.has(pointer))) return [];
    const mistake = mistakeOf(error, definition);
    return mistake === null ? [] : [{ ...mistake, lacks: [...required, ...missingKeyMeantBy(error)] }];
  });
}

/** The key that an unknown key was meant to be, if the object lacks it. */
function missingKeyMeantBy({ keyword, instancePath, params, parentSchema, data }: Raw): string[] {
  if (keyword !== 'additionalProperties') return [];
  const meant = nearest(params.additionalProperty, keysOf(parentSchema));
  return meant === undefined || Object.hasOwn(data as object, meant) ? [] : [member(instancePath, meant)];
}

function keysOf(schema: Raw['parentSchema']): string[] {
  return Object.keys((schema?.properties as object | undefined) ?? {}).filter((key) => key !== '$schema');
}

function mistakeOf(error: Raw, definition: Definition): (Mistake & { spoils: string | null }) | null {
  const { instancePath: pointer, params, data, parentSchema } = error;
  const wrong = (found: string, accepted: string, meant?: string) => ({
    pointer,
    found,
    accepted,
    nearest: meant,
    spoils: pointer,
  });
  switch (error.keyword) {
    case 'if':
    case 'propertyNames':
      // The pattern beside it has said the same with the name in it.
      return null;
    case 'additionalProperties':
      return unknownKey(error);
    case 'required': {
      const key = params.missingProperty as string;
      return {
        ...wrong(`no ${quoted(key)} here`, missingWords(parentSchema, key, definition)),
        spoils: null,
      };
    }
    case 'discriminator':
      return unknownKind(error, definition);
    case 'type':
      return wrong(typeWords(data, parentSchema), acceptedWords(parentSchema));
    case 'enum': {
      const values = (params.allowedValues as unknown[]).map(String);
      return wrong(shown(data), values.map(quoted).join(', '), meantOf(String(data), values));
    }
    case 'const':
      return wrong(shown(data), shown(params.allowedValue));
    case 'format':
      return { ...wrong(shown(data), ''), ...formatWords(String(data), params.format, parentSchema) };
    case 'minLength':
    case 'minProperties':
      if (params.limit !== 1) break;
      return wrong(`${shown(data)}, which is empty`, acceptedWords(parentSchema));
    case 'minItems':
    case 'maxItems':
      return wrong(`a list of ${(data as unknown[]).length}`, lengthWords(parentSchema));
    case 'pattern':
      // Quantities carry a pattern for editors, which know no formats of ours; the format's own error says more.
      if (isQuantityFormat(String(parentSchema?.format))) return null;
      return error.propertyName === undefined
        ? wrong(shown(data), acceptedWords(parentSchema))
        : badName(error, error.propertyName);
    default:
  }
  return wrong(`${shown(data)}, which ${error.message ?? 'the schema refuses'}`, acceptedWords(parentSchema));
}

function unknownKey({ instancePath, params, parentSchema, data }: Raw) {
  const key = params.additionalProperty as string;
  const keys = keysOf(parentSchema);
  const free = keys.filter((other) => !Object.hasOwn(data as object, other));
  const pointer = member(instancePath, key);
  return {
    pointer,
    found: `the unknown key ${quoted(key)}`,
    // A name with a comma in it would look like two.
    accepted: `the keys ${listed(keys.map((name) => (name.includes(',') ? quoted(name) : name)))}`,
    nearest: meantOf(key, free),
    spoils: pointer,
  };
}

function badName({ instancePath, parentSchema }: Raw, name: string) {
  const pointer = member(instancePath, name);
  const slug = name
    .toLowerCase()
    .replaceAll(/[^a-z0-9]+/gu, '-')
    .replaceAll(/^-|-$/gu, '');
  return {
    pointer,
    found: `the name ${quoted(name)}`,
    accepted: acceptedWords(parentSchema),
    nearest: slug === '' ? undefined : quoted(slug),
    spoils: null,
  };
}

/** A sensor or a shape whose `measures` or `kind` is missing, misspelt or unknown: nothing else in it can be judged. */
function unknownKind({ instancePath, params, data, parentSchema }: Raw, definition: Definition) {
  const { tag, tagValue } = params as { tag: string; tagValue: unknown };
  const kinds = kindsOf(parentSchema, tag, definition);
  const accepted = `${quoted(tag)}: one of ${kinds.map(quoted).join(', ')}`;
  const keys = Object.keys(data as object);
  const slip = nearest(tag, keys);
  if (tagValue === undefined) {
    const pointer = slip === undefined ? instancePath : member(instancePath, slip);
    const found = slip === undefined ? `no ${quoted(tag)} here` : `the unknown key ${quoted(slip)}`;
    const meant = slip === undefined ? undefined : quoted(tag);
    return { pointer, found, accepted, nearest: meant, spoils: instancePath };
  }
  const pointer = member(instancePath, tag);
  const meant = meantOf(String(tagValue), kinds);
  return { pointer, found: shown(tagValue), accepted, nearest: meant, spoils: instancePath };
}

interface Branch {
  readonly properties?: { readonly [key: string]: { readonly const?: string } };
}

function kindsOf(schema: Raw['parentSchema'], tag: string, definition: Definition): string[] {
  const branches = (schema?.oneOf as readonly (Branch | { $ref: string })[] | undefined) ?? [];
  return branches.flatMap((branch) => {
    const resolved = '$ref' in branch ? (definition(branch.$ref) as Branch) : branch;
    return resolved.properties?.[tag]?.const ?? [];
  });
}

function meantOf(written: string, candidates: readonly string[]): string | undefined {
  const meant = nearest(written, candidates);
  return meant === undefined ? undefined : quoted(meant);
}

function missingWords(schema: Raw['parentSchema'], key: string, definition: Definition): string {
  const here = (schema?.properties as Record<string, Raw['parentSchema']> | undefined)?.[key];
  const known =
    here?.description === undefined && here?.$ref !== undefined ? definition(String(here.$ref)) : here;
  const words = typeof known?.description === 'string' ? ` (${known.description.replace(/\.$/u, '')})` : '';
  return `an object with the key ${quoted(key)}${words}`;
}

function typeWords(data: unknown, schema: Raw['parentSchema']): string {
  if (typeof data === 'number' && isQuantityFormat(String(schema?.format))) {
    return `${shown(data)}, a number without a unit`;
  }
  return shown(data);
}

function acceptedWords(schema: Raw['parentSchema']): string {
  const format = String(schema?.format);
  if (isQuantityFormat(format)) return quantityWords(format);
  const types = [schema?.type].flat().filter((type) => type !== undefined);
  const words = typeof schema?.description === 'string' ? schema.description.replace(/\.$/u, '') : undefined;
  const type = types.map((name) => TYPE_WORDS[String(name)] ?? String(name)).join(' or ');
  if (words === undefined) return type;
  return schema?.pattern === undefined ? `${type}: ${words}` : words;
}

function lengthWords(schema: Raw['parentSchema']): string {
  const { minItems, maxItems } = schema ?? {};
  const how =
    minItems === maxItems
      ? `exactly ${minItems}`
      : [
          ...(minItems === undefined ? [] : [`at least ${minItems}`]),
          ...(maxItems === undefined ? [] : [`at most ${maxItems}`]),
        ].join(' and ');
  return `${acceptedWords(schema)} (${how})`;
}

const TYPE_WORDS: Readonly<Record<string, string>> = {
  string: 'a text',
  number: 'a number',
  integer: 'a whole number',
  boolean: 'true or false',
  object: 'an object',
  array: 'a list',
};

function quantityWords(format: keyof typeof FORMATS): string {
  const { words, example } = FORMATS[format];
  const units = unitsOf(format);
  const some = units.length > 10 ? '' : ` in ${units.join(', ')}`;
  return `${words}${some}, for example ${quoted(example)}`;
}

function formatWords(text: string, format: string, schema: Raw['parentSchema']) {
  if (!isQuantityFormat(format)) return { found: shown(text), accepted: acceptedWords(schema) };
  const accepted = quantityWords(format);
  try {
    readStation(text, format);
    return { found: shown(text), accepted };
  } catch (error) {
    if (!(error instanceof UnitError)) throw error;
    // The reader's own sentence lists the units again; its first clause says what is wrong.
    const clause = error.message.includes('has no unit')
      ? 'a number without a unit'
      : error.message.split(':')[0];
    const [digits = ''] = /^[\s\d.+-]*/u.exec(text) ?? [];
    // A unit of something else is no slip of the pen: `0.2 L` for a flow may mean any of four units.
    const mends = error.suggestion !== undefined && !error.message.includes('is a unit of');
    const meant = mends ? quoted(`${digits.trim()} ${error.suggestion}`) : undefined;
    return { found: `${shown(text)} (${clause})`, accepted, nearest: meant };
  }
}
