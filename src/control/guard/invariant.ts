// Impossible situations, as opposed to faults of devices or people (those are events): they stop the core, with numbers.
// The shell answers a thrown InvariantError by dropping every output before it exits.
export class InvariantError extends Error {
  override readonly name = 'InvariantError';
}

export function invariant(
  condition: boolean,
  claim: string,
  values: Readonly<Record<string, unknown>> = {},
): asserts condition {
  if (!condition) throw new InvariantError(`broken: ${claim} ${JSON.stringify(values)}`);
}

/** The entry that must be there: an id that the station file's loader has already checked. */
export function known<T>(record: Readonly<Record<string, T>>, id: string): T {
  const entry = record[id];
  if (entry === undefined) throw new InvariantError(`broken: '${id}' is not in the plant`);
  return entry;
}
