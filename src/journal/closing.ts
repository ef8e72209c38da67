/** Does something with what was just opened, and closes it where that fails. @returns what came of it */
export function closingOnFailure<T>(close: () => void, act: () => T): T {
  try {
    return act();
  } catch (error) {
    close();
    throw error;
  }
}
