// JSON Pointers (RFC 6901), the only reader and writer of them here.

/** The pointer to a member of what a pointer means. */
export function member(pointer: string, ...keys: readonly (string | number)[]): string {
  return [pointer, ...keys.map((key) => String(key).replaceAll('~', '~0').replaceAll('/', '~1'))].join('/');
}

/** The steps of a pointer: `/a~1b/0` is `a/b`, `0`. */
export function stepsOf(pointer: string): readonly string[] {
  const tokens = pointer.split('/').slice(1);
  return tokens.map((token) => token.replaceAll('~1', '/').replaceAll('~0', '~'));
}

/** What stands there; undefined where nothing does. */
export function follow(json: unknown, steps: readonly string[]): unknown {
  let here = json;
  for (const step of steps) {
    if (typeof here !== 'object' || here === null) return undefined;
    // Section 4: an index of a list has no leading zero, and `-` is the element that does not exist.
    if (Array.isArray(here) && !/^(?:0|[1-9]\d*)$/u.test(step)) return undefined;
    if (!Object.hasOwn(here, step)) return undefined;
    here = (here as Record<string, unknown>)[step];
  }
  return here;
}
