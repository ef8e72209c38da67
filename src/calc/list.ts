// What the calculator knows, for people and for programs.
import { acceptedUnits, DIMENSIONS } from '../units/quantity.ts';
import { CATALOGUE, SUBJECTS } from './catalogue.ts';
import { type Entry, type Input, isChoice, isTable } from './entry.ts';
import { describeQuantity, exampleRow } from './evaluate.ts';

/** The whole catalogue as text, or one quantity of it. */
export function listText(only?: string): string {
  const blocks = Object.entries(SUBJECTS).map(([subject, entries]) => {
    const named = Object.entries(entries).filter(([name]) => only === undefined || name === only);
    return named.length === 0
      ? ''
      : [subject, '', ...named.map(([name, entry]) => entryText(name, entry))].join('\n');
  });
  const head = [
    "calc NAME input='number unit' ...   Quote what has spaces. Temperatures are ITS-90.",
    'A table is written row, row, ... with its columns joined by a colon.',
    'Ranges are written in one unit; an input is taken in any unit of its kind, listed at the end.',
    '',
  ];
  const wanted = blocks.filter((block) => block !== '');
  return [...(only === undefined ? [...head, ...wanted, unitsText()] : wanted)].join('\n');
}

function unitsText(): string {
  const width = Math.max(...DIMENSIONS.map((dimension) => dimension.length));
  const rows = DIMENSIONS.map(
    (dimension) =>
      `  ${dimension.replaceAll('-', ' ').padEnd(width)}  ${acceptedUnits(dimension).join(', ')}`,
  );
  return ['Units', '', ...rows, '', '  A plain number (its only unit is 1) may be written bare.', ''].join(
    '\n',
  );
}

function entryText(name: string, entry: Entry): string {
  const width = Math.max(...Object.keys(entry.inputs).map((input) => input.length));
  const inputs = Object.entries(entry.inputs).map(
    ([inputName, input]) => `      ${inputName.padEnd(width)}  ${inputText(input)}`,
  );
  const result = entry.unit === '1' ? 'a number' : entry.unit;
  return [`  ${name}: ${entry.about}`, ...inputs, `      = ${result}. Source: ${entry.source}`, ''].join(
    '\n',
  );
}

function inputText(input: Input): string {
  if (isChoice(input)) return `${input.about}: ${input.choices.join('; ')}`;
  if (isTable(input)) return `${input.about}: '${exampleRow(input)}, ...'`;
  const fallback = input.default === undefined ? '' : ` (default ${input.default})`;
  return `${input.about}: ${describeQuantity(input)}${fallback}`;
}

/** The catalogue as plain data: what `calc --list --json` prints. */
export function listData(only?: string): unknown[] {
  return [...CATALOGUE]
    .filter(([name]) => only === undefined || name === only)
    .map(([name, entry]) => ({
      name,
      about: entry.about,
      inputs: Object.fromEntries(
        Object.entries(entry.inputs).map(([inputName, input]) => [inputName, inputData(input)]),
      ),
      unit: entry.unit,
      source: entry.source,
    }));
}

function inputData(input: Input): unknown {
  if (isChoice(input) || isTable(input)) return input;
  const { range, ...rest } = input;
  return {
    ...rest,
    units: acceptedUnits(input.dimension),
    ...(range && {
      least: range.least,
      most: range.most,
    }),
  };
}
