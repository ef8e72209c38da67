// The core says what it means by id and values, never in words: the catalogues of `src/language` print it.
export { isMessage, type Message, message, sameMessage } from '../../language/message.ts';

// A message says a quantity as exactly as anybody is told: what changes without a word changing is no news.
const to =
  (digits: number) =>
  (value: number): number =>
    Number(value.toFixed(digits));
export const whole = to(0);
export const tenths = to(1);
export const hundredths = to(2);
