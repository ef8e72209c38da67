// What one quantity of the calculator is: its inputs, its result, its source, and the function that computes it.
//
// An entry holds no formula. It says which function of the engineering room is meant, in which units that function
// wants its numbers, and where the formula comes from; everything else (reading, refusing, listing) follows from it.
import { OutOfRange, type Range } from '../engineering/range.ts';
import type { Dimension } from '../units/quantity.ts';

/** A number with a unit. */
export interface QuantityInput {
  readonly dimension: Dimension;
  /** The unit in which the function takes it, and in which the range is written. */
  readonly unit: string;
  readonly range?: Range;
  /** Taken when the input is left out; as words where it is not one number. */
  readonly default?: number | string;
  readonly about: string;
}

/** One word out of a list. */
export interface ChoiceInput {
  readonly choices: readonly string[];
  readonly about: string;
}

/** Rows of numbers: `0 L/min:5.2 m, 25 L/min:3.9 m`, or in JSON a list of `{ flow: {...}, head: {...} }`. */
export interface TableInput {
  readonly columns: Readonly<Record<string, { readonly dimension: Dimension; readonly unit: string }>>;
  readonly about: string;
}

export type Input = QuantityInput | ChoiceInput | TableInput;
export type Inputs = Readonly<Record<string, Input>>;

type ValueOf<I extends Input> = I extends TableInput
  ? readonly Readonly<Record<keyof I['columns'], number>>[]
  : I extends ChoiceInput
    ? I['choices'][number]
    : I extends { readonly default: string }
      ? number | undefined
      : number;

export type Values<I extends Inputs> = { readonly [Name in keyof I]: ValueOf<I[Name]> };

/** A number; or a number with something to say about it; or no number and why there is none. */
export type Outcome = number | { readonly value: number | null; readonly note: string };

export interface Entry<I extends Inputs = Inputs> {
  readonly about: string;
  readonly inputs: I;
  readonly dimension: Dimension;
  /** The unit in which the function gives its result. */
  readonly unit: string;
  readonly source: string;
  readonly compute: (values: Values<I>) => Outcome;
}

/** Ties the names in `compute` to the names in `inputs` for the compiler, and forgets them for the registry. */
export function entry<const I extends Inputs>(definition: Entry<I>): Entry {
  return definition as unknown as Entry;
}

export function isTable(input: Input): input is TableInput {
  return 'columns' in input;
}

export function isChoice(input: Input): input is ChoiceInput {
  return 'choices' in input;
}

/** Refuses a result that is no number. Formulas are held inside their ranges, so this is a fault of the house. */
export function mustBeFinite(name: string, value: number): void {
  if (!Number.isFinite(value)) {
    throw new OutOfRange(`result of ${name}`, value, {
      least: -Number.MAX_VALUE,
      most: Number.MAX_VALUE,
      unit: '1',
    });
  }
}

// Inputs that many quantities share.
export const input = {
  temperature: (range: Range, about = 'of the water (ITS-90)'): QuantityInput => ({
    dimension: 'temperature',
    unit: 'degC',
    range,
    about,
  }),
  salinity: (range: Range, about = 'practical salinity (PSS-78)'): QuantityInput => ({
    dimension: 'practical-salinity',
    unit: '1',
    range,
    about,
  }),
  volume: (range: Range, about: string): QuantityInput => ({ dimension: 'volume', unit: 'L', range, about }),
  flow: (range: Range, about: string): QuantityInput => ({ dimension: 'flow', unit: 'L/min', range, about }),
  number: (range: Range, about: string): QuantityInput => ({ dimension: 'number', unit: '1', range, about }),
  ratio: (range: Range, about: string): QuantityInput => ({
    dimension: 'ratio',
    unit: range.unit,
    range,
    about,
  }),
  length: (range: Range, about: string): QuantityInput => ({
    dimension: 'length',
    unit: range.unit,
    range,
    about,
  }),
  pressure: (range: Range, about: string): QuantityInput => ({
    dimension: 'pressure',
    unit: 'kPa',
    range,
    about,
  }),
} as const;

/** Written for the length of a number in a sentence: four digits. */
export function brief(value: number): string {
  return String(Number(value.toPrecision(4)));
}
