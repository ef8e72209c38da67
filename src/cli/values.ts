// How values are read off the command line: each refusal says which value would do.
import { InvalidArgumentError } from 'commander';
import { readQuantity, UnitError } from '../units/quantity.ts';

export const LARGEST = 999_999_999;

/** For an option that takes a whole number, ends included. */
export function wholeNumber(least = 0, most = LARGEST) {
  return (text: string): number => {
    const value = Number(text);
    if (!/^\d{1,10}$/u.test(text) || value < least || value > most)
      throw new InvalidArgumentError(`Give a whole number from ${least} to ${most}.`);
    return value;
  };
}

/** For an option that names a port. */
export function port(text: string): number {
  const number = Number(text);
  if (!/^\d{1,5}$/u.test(text) || number > 65_535) throw new InvalidArgumentError('Give a port, 0 to 65535.');
  return number;
}

/** For an option that takes a duration, ms. @param most in words, as in `24 h` */
export function duration(most: string) {
  const longestMs = readQuantity(most, 'duration');
  return (text: string): number => {
    try {
      const ms = Math.round(readQuantity(text, 'duration'));
      if (ms < 1 || ms > longestMs) throw new InvalidArgumentError(`Give between 1 ms and ${most}.`);
      return ms;
    } catch (error) {
      if (error instanceof UnitError) throw new InvalidArgumentError(error.message);
      throw error;
    }
  };
}

/** For an option that may be given any number of times. */
export function collected(value: string, before: readonly string[]): readonly string[] {
  return [...before, value];
}
