// A picture held against the one that somebody judged good. Letters are drawn a little differently on every computer, so a
// small share of the pixels may differ, all over and in any one place: a button that is gone is little of a page and all
// of where it was.
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import pixelmatch from 'pixelmatch';
import { PNG } from 'pngjs';

/** Pixels by the side of what counts as one place. */
const PLACE_PX = 32;
export interface Tolerance {
  readonly all: number;
  readonly place: number;
}

export const TOLERANCE: Tolerance = { all: 0.003, place: 0.06 };

export interface Differing {
  /** Shares of the pixels that differ by more than a shade: of all, and in the place where most do. */
  readonly all: number;
  readonly place: number;
  /** The differences, drawn; null where the sizes differ already. */
  readonly picture: Buffer | null;
}

export const differs = ({ all, place }: Differing, tolerance = TOLERANCE): boolean =>
  all > tolerance.all || place > tolerance.place;

/** @param judged, found two PNG files */
export function differing(judged: Buffer, found: Buffer): Differing {
  const [a, b] = [PNG.sync.read(judged), PNG.sync.read(found)];
  const { width, height } = a;
  if (width !== b.width || height !== b.height) return { all: 1, place: 1, picture: null };
  const picture = new PNG({ width, height });
  const options = { threshold: 0.2, diffMask: true };
  const count = pixelmatch(a.data, b.data, picture.data, width, height, options);
  return {
    all: count / (width * height),
    place: worstPlace(picture),
    picture: PNG.sync.write(picture),
  };
}

function worstPlace({ width, height, data }: PNG): number {
  const across = Math.ceil(width / PLACE_PX);
  const counts = new Array<number>(across * Math.ceil(height / PLACE_PX)).fill(0);
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      // The mask is opaque where something differs.
      if (data[4 * (y * width + x) + 3] === 0) continue;
      const place = Math.floor(y / PLACE_PX) * across + Math.floor(x / PLACE_PX);
      counts[place] = (counts[place] ?? 0) + 1;
    }
  }
  return Math.max(...counts) / PLACE_PX ** 2;
}

/** Smaller than a browser writes it: few colours in long rows pack best as they are. */
const PACKING = { colorType: 2, deflateLevel: 9, deflateStrategy: 0, filterType: 0 } as const;
const packed = (png: Buffer): Buffer => (isIndexed(png) ? png : PNG.sync.write(PNG.sync.read(png), PACKING));
/** Its colours are a palette's: it is small as it is. */
const isIndexed = (png: Buffer): boolean => png[25] === 3;

export const isUpdating = process.env.UPDATE_SCREENS === '1';

/**
 * Null where the picture looks as the stored one, else what is wrong; the differences are drawn into `PATH.differs.png`.
 * With UPDATE_SCREENS=1 it is stored instead: then look at it.
 */
export function unlike(path: string, found: Buffer, tolerance = TOLERANCE): string | null {
  if (isUpdating) {
    mkdirSync(dirname(path), { recursive: true });
    // A picture that is still good is not written anew: its bytes would differ all the same.
    if (!existsSync(path) || differs(differing(readFileSync(path), found), tolerance))
      writeFileSync(path, packed(found));
    return null;
  }
  if (!existsSync(path)) return `there is no ${path}: run \`npm run pictures\` and look at it`;
  const result = differing(readFileSync(path), found);
  if (!differs(result, tolerance)) return null;
  const drawn = path.replace(/\.png$/u, '.differs.png');
  if (result.picture !== null) writeFileSync(drawn, result.picture);
  return `${path}: ${(100 * result.all).toFixed(2)} % differ, ${(100 * result.place).toFixed(0)} % in one place; see ${drawn}`;
}
