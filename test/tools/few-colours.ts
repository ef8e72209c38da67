// A picture in sixteen colours: what a page of text needs, at a third of the size.
import { deflateSync } from 'node:zlib';
import { PNG } from 'pngjs';

const COLOURS = 16;
const SIGNATURE = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);

const CRC = Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k += 1) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c >>> 0;
});
const crcOf = (bytes: Buffer): number => {
  let c = 0xffffffff;
  for (const byte of bytes) c = (CRC[(c ^ byte) & 0xff] ?? 0) ^ (c >>> 8);
  return (c ^ 0xffffffff) >>> 0;
};

function chunk(name: string, body: Buffer): Buffer {
  const named = Buffer.concat([Buffer.from(name), body]);
  const [length, sum] = [Buffer.alloc(4), Buffer.alloc(4)];
  length.writeUInt32BE(body.length);
  sum.writeUInt32BE(crcOf(named));
  return Buffer.concat([length, named, sum]);
}

/** The commonest colours, none too like another; each pixel takes the nearest of them. */
export function inFewColours(png: Buffer): Buffer {
  const { width, height, data } = PNG.sync.read(png);
  const counts = new Map<number, number>();
  for (let i = 0; i < data.length; i += 4) {
    const key = ((data[i] ?? 0) << 16) | ((data[i + 1] ?? 0) << 8) | (data[i + 2] ?? 0);
    counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  const apart = (a: number, b: number): number =>
    [16, 8, 0].reduce((sum, shift) => sum + (((a >> shift) & 255) - ((b >> shift) & 255)) ** 2, 0);
  const palette: number[] = [];
  for (const [key] of [...counts].toSorted(([, a], [, b]) => b - a)) {
    if (palette.length === COLOURS) break;
    if (palette.every((one) => apart(one, key) > 120)) palette.push(key);
  }
  const nearest = new Map<number, number>();
  const placeOf = (key: number): number => {
    const known = nearest.get(key);
    if (known !== undefined) return known;
    let best = 0;
    for (let i = 1; i < palette.length; i += 1)
      if (apart(palette[i] ?? 0, key) < apart(palette[best] ?? 0, key)) best = i;
    nearest.set(key, best);
    return best;
  };
  const row = 1 + Math.ceil(width / 2);
  const rows = Buffer.alloc(row * height);
  for (let y = 0; y < height; y += 1)
    for (let x = 0; x < width; x += 1) {
      const i = 4 * (y * width + x);
      const place = placeOf(((data[i] ?? 0) << 16) | ((data[i + 1] ?? 0) << 8) | (data[i + 2] ?? 0));
      const at = y * row + 1 + (x >> 1);
      rows[at] = (rows[at] ?? 0) | (x % 2 === 0 ? place << 4 : place);
    }
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  // Four bits a pixel, by palette.
  head.set([4, 3, 0, 0, 0], 8);
  return Buffer.concat([
    SIGNATURE,
    chunk('IHDR', head),
    chunk('PLTE', Buffer.from(palette.flatMap((key) => [(key >> 16) & 255, (key >> 8) & 255, key & 255]))),
    chunk('IDAT', deflateSync(rows, { level: 9 })),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}
