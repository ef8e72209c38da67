// Markup from templates: whatever is put in is escaped, unless it is markup already. User text can't become a tag.

/** Markup that is safe to put on a page. Only `markup` and `asMarkup` make it. */
export interface Markup {
  readonly markup: string;
}

type Part = Markup | string | number | readonly Part[];

export function markup(strings: TemplateStringsArray, ...parts: readonly Part[]): Markup {
  return asMarkup(strings.reduce((text, next, index) => text + put(parts[index - 1] ?? '') + next));
}

/** For what was made by a program and holds no user text that is not escaped. */
export function asMarkup(text: string): Markup {
  return { markup: text };
}

function put(part: Part): string {
  if (typeof part === 'string' || typeof part === 'number') return escaped(String(part));
  if ('markup' in part) return part.markup;
  return part.map(put).join('');
}

export function escaped(text: string): string {
  return text
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;')
    .replaceAll("'", '&#39;');
}
