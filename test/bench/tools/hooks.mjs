// The two hooks behind typescript.mjs.
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { transformWithOxc } from 'vite';

const ROOT = new URL('../../../', import.meta.url).href;

export async function resolve(specifier, context, next) {
  const resolved = specifier.startsWith('.') ? new URL(specifier, context.parentURL).href : specifier;
  if (resolved.startsWith(`${ROOT}src/`) && resolved.endsWith('.ts'))
    return next(`${ROOT}dist/${resolved.slice(ROOT.length + 'src/'.length, -'.ts'.length)}.js`, context);
  return next(resolved, context);
}

export async function load(url, context, next) {
  if (!url.startsWith(`${ROOT}test/`) || !url.endsWith('.ts')) return next(url, context);
  const file = fileURLToPath(url);
  const { code } = await transformWithOxc(readFileSync(file, 'utf8'), file);
  return { format: 'module', shortCircuit: true, source: code };
}
