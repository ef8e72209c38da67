// `node --import FILE`: lets the built service run without the interlock rows that ROWS_OUT names, so that the judges of the
// second plant can be seen to notice what those rows hold.
import { register } from 'node:module';

register(new URL('./rows-out-hooks.mjs', import.meta.url));
