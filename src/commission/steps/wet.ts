// Steps with water: one route at a time, with every row at work and a person who watches. And how often sensors speak, which
// needs nothing but patience.
import { isMessage, message } from '../../language/message.ts';
import type { FloatSensor, Route, Sensor } from '../../station/plant.ts';
import { type Result, result, type Trial } from '../trial.ts';

/** What a person reads off a bucket or a scale, as a share. */
const READ_SHARE = 0.01;
/** Of a bucket is filled at most so much, at the most flow that the file allows. */
const BUCKET_SHARE = 0.9;
const MINUTE_MS = 60_000;
const rounded = (value: number, digits: number): number => Number(value.toPrecision(digits));

/** A bucket of a stated volume on the route; what the meter counted of it. */
export async function meterStep(trial: Trial): Promise<Result> {
  const { item, bench, person, plant } = trial;
  const route = plant.routes[item.subject] as Route;
  const { id } = route;
  const meter = plant.sensors[route.meter as string] as Sensor;
  const bucketL = await person.number('bucket', message('commission-bucket', { route: id }), 0.1, 10_000);
  const longestMs = ((BUCKET_SHARE * bucketL) / route.flowMostLpm) * MINUTE_MS;
  await person.done('ready', message('commission-bucket-ready', { route: id, durationMs: longestMs }));
  const fromMs = bench.nowMs();
  const openMs = await bench.open(id);
  if (isMessage(openMs)) return result('undone', openMs);
  const isCut = () => (route.through.every((output) => bench.isOn(output)) ? null : true);
  const cut = (await bench.until(isCut, longestMs)) ?? wentOff(trial, route, openMs);
  const ranMs = bench.nowMs() - openMs;
  await bench.allOff();
  await bench.pause(route.runDownMs + 2.5 * Math.max(1_000, meter.republishesMs ?? 1_000));
  if (cut !== null)
    return result('undone', message('commission-fill-interrupted', { route: id }), {
      ranMs: Math.round(ranMs),
    });
  const filledL = await person.number('filled', message('commission-bucket-filled'), 0.01, 1.2 * bucketL);
  const counted = countedL(trial, meter, fromMs);
  const flowLpm = (filledL / ranMs) * MINUTE_MS;
  const measured = {
    filledL,
    countedL: counted === null ? null : rounded(counted, 4),
    ranMs: Math.round(ranMs),
    flowLpm: rounded(flowLpm, 3),
  };
  if (counted === null || counted <= 0)
    return result('failed', message('commission-meter-silent', { sensor: meter.id }), measured);
  const lostL = 'lostAtStartL' in meter ? meter.lostAtStartL : 0;
  const uncertainty = 'uncertainty' in meter ? meter.uncertainty : 0;
  // A flow that is told now and then is summed up between its readings: their distance at both ends.
  const edgesL = meter.measures === 'flow' ? (flowLpm / MINUTE_MS) * (meter.republishesMs ?? 1_000) : 0;
  const mayL = (uncertainty + READ_SHARE) * filledL + lostL + edgesL;
  if (Math.abs(counted - filledL) > mayL) {
    const off = counted / filledL - 1;
    return result(
      'failed',
      message('commission-meter-off', { sensor: meter.id, countedL: counted, filledL, offShare: off }),
      measured,
      meterChange(meter, counted / filledL),
    );
  }
  const slackMs = 500;
  const [leastLpm, mostLpm] = [
    (filledL / (ranMs + slackMs)) * MINUTE_MS,
    (filledL / Math.max(1, ranMs - slackMs)) * MINUTE_MS,
  ];
  if (mostLpm < route.flowLeastLpm || leastLpm > route.flowMostLpm) {
    const key = mostLpm < route.flowLeastLpm ? 'least' : 'most';
    const value = `${rounded(key === 'least' ? 0.9 * flowLpm : 1.1 * flowLpm, 2)} L/min`;
    const change = [{ path: ['routes', id, 'flow', key], value }];
    return result('failed', message('commission-flow-outside', { route: id, flowLpm }), measured, change);
  }
  return result(
    'passed',
    message('commission-meter-right', { sensor: meter.id, countedL: counted, filledL, flowLpm }),
    measured,
  );
}

/** One of its outputs said in between that it is off: somebody took its power, or its own guard did. */
function wentOff({ bench }: Trial, { through }: Route, openMs: number): true | null {
  const off = through.some((output) => {
    const on = bench.first(openMs, 'feedback', output, true);
    return on !== null && bench.first(on.atMs, 'feedback', output, false) !== null;
  });
  return off ? true : null;
}

function meterChange(meter: Sensor, factor: number): Result['change'] {
  if (meter.measures === 'total' && meter.inPulses)
    return [{ path: ['sensors', meter.id, 'pulsesPerLitre'], value: rounded(factor / meter.scale, 4) }];
  if (meter.measures !== 'total' && meter.measures !== 'flow') return [];
  return [{ path: ['sensors', meter.id, 'scale'], value: rounded(meter.scale / factor, 4) }];
}

/** Litres between the reading before the moment and the last one; of a flow, the sum of its readings over time. */
function countedL({ bench }: Trial, meter: Sensor, fromMs: number): number | null {
  const heard = bench.since(fromMs - 5_000).filter((one) => one.what === 'reading' && one.id === meter.id);
  const after = heard.filter(({ atMs }) => atMs >= fromMs);
  const start = heard.filter(({ atMs }) => atMs < fromMs).at(-1) ?? after[0];
  const last = after.at(-1);
  if (start === undefined || last === undefined) return null;
  if (meter.measures === 'total') return (last.value as number) - (start.value as number);
  return after.reduce(
    ({ sum, before }, one) => ({
      sum:
        sum + (((before.value as number) + (one.value as number)) / 2 / MINUTE_MS) * (one.atMs - before.atMs),
      before: one,
    }),
    { sum: 0, before: start },
  ).sum;
}

/** Slowly up to where a float turns over; the person says how many litres that are. */
export async function markStep(trial: Trial): Promise<Result> {
  const { item, bench, person, plant, resetOwn } = trial;
  const float = plant.sensors[item.subject] as FloatSensor;
  const { id, vessel, markL, toleranceL } = float;
  const { capacityL, into } = plant.vessels[vessel] as (typeof plant.vessels)[string];
  const isWet = () => bench.state.sensors[id]?.value === true;
  const words = message('commission-mark-start', { sensor: id, vessel });
  const startL = await person.number('start', words, 0, capacityL);
  // A person may have let water down by hand.
  await resetOwn();
  if (isWet())
    return result('undone', message('commission-mark-already-wet', { sensor: id, vessel }), { startL });
  const ways = into
    .map((one) => plant.routes[one] as Route)
    .filter(({ purpose }) => purpose === 'refill' || purpose === 'transfer');
  const way = float.position === 'overflow' ? undefined : ways[0];
  let runOnL = 0;
  if (way !== undefined) {
    await person.done('ready', message('commission-mark-ready', { route: way.id, vessel }));
    const filled = await fillUntil(trial, way, isWet, capacityL - startL);
    if (isMessage(filled)) return result('undone', filled, { startL });
    runOnL = filled;
  }
  if (!isWet()) {
    await person.done('pour', message('commission-mark-pour', { sensor: id, vessel, volumeL: markL }));
    await bench.until(() => (isWet() ? true : null), 5_000);
    runOnL = 0;
  }
  const nowL = await person.number('now', message('commission-mark-now', { vessel }), 0, 1.05 * capacityL);
  const turnedL = nowL - runOnL;
  const measured = { startL, nowL, runOnL: rounded(runOnL, 2), turnedL: rounded(turnedL, 4) };
  if (!isWet())
    return result('failed', message('commission-mark-never-wet', { sensor: id, volumeL: nowL }), measured);
  const mayL = toleranceL + READ_SHARE * nowL + runOnL / 2;
  if (Math.abs(turnedL - markL) <= mayL)
    return result(
      'passed',
      message('commission-mark-right', { sensor: id, volumeL: turnedL, markL }),
      measured,
    );
  const change = [{ path: ['sensors', id, 'mark'], value: `${rounded(turnedL, 3)} L` }];
  return result(
    'failed',
    message('commission-mark-off', { sensor: id, volumeL: turnedL, markL }),
    measured,
    change,
  );
}

/** @returns litres that came after the float turned; or why nothing could */
async function fillUntil({ bench, plant }: Trial, way: Route, isWet: () => boolean, roomL: number) {
  const openMs = await bench.open(way.id);
  if (isMessage(openMs)) return openMs;
  const over = () => (isWet() || !way.through.every((output) => bench.isOn(output)) ? true : null);
  await bench.until(over, (roomL / way.flowLeastLpm) * MINUTE_MS + way.primingMs);
  const turnedMs = bench.nowMs();
  bench.try(null);
  const meter = way.meter === null ? undefined : plant.sensors[way.meter];
  const offMs = await bench.until(
    () => bench.first(turnedMs, 'feedback', way.through[0] ?? '', false)?.atMs ?? null,
    3_000,
  );
  await bench.allOff();
  await bench.pause(way.runDownMs + 1.5 * (meter?.republishesMs ?? 0));
  return (way.flowUsualLpm / MINUTE_MS) * Math.max(0, (offMs ?? turnedMs) - turnedMs);
}

/** How often it publishes, against what the file says. */
export async function periodStep({ item, bench, plant }: Trial): Promise<Result> {
  const sensor = plant.sensors[item.subject] as Sensor;
  const { id, republishesMs } = sensor;
  const saidMs = republishesMs ?? 0;
  const watchMs = Math.min(3.5 * saidMs, LONGEST_WATCH_MS);
  if (saidMs > LONGEST_WATCH_MS / 2)
    return result('undone', message('commission-period-too-long', { sensor: id }));
  const endMs = bench.nowMs();
  const ready = () => (bench.nowMs() - endMs >= watchMs ? true : null);
  const heardFrom = (fromMs: number) =>
    bench
      .since(fromMs)
      .filter((one) => one.what === 'reading' && one.id === id)
      .map(({ atMs }) => atMs);
  // Heard while other steps went on: what is there already counts.
  if (heardFrom(endMs - watchMs).length < 3) await bench.until(ready, watchMs + 1_000);
  const times = heardFrom(endMs - watchMs);
  if (times.length < 2)
    return result('failed', message('commission-period-silent', { sensor: id, durationMs: watchMs }));
  const gaps = times.slice(1).map((atMs, place) => atMs - (times[place] as number));
  const longestMs = Math.round(Math.max(...gaps));
  const measured = { longestMs, heard: times.length };
  if (longestMs > 1.5 * saidMs + 500) {
    const change = [{ path: ['sensors', id, 'republishes'], value: `${Math.ceil(longestMs / 1000)} s` }];
    return result(
      'failed',
      message('commission-period-longer', { sensor: id, durationMs: longestMs }),
      measured,
      change,
    );
  }
  return result(
    'passed',
    message('commission-period-right', { sensor: id, durationMs: longestMs }),
    measured,
  );
}
const LONGEST_WATCH_MS = 120_000;
