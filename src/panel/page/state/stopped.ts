/** With its full stop, and one only: what the core says may end with one of its own. */
export const stopped = (words: string): string =>
  /[.!?]$/u.test(words.trim()) ? words.trim() : `${words.trim()}.`;
