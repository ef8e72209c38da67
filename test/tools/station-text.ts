// A station file that says something else in a few places, so that a test needs no file of its own for a key or two.

/**
 * @param otherwise what the file says instead, or besides, by JSON Pointer; undefined takes a key out. The places above
 *   must be there already, and no key has a `/` or a `~` in it.
 */
export function textWith(text: string, otherwise: Readonly<Record<string, unknown>>): string {
  const places = Object.entries(otherwise);
  if (places.length === 0) return text;
  const station: unknown = JSON.parse(text);
  for (const [pointer, value] of places) {
    const [last = '', ...above] = pointer.split('/').slice(1).reverse();
    const place = above.reduceRight((part, key) => (part as Record<string, unknown>)[key], station);
    (place as Record<string, unknown>)[last] = value;
  }
  return JSON.stringify(station, null, 2);
}
