// Leaving in order: everything off, seen to be off where it can be seen, and said plainly where it can't.
import { filter, map, type Subscription } from 'rxjs';
import type { Plant } from '../station/plant.ts';
import type { Codec } from './codec.ts';
import { LIMITS } from './limits.ts';
import type { Link } from './link.ts';
import type { Outbox } from './outbox.ts';

export interface Farewell {
  readonly confirmed: readonly string[];
  /** Told off, and heard by nobody: a lamp or a signal to another controller moves no water. */
  readonly signals: readonly string[];
  /** By actuator: why nobody knows. */
  readonly unconfirmed: Readonly<Record<string, string>>;
}

/**
 * `off` to everything, again every second to those that don't confirm, until all did or the time is up.
 * @param provenOff what was off for certain before: it counts unless it says otherwise now
 */
export async function switchOff(
  plant: Plant,
  provenOff: readonly string[],
  { link, codec, outbox }: { readonly link: Link; readonly codec: Codec; readonly outbox: Outbox },
  withinMs: number,
): Promise<Farewell> {
  const withFeedback = Object.values(plant.actuators).filter(({ feedback }) => feedback !== null);
  const wasProven = link.isProven();
  const confirmed = new Set(wasProven ? provenOff : []);
  const watching = watch(link, codec, confirmed);
  outbox.offToEverything();
  const all = () => withFeedback.every(({ id }) => confirmed.has(id));
  for (let waitedMs = 0; wasProven && !all() && waitedMs < withinMs; waitedMs += POLL_MS) {
    await new Promise((resolve) => setTimeout(resolve, POLL_MS));
    if (waitedMs > 0 && waitedMs % LIMITS.stopRepeatMs === 0) outbox.offToEverything(confirmed);
  }
  watching.unsubscribe();
  const unheard = Object.values(plant.actuators).filter(({ id }) => !confirmed.has(id));
  const open = unheard.filter(({ kind }) => kind !== 'signal');
  return {
    confirmed: [...confirmed],
    signals: unheard.filter(({ kind }) => kind === 'signal').map(({ id }) => id),
    unconfirmed: Object.fromEntries(open.map((actuator) => [actuator.id, doubtOf(actuator, wasProven)])),
  };
}

const POLL_MS = 50;

function watch(link: Link, codec: Codec, confirmed: Set<string>): Subscription {
  return link.news
    .pipe(
      filter((news) => news.news === 'message'),
      map(({ message: { topic, payload, retain } }) => codec.read(topic, payload, retain)),
    )
    .subscribe({
      next: (inputs) => {
        for (const input of inputs) {
          if (input.type !== 'feedback' || !input.live) continue;
          if (input.on) confirmed.delete(input.actuator);
          else confirmed.add(input.actuator);
        }
      },
      error: () => {},
    });
}

function doubtOf(
  { feedback, countsLease, longestMs }: Plant['actuators'][string],
  wasProven: boolean,
): string {
  const lease = countsLease
    ? `it drops out by itself within ${longestMs / 1000} s`
    : 'it stays as it is until told';
  if (!wasProven) return `the link is down; ${lease}`;
  return feedback === null
    ? `told off, and it has no feedback; ${lease}`
    : `told off, and it does not confirm; ${lease}`;
}
