// Where the built page and the worker are: beside this file once built; in dist/ while the sources run themselves.
import { fileURLToPath } from 'node:url';

const fromSources = import.meta.url.endsWith('.ts');

export function builtFile(name: string): string {
  const place = fromSources ? `../../dist/panel/${name}` : `./${name}`;
  return fileURLToPath(new URL(place, import.meta.url));
}
