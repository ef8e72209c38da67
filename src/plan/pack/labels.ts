// Labels to cut out and stick on: tag, name, and a code that a telephone reads.
import qrcode from 'qrcode-generator';
import { asMarkup, type Markup, markup } from '../markup.ts';
import type { Part } from './parts.ts';

/** What a device is called on a label's code: no address, because nobody knows yet where the panel will be. */
export const codeOf = (station: string, { id, tag, name }: Pick<Part, 'id' | 'tag' | 'name'>): string =>
  `${tag} ${name} (${station}/${id})`;

/** Medium error correction, four modules of quiet zone: ISO/IEC 18004 (from memory). */
export function qrOf(text: string): Markup {
  // Type 0: the smallest that holds the text.
  const code = qrcode(0, 'M');
  code.addData(text, 'Byte');
  code.make();
  const QUIET = 4;
  const modules = code.getModuleCount();
  const dark: string[] = [];
  for (let y = 0; y < modules; y++)
    for (let x = 0; x < modules; x++) if (code.isDark(y, x)) dark.push(`M${x + QUIET} ${y + QUIET}h1v1h-1z`);
  const size = modules + 2 * QUIET;
  return markup`<svg class="qr" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${size} ${size}" shape-rendering="crispEdges" role="img" aria-label="${text}"><rect width="${size}" height="${size}" fill="#fff"/><path d="${asMarkup(dark.join(''))}"/></svg>`;
}

/** One for each valve, float and pump. */
export const labelled = (parts: readonly Part[]): readonly Part[] =>
  parts.filter(({ kind }) => ['valve', 'float', 'pump'].includes(kind));

export function labelsPart(station: string, parts: readonly Part[]): Markup {
  return markup`<div class="labels">${labelled(parts).map(
    (
      part,
    ) => markup`<div class="label">${qrOf(codeOf(station, part))}<p><strong>${part.tag}</strong><br>${part.name}</p></div>
`,
  )}</div>
`;
}
