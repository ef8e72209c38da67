// Two vats in a row: a purifier fills the first for ever, a pump moves a batch's worth to the second, where it takes its
// time to become a batch. What follows is mass balance in litres, step by step; every loop has a bound.
import { CONTENTS, hold, MINUTES, SOME_FLOW, VOLUME } from './range.ts';

export interface TwoVats {
  /** Usable litres of each when full; dead volume and margins are not counted. */
  readonly freshL: number;
  readonly mixedL: number;
  readonly outputLpm: number;
  readonly transferLpm: number;
  readonly supplyLpm: number;
  /** From the last drop moved until the batch is ready: salt, dissolving, measuring, heating. */
  readonly preparationMinutes: number;
}

export interface Standing {
  readonly minutes: number;
  readonly freshL: number;
  readonly mixedL: number;
}

const MOST_STEPS = 2000;

function check(vats: TwoVats): void {
  hold('usable fresh water', vats.freshL, VOLUME);
  hold('usable mixed water', vats.mixedL, VOLUME);
  hold('output of the purifier', vats.outputLpm, SOME_FLOW);
  hold('transfer flow', vats.transferLpm, SOME_FLOW);
  hold('supply flow', vats.supplyLpm, SOME_FLOW);
  hold('preparation', vats.preparationMinutes, MINUTES);
}

/**
 * Both vats while a batch is made from the contents given: the fresh vat fills, gives what the batch lacks as often as it
 * must, and fills again while the batch is prepared.
 * @returns corners of straight lines: from the beginning until the fresh vat is full again and the batch ready
 * @throws OutOfRange
 */
export function courseOfBatch(vats: TwoVats, freshL: number, mixedL: number): Standing[] {
  check(vats);
  hold('fresh water', freshL, { ...CONTENTS, most: vats.freshL });
  hold('mixed water', mixedL, { ...CONTENTS, most: vats.mixedL });
  let now: Standing = { minutes: 0, freshL, mixedL };
  const course = [now];
  const go = (minutes: number, drawnL: number) => {
    const filled = Math.min(vats.freshL, now.freshL + vats.outputLpm * minutes - drawnL);
    now = {
      minutes: now.minutes + minutes,
      freshL: Math.max(0, filled),
      mixedL: Math.min(vats.mixedL, now.mixedL + drawnL),
    };
    course.push(now);
  };
  for (let step = 0; step < MOST_STEPS && vats.mixedL - now.mixedL > 1e-6; step++) {
    const wantedL = Math.min(vats.mixedL - now.mixedL, vats.freshL);
    if (now.freshL < wantedL - 1e-9) go((wantedL - now.freshL) / vats.outputLpm, 0);
    go(wantedL / vats.transferLpm, wantedL);
  }
  const toFull = (vats.freshL - now.freshL) / vats.outputLpm;
  const ready = vats.preparationMinutes;
  for (const minutes of [Math.min(toFull, ready), Math.abs(toFull - ready)])
    if (minutes > 1e-9) go(minutes, 0);
  return course;
}

/** Minutes until the batch of `courseOfBatch` is ready. @throws OutOfRange */
export function minutesToBatch(vats: TwoVats, freshL: number, mixedL: number): number {
  const moved = courseOfBatch(vats, freshL, mixedL).find((at) => vats.mixedL - at.mixedL <= 1e-6);
  return (moved?.minutes ?? 0) + vats.preparationMinutes;
}

export interface LargeChange {
  readonly minutes: number;
  readonly batches: number;
  /** What was delivered, and when each batch began to flow. */
  readonly deliveries: readonly { readonly atMinutes: number; readonly volumeL: number }[];
}

/** The largest change that is worked out batch by batch; who needs more has other vats in mind. */
export const mostChangeL = ({ mixedL }: TwoVats): number => Math.min(VOLUME.most, MOST_STEPS * mixedL);

/**
 * How long a change of a volume takes from two full vats, batch after batch; a last batch is no larger than what is left.
 * People are taken to be there: waiting for salt belongs into the preparation.
 * @param volumeL 0.001 L to 2000 batches
 * @throws OutOfRange also when it would take more than 2000 batches
 */
export function largeChange(vats: TwoVats, volumeL: number): LargeChange {
  check(vats);
  hold('volume', volumeL, { ...VOLUME, most: mostChangeL(vats) });
  const deliveries: { atMinutes: number; volumeL: number }[] = [];
  let minutes = 0;
  let freshL = vats.freshL;
  let mixedL = vats.mixedL;
  let leftL = volumeL;
  const pass = (lasts: number) => {
    minutes += lasts;
    freshL = Math.min(vats.freshL, freshL + vats.outputLpm * lasts);
  };
  for (let batch = 0; batch < MOST_STEPS && leftL > 1e-6; batch++) {
    const nowL = Math.min(leftL, mixedL);
    deliveries.push({ atMinutes: minutes, volumeL: nowL });
    pass(nowL / vats.supplyLpm);
    mixedL -= nowL;
    leftL -= nowL;
    if (leftL <= 1e-6) break;
    let lackingL = Math.min(vats.mixedL, leftL) - mixedL;
    for (let step = 0; step < MOST_STEPS && lackingL > 1e-6; step++) {
      const movedL = Math.min(lackingL, vats.freshL);
      if (freshL < movedL) pass((movedL - freshL) / vats.outputLpm);
      freshL -= movedL;
      pass(movedL / vats.transferLpm);
      mixedL += movedL;
      lackingL -= movedL;
    }
    pass(vats.preparationMinutes);
  }
  return { minutes, batches: deliveries.length, deliveries };
}
