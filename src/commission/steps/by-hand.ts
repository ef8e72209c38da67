// Steps with nothing energised: contacts moved by hand, thermometers and probes in water that a person measured.
import { OutOfRange } from '../../engineering/range.ts';
import { conductivityMsPerCm, practicalSalinity } from '../../engineering/seawater.ts';
import { message } from '../../language/message.ts';
import { isContact } from '../../station/kinds.ts';
import type { ConductivitySensor, Sensor } from '../../station/plant.ts';
import { exchanged } from '../proposal.ts';
import { type Result, result, type Trial } from '../trial.ts';

/** A contact, or a number, has had time to speak again. */
const SETTLE_MS = 3_000;
const heardAgainMs = ({ republishesMs }: Sensor): number => SETTLE_MS + 1.5 * (republishesMs ?? 0);

const WHERE = ['topic', 'at', 'bit'];
const WORDS = ['wet', 'dry', 'running', 'resting'];

/** Both words of a contact, each heard while a person says how it is. */
export async function contactStep({ item, bench, person, plant, text }: Trial): Promise<Result> {
  const sensor = plant.sensors[item.subject] as Sensor;
  const { id } = sensor;
  const others = Object.values(plant.sensors).filter((other) => other.id !== id && isContact(other));
  const says = (which: string) => bench.state.sensors[which]?.value as boolean | null;
  const words = (wet: boolean) =>
    sensor.measures === 'top-off' ? (wet ? 'running' : 'resting') : wet ? 'wet' : 'dry';
  const now = await person.oneOf('now', message('commission-contact-now', { sensor: id }), [
    words(true),
    words(false),
  ]);
  const isYes = now === words(true);
  const before = Object.fromEntries(others.map((other) => [other.id, says(other.id)]));
  const first = says(id);
  await person.done('moved', message('commission-contact-move', { sensor: id, what: words(!isYes) }));
  await bench.until(() => (says(id) === first ? null : true), heardAgainMs(sensor));
  const second = says(id);
  const stirred = others.filter((other) => says(other.id) !== before[other.id]).map((other) => other.id);
  await person.done('back', message('commission-contact-back', { sensor: id, what: now }));
  await bench.until(() => (says(id) === first ? true : null), heardAgainMs(sensor));
  const third = says(id);
  const measured = { first, second, third, stirred: stirred.join(' ') };
  const [other] = stirred;
  if (first === second && other !== undefined) {
    // The words go with the device: they were understood.
    const change = exchanged(text, 'sensors', [id, other], [...WHERE, ...WORDS]);
    return result(
      'failed',
      message('commission-contact-of-other', { sensor: id, otherSensor: other }),
      measured,
      change,
    );
  }
  if (first === second)
    return result('failed', message('commission-contact-silent', { sensor: id }), measured);
  if (first === null || third !== first)
    return result('undone', message('commission-contact-unclear', { sensor: id }), measured);
  if (first !== isYes) {
    const [yes, no] = sensor.measures === 'top-off' ? ['running', 'resting'] : ['wet', 'dry'];
    const written = 'yes' in sensor ? sensor : null;
    const wordOf = (said: unknown): unknown => (Array.isArray(said) && said.length === 1 ? said[0] : said);
    const change = [
      { path: ['sensors', id, yes], value: wordOf(written?.no) },
      { path: ['sensors', id, no], value: wordOf(written?.yes) },
    ];
    return result('failed', message('commission-contact-reversed', { sensor: id }), measured, change);
  }
  return result('passed', message('commission-contact-right', { sensor: id }), measured);
}

/** What a hand thermometer may be off, K. */
const BY_HAND_K = 1;
/** A cup must differ by so much from what the thermometer said before, K. */
const CUP_K = 4;

/** One thermometer in a cup: it must be this one that moves, to what the person measured there. */
export async function thermometerStep({ item, bench, person, plant, text }: Trial): Promise<Result> {
  const sensor = plant.sensors[item.subject] as Sensor;
  const { id } = sensor;
  const all = Object.values(plant.sensors).filter(({ measures }) => measures === 'temperature');
  const says = (which: string) => bench.state.sensors[which]?.value as number | null;
  const before = Object.fromEntries(all.map((one) => [one.id, says(one.id)]));
  const cupC = await person.number('cup', message('commission-cup', { sensor: id, leastK: CUP_K }), -2, 60);
  const mostOffK = ('uncertaintyK' in sensor ? sensor.uncertaintyK : 0) + BY_HAND_K;
  const shows = (which: string) => Math.abs((says(which) ?? Number.NaN) - cupC) <= mostOffK;
  await bench.until(() => (shows(id) ? true : null), heardAgainMs(sensor));
  const showsC = says(id);
  const measured = { cupC, beforeC: before[id] ?? null, showsC };
  const moved = all.filter((one) => Math.abs((says(one.id) ?? 0) - (before[one.id] ?? 0)) > CUP_K / 2);
  await person.done('back', message('commission-cup-back', { sensor: id }));
  await bench.pause(SETTLE_MS);
  if (Math.abs(cupC - (before[id] ?? Number.NaN)) < CUP_K)
    return result('undone', message('commission-cup-too-near', { leastK: CUP_K }), measured);
  const [other] = moved.filter((one) => one.id !== id);
  if (!moved.some((one) => one.id === id)) {
    if (other === undefined)
      return result('failed', message('commission-thermometer-dead', { sensor: id }), measured);
    const change = exchanged(text, 'sensors', [id, other.id], WHERE);
    return result(
      'failed',
      message('commission-thermometer-of-other', { sensor: id, otherSensor: other.id }),
      measured,
      change,
    );
  }
  if (showsC === null || Math.abs(showsC - cupC) > mostOffK)
    return result(
      'failed',
      message('commission-thermometer-off', {
        sensor: id,
        showsTemperatureC: showsC ?? Number.NaN,
        cupTemperatureC: cupC,
      }),
      measured,
    );
  return result(
    'passed',
    message('commission-thermometer-right', { sensor: id, offK: showsC - cupC }),
    measured,
  );
}

/** Two jugs must differ by so much, K: a raw probe shows 2 % more for each. */
const JUGS_K = 6;
const JUG_WORDS = { cool: 'commission-jug-cool', warm: 'commission-jug-warm' } as const;
/** What a hand-held meter and a probe may differ, as a share. */
const HAND_SHARE = 0.05;

/**
 * The same salt water, cool and warm. Raw conductivity rises with temperature as PSS-78 says, a compensated one does not; what
 * the file declares must be what is seen, and the salinity what a person measured.
 */
export async function probeStep({ item, bench, person, plant }: Trial): Promise<Result> {
  const sensor = plant.sensors[item.subject] as ConductivitySensor;
  const { id } = sensor;
  const hand = await person.number('salinity', message('commission-jug-salinity', { sensor: id }), 5, 41);
  const jug = async (key: 'cool' | 'warm') => {
    const jugC = await person.number(key, message(JUG_WORDS[key], { sensor: id, leastK: JUGS_K }), 0, 35);
    const fromMs = bench.nowMs();
    const heard = () =>
      bench
        .since(fromMs)
        .filter((one) => one.what === 'reading' && one.id === id)
        .at(2)?.value ?? null;
    const read = await bench.until(() => heard() as number | null, 3 * heardAgainMs(sensor));
    return { jugC, conductivity: read ?? (bench.state.sensors[id]?.value as number | null) };
  };
  const cool = await jug('cool');
  const warm = await jug('warm');
  await person.done('back', message('commission-jug-back', { sensor: id }));
  const measured = {
    coolC: cool.jugC,
    coolMsPerCm: cool.conductivity,
    warmC: warm.jugC,
    warmMsPerCm: warm.conductivity,
    handSalinity: hand,
  };
  if (warm.jugC - cool.jugC < JUGS_K)
    return result('undone', message('commission-jugs-too-near', { leastK: JUGS_K }), measured);
  if (cool.conductivity === null || warm.conductivity === null || cool.conductivity <= 0)
    return result('failed', message('commission-probe-silent', { sensor: id }), measured);
  const rise = Math.log(warm.conductivity / cool.conductivity);
  const raw = Math.log(conductivityMsPerCm(hand, warm.jugC) / conductivityMsPerCm(hand, cool.jugC));
  const share = rise / raw;
  const isRaw = share > 0.7 && share < 1.3;
  const isCompensated = Math.abs(share) < 0.3;
  const all = { ...measured, shareOfRaw: Number(share.toFixed(3)) };
  if (!isRaw && !isCompensated)
    return result('undone', message('commission-probe-unclear', { sensor: id }), all);
  const { compensatedToC, vessel } = sensor;
  const path = (key: string) => ['sensors', id, key];
  if (isRaw && compensatedToC !== null) {
    const thermometer = plant.vessels[vessel]?.temperature ?? null;
    const change = [
      { path: path('compensatedTo'), value: null },
      ...(thermometer === null ? [] : [{ path: path('temperatureFrom'), value: thermometer }]),
    ];
    return result('failed', message('commission-probe-is-raw', { sensor: id }), all, change);
  }
  if (isCompensated && compensatedToC === null) {
    const change = [
      { path: path('temperatureFrom'), value: null },
      { path: path('compensatedTo'), value: '25 degC' },
    ];
    return result('failed', message('commission-probe-is-compensated', { sensor: id }), all, change);
  }
  const salinity = salinityOf(cool.conductivity, compensatedToC ?? cool.jugC);
  if (salinity === null || Math.abs(salinity - hand) > HAND_SHARE * hand)
    return result(
      'failed',
      message('commission-probe-off', { sensor: id, salinity: salinity ?? 42, handSalinity: hand }),
      all,
    );
  return result('passed', message('commission-probe-right', { sensor: id, salinity, handSalinity: hand }), {
    ...all,
    salinity,
  });
}

function salinityOf(conductivity: number, temperatureC: number): number | null {
  try {
    return practicalSalinity(conductivity, temperatureC);
  } catch (error) {
    if (error instanceof OutOfRange) return null;
    throw error;
  }
}
