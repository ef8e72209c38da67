// One seed for every property, so that a run can be repeated. CHECK_SEED=random draws another each time; a failure
// prints the one it used.
import fc from 'fast-check';

const asked = process.env.CHECK_SEED ?? '20240611';
if (asked !== 'random') fc.configureGlobal({ seed: Number(asked) });
