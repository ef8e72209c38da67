// What passes the doors and fits the height, and the largest vats that would.
import {
  type Largest,
  largestBox,
  largestLyingCylinder,
  largestUprightCylinder,
  settingUprightMm,
} from '../../engineering/passage.ts';
import { cautionIf } from '../cautions.ts';
import { type Judged, LONGEST_MM, placeOf, WALL_MM } from '../choice.ts';
import type { Design } from '../design.ts';
import { type Caution, type Cell, figure, type Section, section, type Table } from '../report.ts';
import { heightMm, wordsOfShape } from '../vat-level.ts';

export function passage(design: Design): Section {
  const { site, choice } = design;
  const place = placeOf(site, 2);
  const largest: readonly (readonly [string, string, Largest | null])[] = [
    ['upright', 'Two upright cylinders', largestUprightCylinder(place)],
    ['lying', 'Two lying cylinders', largestLyingCylinder(place)],
    ['box', 'Two boxes', largestBox(place)],
  ];
  return section({
    id: 'passage',
    title: 'Doors and heights',
    says: [
      choice.fresh.fits && choice.mixing.fits && choice.standTogether
        ? `Both vats pass every door with ${site.vats.clearanceMm} mm to spare, fit under the ceiling with ${site.vats.headroomMm} mm above them, and stand side by side with ${site.vats.gapMm} mm between.`
        : 'The vats of this plan do not fit as stated; see the warnings.',
      `Doors: ${site.room.doors.map(({ name, widthMm, heightMm: high }) => `${name} ${widthMm} x ${high} mm`).join('; ')}. Vats are carried straight through: a box that is leaned over an edge might pass where this says no, a cylinder gains nothing by leaning, and corners and stairs may stop a smaller one.`,
    ],
    figures: largest.map(([id, label, found]) =>
      figure(id, `${label}, the largest, each`, found?.contentsL ?? null, 'L', 0, 'none fits'),
    ),
    tables: [candidates(design), largestTable(largest)],
    cautions: [...misfits(design, choice.fresh), ...misfits(design, choice.mixing), ...slender(design)]
      // Two vats of one model have one fault between them.
      .filter(({ words }, index, all) => all.findIndex((other) => other.words === words) === index)
      .concat(
        cautionIf(
          !choice.standTogether,
          'P-06',
          () =>
            `The two vats do not stand side by side on ${site.room.lengthMm} x ${site.room.widthMm} mm of free floor.`,
        ),
      ),
    sources: [
      'Plain geometry with edges parallel to the door; setting upright over the lower edge needs the diagonal.',
    ],
  });
}

/** Higher than this for its width a vat wants to fall over. No source. */
const SLENDER = 1.6;

function slender({ fresh, mixing }: Design): Caution[] {
  return [fresh, mixing].flatMap((vat) => {
    const { body } = vat;
    const acrossMm = body.kind === 'box' ? Math.min(body.lengthMm, body.widthMm) : body.diameterMm;
    return cautionIf(
      heightMm(vat) > SLENDER * acrossMm,
      'P-34',
      () =>
        `${vat.name} stands ${heightMm(vat).toFixed(0)} mm high on ${acrossMm.toFixed(0)} mm: full, it can be pulled over.`,
    );
  });
}

function misfits({ site }: Design, judged: Judged): Caution[] {
  const { vat, doors } = judged;
  const shut = site.room.doors.filter((_, index) => doors[index] === null).map(({ name }) => name);
  return [
    ...cautionIf(
      shut.length > 0,
      'P-04',
      () => `${vat.name} does not pass ${shut.join(' and ')} (${wordsOfShape(vat)}).`,
    ),
    ...cautionIf(
      !judged.fitsHeight,
      'P-05',
      () =>
        `${vat.name} stands ${heightMm(vat).toFixed(0)} mm high on a stand of ${site.vats.standMm} mm and needs ${site.vats.headroomMm} mm above it: more than the ${site.room.heightMm} mm of the room.`,
    ),
    ...cautionIf(
      !judged.canBeSetUpright,
      'P-05',
      () =>
        `${vat.name} comes in tipped, and setting it upright needs ${settingUprightMm(vat.body).toFixed(0)} mm: more than the ${site.room.heightMm} mm of the room.`,
    ),
  ];
}

/** A list of proposals is long; only what was chosen is shown of it. */
function candidates({ choice }: Design): Table {
  const shown = choice.proposed ? [choice.fresh] : choice.judged;
  return {
    id: 'candidates',
    title: choice.proposed ? 'The proposed vat' : 'The candidates',
    columns: [
      { title: 'Vat' },
      { title: 'capacity', unit: 'L', digits: 0 },
      { title: 'doors' },
      { title: 'height' },
      { title: 'chosen as' },
    ],
    rows: shown.map((judged): Cell[] => [
      judged.vat.name,
      judged.vat.capacityL,
      judged.passes
        ? judged.doors.includes('tipped')
          ? 'passes tipped'
          : 'passes upright'
        : 'does not pass',
      judged.fitsHeight && judged.canBeSetUpright ? 'fits' : 'too high',
      roles(choice, judged),
    ]),
  };
}

function roles({ fresh, mixing }: Design['choice'], { vat }: Judged): string {
  const names = [
    ...(fresh.vat.name === vat.name ? ['fresh vat'] : []),
    ...(mixing.vat.name === vat.name ? ['mixing vat'] : []),
  ];
  return names.length === 0 ? '-' : names.join(' and ');
}

function largestTable(largest: readonly (readonly [string, string, Largest | null])[]): Table {
  return {
    id: 'largest',
    title: `The largest that would pass, fit and stand (outside measures in steps of 10 mm, at most ${LONGEST_MM} mm; litres inside walls of ${WALL_MM} mm)`,
    columns: [{ title: 'Kind' }, { title: 'each', unit: 'L', digits: 0 }, { title: 'measures' }],
    rows: largest.map(([, label, found]) => [
      label,
      found?.contentsL ?? null,
      found === null ? 'none fits' : measures(found),
    ]),
  };
}

function measures({ body, lying }: Largest): string {
  if (body.kind === 'box') return `${body.lengthMm} x ${body.widthMm} x ${body.heightMm} mm`;
  return `diameter ${body.diameterMm} mm, ${lying ? 'length' : 'height'} ${body.lengthMm} mm`;
}
