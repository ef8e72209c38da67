// Lets node run the benchmarks as they are written: `node --import ./test/bench/tools/typescript.mjs FILE.ts`.
// What they import from `src/` comes from `dist/`, so that what is measured is the product as it is shipped; types are
// stripped from the rest by the transformer that the tests use, too. Node 20 can't do that by itself.
import { register } from 'node:module';

register(new URL('./hooks.mjs', import.meta.url));
