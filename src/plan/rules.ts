// What the schema can't see in a site file: a number outside the range of its formula, a pump curve that rises, a name
// that names nothing. Whatever passes here can be planned without an error.
import { DAYS_PER_YEAR, exchangedPerYearL } from '../engineering/consumption.ts';
import { CurveError } from '../engineering/pump.ts';
import { isWithin, OutOfRange, writeRange } from '../engineering/range.ts';
import type { Sense } from '../station/document.ts';
import { readFile } from '../station/file/declare.ts';
import { member } from '../station/pointer.ts';
import { type Mistake, nearest, quoted } from '../station/problem.ts';
import { readStation } from '../station/quantities.ts';
import { contentsAt, heightOf, writtenShape } from '../station/shape.ts';
import { type Partly, type Whole, wholePartsOf } from '../station/sketch.ts';
import { DAY_MS, HOUR_MS, Shape, SYSTEM, VAT_CAPACITY } from './file/parts.ts';
import { type LineFile, outOfRange, type SiteFile, type VatFile } from './file/site.ts';
import { curve as pumpCurve } from './file/station-to-be.ts';
import { curveOf } from './site-of.ts';

export const mistakesInSite: Sense = (value, againstSchema) => {
  const whole = wholePartsOf<SiteFile>(value, againstSchema);
  const { file } = whole;
  return [
    ...outOfRange(file),
    ...(['transfer', 'supply'] as const).flatMap((line) => wrongLine(file[line], `/${line}`)),
    ...wrongVats(file, whole),
    ...sizesOfVats(file, whole),
    ...tooMuchWater(file, whole),
    ...twiceNamed(file),
    ...pricesWithoutCurrency(file),
    ...delaysOutOfOrder(file),
    ...contradictingHeights(file),
  ];
};

function wrongLine(line: Partly<LineFile> | undefined, pointer: string): Mistake[] {
  return [...wrongCurve(line, pointer), ...wrongPipes(line, pointer)];
}

function wrongCurve(line: Partly<LineFile> | undefined, pointer: string): Mistake[] {
  const curve = line?.pump?.curve;
  if (curve === undefined) return [];
  try {
    curveOf(readFile(pumpCurve, curve).values);
    return [];
  } catch (error) {
    if (!(error instanceof CurveError || error instanceof OutOfRange)) throw error;
    return [
      {
        pointer: `${pointer}/pump/curve`,
        found: `a curve that is none: ${error.message}`,
        accepted:
          'one duty point, or points from no flow on: flows that rise and heads (at most 500 m) that never rise',
      },
    ];
  }
}

function wrongPipes(line: Partly<LineFile> | undefined, pointer: string): Mistake[] {
  // A list is cut out where an element is broken, not where one lacks something.
  const pipes = (line?.pipes ?? []) as readonly Partial<LineFile['pipes'][number]>[];
  return pipes.flatMap(({ material, roughness, diameter }, index) => {
    const here = member(pointer, 'pipes', index);
    const both = material !== undefined && roughness !== undefined;
    // Colebrook-White ends at a twentieth of the diameter.
    const tooRough =
      roughness !== undefined &&
      diameter !== undefined &&
      readStation(roughness, 'length') / readStation(diameter, 'length') > 0.05;
    return [
      ...(both
        ? [
            {
              pointer: `${here}/roughness`,
              found: 'a roughness beside a material',
              accepted: 'one of the two: the material states a roughness already',
            },
          ]
        : []),
      ...(tooRough
        ? [
            {
              pointer: `${here}/roughness`,
              found: quoted(String(roughness)),
              accepted: 'at most a twentieth of the diameter',
            },
          ]
        : []),
    ];
  });
}

function wrongVats(file: Partly<SiteFile>, whole: Whole<SiteFile>): Mistake[] {
  const { candidates, fresh, mixing } = file.vats ?? {};
  if (candidates === undefined || !whole.isWhole('/vats/candidates')) return [];
  const chosen = Object.entries({ fresh, mixing }).filter((entry): entry is [string, string] => !!entry[1]);
  if (typeof candidates === 'string') {
    return chosen.map(([key, name]) => ({
      pointer: `/vats/${key}`,
      found: `${quoted(name)}, while the vats are to be proposed`,
      accepted: 'no name here, or a list of candidates that has it',
    }));
  }
  const names = candidates.map(({ name }: VatFile) => name);
  return chosen
    .filter(([, name]) => !names.includes(name))
    .map(([key, name]) => {
      const meant = nearest(name, names);
      return {
        pointer: `/vats/${key}`,
        found: `${quoted(name)}, which is no candidate`,
        accepted: `one of ${names.map(quoted).join(', ')}`,
        nearest: meant === undefined ? undefined : quoted(meant),
      };
    });
}

function sizesOfVats(file: Partly<SiteFile>, whole: Whole<SiteFile>): Mistake[] {
  const { candidates } = file.vats ?? {};
  if (candidates === undefined || typeof candidates === 'string' || !whole.isWhole('/vats/candidates'))
    return [];
  return candidates.flatMap(({ shape, capacity }: VatFile, index) => {
    // What is out of its own range has had its sentence.
    if (Shape().outside(shape, '').length > 0) return [];
    const inside = writtenShape(shape);
    const holdsL = contentsAt(inside, heightOf(inside));
    if (!isWithin(holdsL, VAT_CAPACITY)) {
      return [
        {
          pointer: member('/vats/candidates', index, 'shape'),
          found: `inside measures that hold ${holdsL.toFixed(1)} L`,
          accepted: `a vat of ${writeRange(VAT_CAPACITY)}`,
        },
      ];
    }
    if (capacity === undefined) return [];
    if (readStation(capacity, 'volume') <= holdsL) return [];
    return [
      {
        pointer: member('/vats/candidates', index, 'capacity'),
        found: `${quoted(capacity)}, more than its inside measures hold (${holdsL.toFixed(0)} L)`,
        accepted: 'inside measures of a vat that holds its capacity, or a smaller capacity',
      },
    ];
  });
}

/** A million litres a year is where the formulas end, and where vats are the wrong thing long since. */
const MOST_PER_YEAR_L = 900_000;

function tooMuchWater(file: Partly<SiteFile>, whole: Whole<SiteFile>): Mistake[] {
  const { share, every } = file.schedule?.exchange ?? {};
  const { parts, freshUse } = file.system ?? {};
  if (share === undefined || every === undefined || parts === undefined || !whole.isWhole('/system'))
    return [];
  const systemL = Object.values(parts).reduce((sum, part) => sum + readStation(String(part), 'volume'), 0);
  const intervalDays = readStation(every, 'duration-with-unit') / DAY_MS;
  // What is out of its own range has had its sentence.
  if (intervalDays * DAY_MS < HOUR_MS || !isWithin(systemL, SYSTEM)) return [];
  const exchangedL = exchangedPerYearL(systemL, Math.min(1, readStation(share, 'ratio')), intervalDays);
  const drawnL = freshUse === undefined ? 0 : readStation(freshUse, 'flow') * 1440 * DAYS_PER_YEAR;
  if (exchangedL + drawnL <= MOST_PER_YEAR_L) return [];
  return [
    {
      pointer: '/schedule/exchange',
      found: `a schedule that takes ${((exchangedL + drawnL) / 1000).toFixed(0)} m3 of water in a year`,
      accepted: `at most ${MOST_PER_YEAR_L / 1000} m3: a smaller share, or less often`,
    },
  ];
}

function twiceNamed(file: Partly<SiteFile>): Mistake[] {
  const candidates = file.vats?.candidates;
  const lists = {
    '/vats/candidates': typeof candidates === 'string' ? [] : (candidates ?? []),
    '/solutes': file.solutes ?? [],
  };
  return Object.entries(lists).flatMap(([pointer, list]) => {
    const names = list.map(({ name }: { readonly name: string }) => name);
    return names.flatMap((name, index) =>
      names.indexOf(name) === index
        ? []
        : [
            {
              pointer: member(pointer, index, 'name'),
              found: `${quoted(name)} a second time`,
              accepted: 'a name of its own for each',
            },
          ],
    );
  });
}

function pricesWithoutCurrency(file: Partly<SiteFile>): Mistake[] {
  if (file.tariffs !== undefined) return [];
  const candidates = file.vats?.candidates;
  const vats = typeof candidates === 'string' ? [] : (candidates ?? []);
  const priced = [
    ...(file.salt?.price === undefined ? [] : ['/salt/price']),
    ...vats.flatMap(({ price }: VatFile, index) =>
      price === undefined ? [] : [member('/vats/candidates', index, 'price')],
    ),
  ];
  return priced.map((pointer) => ({
    pointer,
    found: 'a price without a currency',
    accepted: '"tariffs" with a "currency" in the file, or no price',
  }));
}

/** Heights of the system's water against each other, and against a pipe that is said to end above it. */
function contradictingHeights(file: Partly<SiteFile>): Mistake[] {
  const { least, most } = file.system?.level ?? {};
  const { outlet, ends = 'in air' } = file.supply ?? {};
  if (least === undefined || most === undefined) return [];
  const mostMm = readStation(most, 'height');
  return [
    ...(readStation(least, 'height') > mostMm
      ? [
          {
            pointer: '/system/level/most',
            found: `${quoted(most)}, lower than the least of ${quoted(least)}`,
            accepted: 'at least as high as "least", both above the floor of the vat room',
          },
        ]
      : []),
    ...(outlet !== undefined && ends === 'in air' && readStation(outlet, 'height') < mostMm
      ? [
          {
            pointer: '/supply/outlet',
            found: `${quoted(outlet)} in air, below the water of the system that stands at up to ${quoted(most)}`,
            accepted: 'a higher outlet, a lower "level", or "ends": "under water"',
          },
        ]
      : []),
  ];
}

function delaysOutOfOrder(file: Partly<SiteFile>): Mistake[] {
  const { usual, longest } = file.owner?.saltDelay ?? {};
  if (usual === undefined || longest === undefined) return [];
  const inOrder = readStation(usual, 'duration-with-unit') <= readStation(longest, 'duration-with-unit');
  if (inOrder) return [];
  return [
    {
      pointer: '/owner/saltDelay/longest',
      found: `${quoted(longest)}, less than the usual ${quoted(usual)}`,
      accepted: 'at least the usual delay',
    },
  ];
}
