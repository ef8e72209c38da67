// The fields of a request: what fits passes, what doesn't is refused with the field's name and the mend.
import type { ErrorObject } from 'ajv/dist/2020.js';
import type { Amount } from '../control/guard/asks.ts';
import { nearest } from '../station/problem.ts';
import { readStation, told } from '../station/quantities.ts';
import { FieldError, within } from './measured.ts';

/** A quantity in the unit of its field. @throws FieldError */
export function amount(name: string, text: string, { format, per, most }: Amount): number {
  const value = within(name, () => readStation(text, format)) / per;
  if (value <= 0) throw new FieldError(name, `is ${text}: it must be more than nothing`);
  if (value > most) throw new FieldError(name, `is ${text}: at most ${told(most * per, format)}`);
  return value;
}

export function known(field: string, id: string, ids: readonly string[]): string {
  if (ids.includes(id)) return id;
  throw new FieldError(field, unknownWords(id, ids));
}

export function unknownWords(found: unknown, accepted: readonly string[]): string {
  if (found === undefined) return `is missing: one of ${accepted.join(', ')}`;
  const near = typeof found === 'string' ? nearest(found, accepted) : undefined;
  const meant = near === undefined ? '' : `. Did you mean ${near}?`;
  return `${JSON.stringify(found).slice(0, 60)} is unknown: one of ${accepted.join(', ')}${meant}`;
}

export function schemaError(error: ErrorObject | undefined): FieldError {
  const field = error?.instancePath.slice(1) ?? '';
  switch (error?.keyword) {
    case 'required':
      return new FieldError(String(error.params.missingProperty), 'is missing');
    case 'additionalProperties':
      return new FieldError(
        String(error.params.additionalProperty),
        'is not a field of this request: leave it out',
      );
    case 'enum':
      return new FieldError(field, `must be one of ${(error.params.allowedValues as string[]).join(', ')}`);
    default:
      return new FieldError(
        field === '' ? 'the request' : field,
        error?.message ?? 'does not fit the schema',
      );
  }
}
