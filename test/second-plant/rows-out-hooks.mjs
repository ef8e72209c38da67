// The hook behind rows-out.mjs: the table of rows, less those.
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const TABLE = 'export const ROW_KINDS = [';

export async function load(url, context, next) {
  if (!url.endsWith('/dist/control/guard/rows.js')) return next(url, context);
  const source = readFileSync(fileURLToPath(url), 'utf8');
  if (!source.includes(TABLE)) throw new Error(`${url} has no '${TABLE}'`);
  const out = JSON.stringify((process.env.ROWS_OUT ?? '').split(','));
  return {
    format: 'module',
    shortCircuit: true,
    source: `${source.replace(TABLE, 'const ALL_ROWS = [')}\nexport const ROW_KINDS = ALL_ROWS.filter(({ id }) => !${out}.includes(id));\n`,
  };
}
