// Builds the page into dist/panel/page, everything in it and nothing from elsewhere, and beside each file its compressed
// twin, so that the service never compresses while it runs a station.
import { readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { brotliCompressSync, constants, gzipSync } from 'node:zlib';
import { defineConfig, type Plugin } from 'vite';

const OUT = new URL('../../../dist/panel/page/', import.meta.url).pathname;

function compressed(): Plugin {
  return {
    name: 'compressed-twins',
    apply: 'build',
    writeBundle() {
      for (const name of readdirSync(OUT, { recursive: true, encoding: 'utf8' })) {
        const path = join(OUT, name);
        if (!statSync(path).isFile() || !/\.(?:html|js|css|svg|json)$/u.test(name)) continue;
        const body = readFileSync(path);
        writeFileSync(`${path}.gz`, gzipSync(body, { level: 9 }));
        const params = { [constants.BROTLI_PARAM_QUALITY]: 11 };
        writeFileSync(`${path}.br`, brotliCompressSync(body, { params }));
      }
    },
  };
}

/** Sentences of terminals and reports, which no page is ever told: by how their ids begin. */
export const TOLD_ELSEWHERE = ['commission-', 'pattern-', 'hardware-', 'unproven-', 'reset-by-'];

function withoutTheirs(): Plugin {
  return {
    name: 'without-what-is-told-elsewhere',
    enforce: 'pre',
    transform(code, id) {
      if (!/\/src\/language\/\w+\.json$/u.test(id)) return null;
      const own = Object.entries(JSON.parse(code)).filter(
        ([key]) => !TOLD_ELSEWHERE.some((prefix) => key.startsWith(prefix)),
      );
      return JSON.stringify(Object.fromEntries(own));
    },
  };
}

/** What is built into the page goes out with it, and so do its licences. */
const BUILT_IN = [
  'preact',
  '@preact/signals',
  '@preact/signals-core',
  'uplot',
  'fastest-levenshtein',
  '@fontsource-variable/atkinson-hyperlegible-next',
];

function licences(): Plugin {
  return {
    name: 'licences',
    apply: 'build',
    generateBundle() {
      const texts = BUILT_IN.map((name) => {
        const folder = new URL(`../../../node_modules/${name}/`, import.meta.url);
        const file = readdirSync(folder).find((one) => /^licen[cs]e/iu.test(one));
        if (file === undefined) throw new Error(`${name} has no licence to send along`);
        const text = readFileSync(new URL(file, folder), 'utf8');
        return `${name}\n\n${text.trim()}\n`;
      });
      this.emitFile({ type: 'asset', fileName: 'licences.txt', source: texts.join('\n----\n\n') });
    },
  };
}

export default defineConfig({
  root: import.meta.dirname,
  base: './',
  publicDir: false,
  plugins: [withoutTheirs(), licences(), compressed()],
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  build: {
    outDir: OUT,
    emptyOutDir: true,
    target: ['chrome111', 'firefox114', 'safari16.4'],
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    reportCompressedSize: true,
  },
});
