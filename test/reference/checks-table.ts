// Writes the table of every check against the outside, for test/README.md.
import { PUBLIC_CASES, type PublicCase, WIDER_CASES, type WiderCase, writeTolerance } from './cases.ts';
import { MAP, PRINTED_DIGITS, REFUSED, UNMAPPED } from './wider-map.ts';

interface Row {
  readonly quantity: string;
  readonly cases: number;
  readonly tolerance: string;
  readonly kind: string;
  readonly source: string;
}

/** Checks against the outside that are written in the tests themselves. */
const WRITTEN_CHECKS: readonly Row[] = [
  {
    quantity: 'unit factors (test/units/quantity.test.ts)',
    cases: 11,
    tolerance: 'the printed digits',
    kind: 'standard',
    source: 'NIST Special Publication 811 (2008), appendix B',
  },
  {
    quantity: 'pump operating flow and head (test/engineering/epanet.test.ts)',
    cases: 40,
    tolerance: '1 %',
    kind: 'reference-library',
    source: 'EPANET 2 (US EPA) through epanet-js 0.9.0: networks drawn from a fixed seed',
  },
  {
    quantity: 'permeate temperature divisor of another membrane (test/engineering/traps.test.ts)',
    cases: 3,
    tolerance: '0.05',
    kind: 'handbook',
    source: 'US Army TM 10-4610-309-14, table 3: multipliers at 50, 59 and 67 degF',
  },
  {
    quantity: 'relative density 1.0264 read with four pairs of temperatures (test/engineering/traps.test.ts)',
    cases: 4,
    tolerance: '0.05',
    kind: 'reference-library',
    source: 'GSW Oceanographic Toolbox (TEOS-10), ratio of rho_t_exact',
  },
  {
    quantity: 'interval of a learned yield (test/engineering/answers.test.ts)',
    cases: 1,
    tolerance: '0.00001',
    kind: 'handbook',
    source: "Student's t, 95 %, two degrees of freedom: 4.303 (any table)",
  },
];

function rowsOf(
  cases: readonly (PublicCase | WiderCase)[],
  tolerance: (c: PublicCase | WiderCase) => string,
): Row[] {
  const groups = new Map<string, Row>();
  for (const each of cases) {
    // Where a value was computed says nothing about it.
    const source = each.source.citation.replaceAll(/, run (?:on this machine|here)/gu, '');
    const row = {
      quantity: each.quantity,
      cases: 1,
      tolerance: tolerance(each),
      kind: each.source.kind,
      source,
    };
    const key = JSON.stringify({ ...row, cases: 0 });
    groups.set(key, { ...row, cases: (groups.get(key)?.cases ?? 0) + 1 });
  }
  return [...groups.values()];
}

function table(rows: readonly Row[]): string {
  const cell = (text: string) => text.replaceAll('|', '\\|').replaceAll('*', '\\*').replaceAll('_', '\\_');
  return [
    '| quantity | cases | tolerance | kind | source |',
    '| --- | ---: | --- | --- | --- |',
    ...rows.map(
      (row) =>
        `| ${cell(row.quantity)} | ${row.cases} | ${row.tolerance} | ${row.kind} | ${cell(row.source)} |`,
    ),
  ].join('\n');
}

function list(items: Readonly<Record<string, string>>): string {
  return Object.entries(items)
    .map(([name, reason]) => `- \`${name}\`: ${reason}.`)
    .join('\n');
}

function widerTolerance(each: PublicCase | WiderCase): string {
  if (each.id in REFUSED) return 'refused';
  return each.id in PRINTED_DIGITS ? `${PRINTED_DIGITS[each.id]} printed digits` : writeTolerance(each);
}

/** What stands between the markers in test/README.md. */
export function checksTable(): string {
  const wider = WIDER_CASES.filter(({ quantity }) => quantity in MAP);
  return [
    `### The contract of \`calc\`: ${PUBLIC_CASES.length} cases`,
    '',
    'Held in `test/engineering/public.test.ts`, and through the built command in `test/calc/command.test.ts`.',
    '',
    table(rowsOf(PUBLIC_CASES, writeTolerance)),
    '',
    `### Published values in their sources' own units: ${wider.length} of ${WIDER_CASES.length} cases`,
    '',
    'Held in `test/engineering/wider.test.ts`; `test/reference/wider-map.ts` says which function answers which.',
    '',
    table(rowsOf(wider, widerTolerance)),
    '',
    'Refused, because they lie beyond the range of the formula we use:',
    '',
    list(REFUSED),
    '',
    'Not answered by any function of ours:',
    '',
    list(UNMAPPED),
    '',
    '### Written in the tests themselves',
    '',
    table(WRITTEN_CHECKS),
  ].join('\n');
}
