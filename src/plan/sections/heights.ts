// Heights: over what range each line lifts or falls, what runs by itself when its pump stops, and what closes it.

import { suctionHeadAvailableM } from '../../engineering/gravity.ts';
import { pipeHeadLossM } from '../../engineering/hydraulics.ts';
import { kinematicViscosityM2PerS } from '../../engineering/properties.ts';
import type { Closer, Rest, Run } from '../by-itself.ts';
import { type CautionId, caution, cautionIf } from '../cautions.ts';
import type { Design } from '../design.ts';
import { drawnAboveMm, type LinePlan } from '../lines.ts';
import type { Marks } from '../marks.ts';
import { type Caution, type Cell, figure, type Section, section } from '../report.ts';
import { levelMm } from '../vat-level.ts';
import { litres, lpm, metres } from '../words.ts';

interface Named {
  readonly name: string;
  readonly plan: LinePlan;
  readonly rest: Rest;
  readonly marks: Marks;
  readonly from: string;
  readonly to: string;
}

export function heights(design: Design): Section {
  const lines = linesOf(design);
  const { drain } = design.rest;
  return section({
    id: 'heights',
    title: 'Heights, and what runs by itself',
    says: [
      ...lines.map(wordsOf),
      drain.isKnown
        ? drain.run === null
          ? 'The drain ends no lower than the water it begins in: it does not run by itself.'
          : `The drain ends ${metres(drain.run.fallM)} below the water of the system. ${closerWords(drain.closer)}`
        : 'Nothing states how high the drain begins and ends.',
      'A pump at rest is an open pipe. What a line does without its pump no program can stop: only its heights, a siphon break or a closed valve.',
    ],
    figures: lines.flatMap(({ name, plan, rest, marks }) => {
      const id = name.toLowerCase();
      return [
        figure(`${id}-fall`, `${name}: falls by`, rest.downhill?.fallM ?? null, 'm', 2, 'nothing'),
        figure(
          `${id}-runs`,
          `${name}: runs by itself, at first`,
          rest.downhill?.flowLpm ?? null,
          'L/min',
          1,
          'nothing',
        ),
        figure(
          `${id}-lost`,
          `${name}: lost per stop if nobody notices`,
          rest.downhill?.litres ?? null,
          'L',
          0,
          'nothing',
        ),
        figure(`${id}-pipe`, `${name}: water in its pipe`, rest.inPipeL, 'L', 1),
        figure(
          `${id}-suction`,
          `${name}: suction head at its pump, vat low`,
          suctionM(design, plan, marks),
          'm',
          1,
          'no pump',
        ),
        figure(
          `${id}-submergence`,
          `${name}: water needed above the bottom so that no air is drawn`,
          drawnAboveMm(plan.line, plan.range?.usualLpm ?? 0),
          'mm',
        ),
      ];
    }),
    tables: [
      {
        id: 'heights',
        title: 'Above the floor of the vats',
        columns: [
          { title: 'Line' },
          { title: 'water, full', unit: 'm', digits: 2 },
          { title: 'water, low', unit: 'm', digits: 2 },
          { title: 'ends at', unit: 'm', digits: 2 },
          { title: 'lift, least', unit: 'm', digits: 2 },
          { title: 'lift, most', unit: 'm', digits: 2 },
          { title: 'closed at rest by' },
        ],
        rows: lines.map(({ name, plan, rest, marks }): Cell[] => [
          name,
          (plan.standMm + levelMm(plan.from, marks.highL)) / 1000,
          (plan.standMm + levelMm(plan.from, marks.lowL)) / 1000,
          plan.outletM,
          plan.leastLiftM,
          plan.mostLiftM,
          plan.line.curve === null ? 'two valves' : rest.closer,
        ]),
      },
    ],
    cautions: [...lines.flatMap(runsCautions), ...drainCautions(design)],
    sources: [
      'Flow by itself: the losses of the pipe equal the fall (Darcy-Weisbach); the pump at rest is taken as an open pipe, so it is the most that can run.',
      'Submergence D (1 + 2.3 F): ANSI/HI 9.8; suction head: ANSI/HI 9.6.1 (both from memory), air at sea level, vapour pressure of IAPWS-IF97, the pump at the floor.',
    ],
  });
}

function linesOf({ transfer, supply, rest, freshMarks, mixingMarks }: Design): Named[] {
  return [
    {
      name: 'Transfer',
      plan: transfer,
      rest: rest.transfer,
      marks: freshMarks,
      from: 'fresh vat',
      to: 'mixing vat',
    },
    { name: 'Supply', plan: supply, rest: rest.supply, marks: mixingMarks, from: 'mixing vat', to: 'system' },
  ];
}

function wordsOf({ name, plan, rest, from }: Named): string {
  const range = `${name}: from ${metres(plan.leastLiftM)} with the ${from} full to ${metres(plan.mostLiftM)} at its low float`;
  if (plan.line.curve === null) {
    return `${range}; height alone moves the water, so two valves that are closed without power hold it, one before the other.`;
  }
  if (rest.downhill === null && rest.back === null) return `${range}; nothing runs by itself.`;
  return `${range}. ${closerWords(rest.closer)}`;
}

function closerWords(closer: Closer): string {
  switch (closer) {
    case 'siphon break':
      return 'A siphon break closes it, as the file says: try it by hand, since salt clogs it.';
    case 'valve':
      return 'A valve that is closed without power closes it, as the file says.';
    case 'valve to be added':
      return 'The drafted station has a valve that is closed without power in this line.';
    case 'not needed':
      return '';
  }
}

/** With the vat at its low float and the pump at the floor, its shortest pipe counted as the suction. */
function suctionM(design: Design, plan: LinePlan, marks: Marks): number | null {
  const { line, salinity, temperatureC } = plan;
  if (line.curve === null) return null;
  const [first] = line.pipes;
  const suction = {
    lengthM: Math.min(1, first?.lengthM ?? 1),
    diameterMm: first?.diameterMm ?? line.intakeMm,
  };
  const warmC = Math.max(temperatureC, design.site.system.temperatureC);
  const lossM = pipeHeadLossM(
    plan.range?.mostLpm ?? 0,
    suction.lengthM,
    suction.diameterMm,
    first?.roughnessMm ?? 0,
    1,
    kinematicViscosityM2PerS(salinity, warmC),
  );
  return suctionHeadAvailableM(
    (plan.standMm + levelMm(plan.from, marks.lowL)) / 1000,
    Math.min(lossM, 100),
    salinity,
    warmC,
  );
}

/** What is closed already is no danger any more. */
const isOpen = (closer: Closer): boolean => closer === 'valve to be added';

function runsCautions({ name, rest, from, to }: Named): Caution[] {
  if (!isOpen(rest.closer)) return [];
  const say = (id: CautionId, run: Run | null, words: (run: Run) => string) =>
    run === null ? [] : [caution(id, words(run))];
  return [
    ...say(
      'P-26',
      rest.downhill,
      ({ fallM, flowLpm, litres: lost }) =>
        `${name} runs downhill: its pipe ends ${metres(fallM)} below the water of the full ${from}. When its pump stops, up to ${lpm(flowLpm ?? 0)} run on by themselves: up to ${litres(lost ?? 0)} per stop into the ${to} if nobody notices.`,
    ),
    ...say(
      'P-27',
      rest.back,
      ({ fallM, flowLpm, litres: lost }) =>
        `${name} ends under water that stands up to ${metres(fallM)} above the ${from} when that is low: when its pump stops, up to ${lpm(flowLpm ?? 0)} run back${lost === null ? ' until its end lies bare' : `, up to ${litres(lost)} per stop`}.`,
    ),
  ];
}

function drainCautions({ rest: { drain } }: Design): Caution[] {
  return [
    ...cautionIf(
      drain.run !== null && isOpen(drain.closer),
      'P-28',
      () =>
        `The drain ends ${metres(drain.run?.fallM ?? 0)} below the water of the system: after its pump has stopped it goes on as a siphon until its inlet lies bare.`,
    ),
    ...cautionIf(
      !drain.isKnown && drain.closer === 'not needed',
      'P-29',
      () =>
        'Nothing in the file says whether the drain of the system goes on by itself after its pump has stopped.',
    ),
  ];
}
