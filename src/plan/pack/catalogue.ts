// The installer's own catalogue: a CSV of what they sell, by the kind of part.
//
//     kind,item,price,currency,watts
//     float,Float switch 10 m,18.50,EUR,
//
// Kinds are those of the parts list (float, level, total, leak, temperature, conductivity, valve, pump, contactor, heater,
// vat, ...), or a part's tag where one part wants an item of its own.

export interface Item {
  readonly item: string;
  readonly price: number;
  readonly currency: string;
  readonly watts: number | null;
}

export type Catalogue =
  | { readonly ok: true; readonly items: ReadonlyMap<string, Item> }
  | { readonly ok: false; readonly problem: string };

const COLUMNS = ['kind', 'item', 'price', 'currency', 'watts'] as const;
const NEEDED = COLUMNS.slice(0, 4);

/** @param currency of the site's tariffs; null: the catalogue's first is taken */
export function readCatalogue(text: string, currency: string | null): Catalogue {
  const [head = [], ...rows] = cellsOf(text);
  const columns = head.map((title) => title.toLowerCase());
  const missing = NEEDED.filter((name) => !columns.includes(name));
  if (rows.length === 0)
    return bad(
      `it has no line of goods: write one line for each kind under the heading ${COLUMNS.join(',')}`,
    );
  if (missing.length > 0)
    return bad(`its first line lacks ${missing.join(', ')}: write ${COLUMNS.join(',')}`);
  const items = new Map<string, Item>();
  let ours = currency;
  for (const [index, row] of rows.entries()) {
    const cell = (name: (typeof COLUMNS)[number]) => row[columns.indexOf(name)] ?? '';
    const line = `line ${index + 2}`;
    const price = Number(cell('price'));
    if (cell('price') === '' || !Number.isFinite(price) || price < 0)
      return bad(`${line}: '${cell('price')}' is no price: write a number such as 18.50`);
    ours ??= cell('currency');
    if (cell('currency') !== ours)
      return bad(
        `${line}: '${cell('currency')}' beside ${ours}: one offer has one currency; write all prices in ${ours}, or change the currency of the tariffs in the site file`,
      );
    const watts = cell('watts') === '' ? null : Number(cell('watts'));
    if (watts !== null && !(watts >= 0)) return bad(`${line}: '${cell('watts')}' is no number of watts`);
    const kind = cell('kind');
    if (kind === '') return bad(`${line}: it names no kind`);
    if (items.has(kind)) return bad(`${line}: '${kind}' stands there twice: leave one`);
    items.set(kind, { item: cell('item'), price, currency: ours, watts });
  }
  return { ok: true, items };
}

const bad = (problem: string): Catalogue => ({ ok: false, problem });

/** RFC 4180: quotes around a cell that holds a comma, doubled quotes within. Empty lines are left out. */
function cellsOf(text: string): string[][] {
  const CELL = /(?:^|,)(?:"((?:[^"]|"")*)"|([^,]*))/gu;
  return text
    .replace(/^\uFEFF/u, '')
    .split(/\r?\n/u)
    .filter((line) => line.trim() !== '')
    .map((line) =>
      [...line.matchAll(CELL)].map(([, quoted, plain]) =>
        (quoted === undefined ? (plain ?? '') : quoted.replaceAll('""', '"')).trim(),
      ),
    );
}
