// The simulated water itself: nothing made, nothing lost. A campaign on water that leaks from the books proves nothing.
import { balanceErrorShare } from '../../simulate/balance.ts';
import type { Twin } from '../../simulate/twin.ts';
import { BALANCE_LIMIT } from '../../simulate/verdict.ts';
import type { Check, Finding } from './check.ts';

export function conserved(): Check {
  let last: Twin | null = null;
  return {
    name: 'conserved',
    promise: 'the books of water and salt close',
    see: ({ twin }) => {
      last = twin;
    },
    findings: (): readonly Finding[] => {
      const error = last === null ? 0 : balanceErrorShare(last);
      if (error <= BALANCE_LIMIT) return [];
      const words = `the books are off by ${(100 * error).toFixed(2)} %`;
      return [{ check: 'conserved', harm: null, about: 'the station', words }];
    },
  };
}
