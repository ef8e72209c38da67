// What no file can mend: the gaps that only hardware, or another number, closes. One row for each kind of gap; what a
// row says is what can happen and what to fit. Advice is never a reason to refuse a station: its owner decides.
//
// Software is the first layer and never the last. Where people can be hurt or floors flooded the row asks for something
// that works with the computer off.
import {
  actuatorSubject,
  dryUnseenMs,
  exchangePerDayL,
  filled,
  floatAt,
  heaterSubject,
  heaters,
  isBounded,
  litres,
  movers,
  named,
  onHandL,
  pumps,
  purifiedPerDayL,
  routeSubject,
  routes,
  STANDS_DRY_MS,
  type Subject,
  sensorSubject,
  sensors,
  shareADomain,
  systemsL,
  usedActuators,
  vesselSubject,
  vessels,
} from './advice-parts.ts';
import { FIT } from './fits.ts';
import { type LevelDoubt, levelDoubtOf } from './level-doubt.ts';
import type { Plant, Route, Vessel } from './plant.ts';

export interface Warning {
  /** `W-03`. */
  readonly id: string;
  /** JSON Pointers to what it is about; the whole file is ''. */
  readonly about: readonly string[];
  /** What can happen. */
  readonly words: string;
  /** What closes the gap. */
  readonly fit: string;
}

interface AdviceRow {
  readonly id: string;
  /** What of the plant has the gap; nothing: no warning. */
  readonly of: (plant: Plant) => readonly Subject[];
  readonly words: (names: string, plant: Plant) => string;
  readonly fit: string;
}

export function adviceOn(plant: Plant): readonly Warning[] {
  return ADVICE.flatMap(({ id, of, words, fit }) => {
    const subjects = of(plant);
    const about = subjects.map(({ pointer }) => pointer);
    return subjects.length === 0 ? [] : [{ id, about, words: words(named(subjects), plant), fit }];
  });
}

const THE_FILE: Subject = { pointer: '', name: 'the station' };
const when = (gap: boolean, subject: Subject = THE_FILE): readonly Subject[] => (gap ? [subject] : []);
const isExchanged = (plant: Plant, { id }: Vessel): boolean => Object.hasOwn(plant.process.exchange, id);
const process = (key: string): Subject => ({ pointer: `/process/${key}`, name: key });

// biome-ignore format: a table reads as a table
export const ADVICE: readonly AdviceRow[] = [
  // Overflow
  { id: 'W-01', of: (plant) => filled(plant).filter(({ floats }) => !floats.high).map(vesselSubject),
    words: (names) => `No high float: nothing independent of meters and arithmetic says that it is full (${names}).`,
    fit: 'A high float, below the brim by at least what a lease lets through.' },
  { id: 'W-02', of: (plant) => filled(plant).filter(({ floats }) => !floats.overflow).map(vesselSubject),
    words: (names) => `No overflow float: when the high float sticks, water goes over the brim onto the floor (${names}).`,
    fit: 'A second float above the high one, and its contact hard-wired into the supply of the valve or pump that fills: that works with the computer off.' },
  { id: 'W-03', of: (plant) => filled(plant).filter(({ floats }) => shareADomain(floatAt(plant, floats.high), floatAt(plant, floats.overflow))).map(vesselSubject),
    words: (names) => `High float and overflow float share a failure domain: one dead board silences both (${names}).`,
    fit: 'The overflow float on a board and a supply of its own, hard-wired into what fills.' },
  { id: 'W-04', of: (plant) => filled(plant).flatMap(({ floats }) => floatAt(plant, floats.overflow) ?? []).filter(({ normallyClosed }) => normallyClosed !== true).map(sensorSubject),
    words: (names) => `Not stated to be normally closed: if its contact closes when wet, a broken wire reads dry for ever (${names}).`,
    fit: 'A contact that opens when wet, and "normallyClosed": true.' },
  { id: 'W-05', of: (plant) => routes(plant).filter((route) => plant.vessels[route.from]?.role === 'purified-water' && route.purpose !== 'flush' && route.upstream.length === 0).map(routeSubject),
    words: (names) => `No master shut-off upstream: when the inlet valve sticks open, no command can stop the water (${names}).`,
    fit: FIT.master },
  { id: 'W-06', of: (plant) => filled(plant).filter((vessel) => {
      const over = floatAt(plant, vessel.floats.overflow);
      return over !== undefined && vessel.into.some((id) => {
        const route = plant.routes[id];
        return route !== undefined && over.markL + over.toleranceL + (route.leaseMs / 60_000) * route.flowMostLpm > vessel.capacityL;
      });
    }).map(vesselSubject),
    words: (names) => `If the link dies just when the overflow float turns over, a lease lets water over the brim (${names}).`,
    fit: 'A shorter lease, a lower overflow float, or the float hard-wired into what fills.' },
  // Floods
  { id: 'W-07', of: (plant) => when(!sensors(plant).some(({ measures }) => measures === 'leak')),
    words: () => 'No leak sensor: a burst hose is noticed by whoever steps into it, and there are mains devices near.',
    fit: 'A leak sensor in every tray; trays with a drain; a hard-wired leak switch where nobody is about at night.' },
  { id: 'W-08', of: (plant) => [...movers(plant), ...alive(plant)].filter(({ countsLease }) => !countsLease).filter((a) => !routes(plant).some((r) => r.upstream.includes(a.id) && r.through.some((id) => plant.actuators[id]?.countsLease))).map(actuatorSubject),
    words: (names) => `Nobody counts its lease: when the computer or the network dies while it is on, it stays on (${names}).`,
    fit: 'A device that drops out by itself after a time, set in the device; or a hard-wired timer.' },
  { id: 'W-09', of: (plant) => movers(plant).filter(({ longestMs }) => longestMs > 300_000).map(actuatorSubject),
    words: (names) => `A lease of more than 5 min: for so long it runs on after the computer or the network died (${names}).`,
    fit: 'A shorter lease; it is renewed at a third of its time anyway.' },
  // Dry running
  { id: 'W-10', of: (plant) => vessels(plant).filter((v) => isBounded(v) && !v.floats.low && routes(plant).some((r) => r.pumped && r.from === v.id)).map(vesselSubject),
    words: (names) => `A pump draws from it and it has no low float: only arithmetic keeps the pump from running dry (${names}).`,
    fit: 'A low float above the pump inlet, hard-wired in series with the pump where the pump would be ruined.' },
  // Electricity and heat
  { id: 'W-11', of: (plant) => heaters(plant).filter(({ actuator }) => plant.actuators[actuator]?.upstream === null).map(heaterSubject),
    words: (names) => `No contactor upstream: when its relay welds, nothing can switch it off, and it boils dry or scalds (${names}).`,
    fit: 'A contactor before the relay, named as "upstream"; a hard-wired thermal cut-out; residual-current protection by a licensed electrician.' },
  { id: 'W-12', of: (plant) => pumps(plant).filter(({ upstream }) => upstream === null).map(actuatorSubject),
    words: (names) => `No contactor upstream: when its relay welds, it pumps until somebody pulls the plug (${names}).`,
    fit: FIT.contactor },
  { id: 'W-13', of: (plant) => heaters(plant).filter(({ vessel, actuator }) => routes(plant).some((r) => r.from === vessel && r.through.some((id) => plant.actuators[id]?.kind === 'pump' && shareADomain(plant.actuators[id], plant.actuators[actuator])))).map(heaterSubject),
    words: (names) => `It shares a failure domain with a pump of its vat: one dead board can leave it hot in still or sinking water (${names}).`,
    fit: 'The heater relay on a board of its own, and a hard-wired low float and thermal cut-out in its supply.' },
  { id: 'W-14', of: (plant) => heaters(plant).filter(({ vessel }) => plant.vessels[vessel]?.temperature === null).map(heaterSubject),
    words: (names) => `No temperature sensor in its vat: it would never be used, and a welded relay would never be noticed (${names}).`,
    fit: 'A temperature sensor in the mixing vat, in moving water.' },
  { id: 'W-15', of: (plant) => heaters(plant).filter(({ limitC }) => limitC > (plant.process.temperature?.targetC ?? limitC) + 15).map(heaterSubject),
    words: (names) => `Its limit is more than 15 K above the target: it trips long after something went wrong (${names}).`,
    fit: 'A limit a few kelvin above the target; the hard-wired cut-out a little above that.' },
  { id: 'W-16', of: (plant) => when(heaters(plant).length > 0 !== (plant.process.temperature !== null), process('temperature')),
    words: (_, plant) => plant.process.temperature === null ? 'A heater and no temperature to heat to: it stays off.' : 'A target temperature and no heater: cold water waits until the room has warmed it.',
    fit: 'Both or neither.' },
  // What is known of the devices
  { id: 'W-17', of: (plant) => movers(plant).filter(({ feedback }) => feedback === null).map(actuatorSubject),
    words: (names) => `No feedback: a relay that welds or does not pull in is noticed late, by what the water does (${names}).`,
    fit: 'A device that reports its contact, or better the current through it.' },
  { id: 'W-18', of: (plant) => movers(plant).filter(({ offProvenBy }) => offProvenBy === 'assumption').map(actuatorSubject),
    words: (names) => `That it is off is an assumption: nothing proves it (${names}).`,
    fit: 'Feedback, a lease that the device counts, or a meter in its route.' },
  { id: 'W-19', of: stranded,
    words: (names) => `Nothing upstream can stop it and no "stop" says what a person can close (${names}).`,
    fit: 'A "stop" at the vessel that it fills ("inflow") or empties ("outflow"): what to close, switch off or unplug.' },
  { id: 'W-20', of: (plant) => when(plant.alive === null),
    words: () => 'No "alive" output: when the computer dies, everything goes off and nobody is told.',
    fit: 'A lamp or sounder wired to the released contact of an output that the service holds on while it is healthy.' },
  { id: 'W-21', of: (plant) => Object.values(plant.actuators).filter(({ id }) => !usedActuators(plant).has(id)).map(actuatorSubject),
    words: (names) => `Used by no route, heater or doser, so it is never switched on (${names}).`,
    fit: 'Name it where it belongs, or take it out of the file.' },
  // What is known of the readings
  { id: 'W-22', of: (plant) => speakers(plant).filter(({ republishesMs, availability }) => republishesMs === null && availability.length === 0),
    words: (names) => `Publishes only on change and has no availability topic: a dead device looks the same as a steady one, so its reading soon counts for nothing (${names}).`,
    fit: 'A device that publishes at least once a minute ("republishes") or can be asked for its state ("ask"), or one with a last-will topic ("availability").' },
  { id: 'W-23', of: (plant) => speakers(plant).filter(({ republishesMs, maxAgeMs }) => republishesMs !== null && maxAgeMs < 2 * republishesMs),
    words: (names) => `Its greatest age is less than two of its intervals: one late message stops the station (${names}).`,
    fit: 'About three times "republishes".' },
  { id: 'W-24', of: (plant) => sensors(plant).filter((s) => (s.measures === 'float' || s.measures === 'leak') && s.believeStopMs > 0).map(sensorSubject),
    words: (names) => `Believed only after a while when it would stop something: for so long water runs on (${names}).`,
    fit: '"believe.stop" of 0 s, and a float that does not chatter: a guide tube or a still corner.' },
  { id: 'W-25', of: (plant) => Object.keys(plant.process.exchange).flatMap((system) => routes(plant).filter((r) => (r.purpose === 'supply' && r.to === system) || (r.purpose === 'drain' && r.from === system))).filter(({ meter }) => meter === null).map(routeSubject),
    words: (names) => `No meter: what is drained and what is delivered drift apart, and with them salinity and level of the system (${names}).`,
    fit: 'A flow meter in the supply and in the drain line, checked against a bucket.' },
  { id: 'W-26', of: (plant) => routes(plant).filter((r) => r.purpose === 'transfer' && r.meter === null && plant.vessels[r.to]?.level === null).map(routeSubject),
    words: (names) => `Neither a meter nor a level sensor: nobody knows how much salt a batch needs better than the flow is known (${names}).`,
    fit: 'A meter in the line, or a level sensor in the mixing vat.' },
  { id: 'W-27', of: (plant) => vessels(plant).filter((v) => v.role === 'purified-water' && (v.conductivity === null || v.purityLimitMsPerCm === null)).map(vesselSubject),
    words: (names) => `Spent resin or a torn membrane goes unnoticed into the vat: no conductivity probe in the line, or no "purityLimit" (${names}).`,
    fit: 'A conductivity probe after the purifier, and a "purityLimit".' },
  { id: 'W-28', of: (plant) => vessels(plant).filter((v) => v.role === 'mixing' && v.conductivity === null).map(vesselSubject),
    words: (names) => `No conductivity probe: every batch waits for a person to measure its salinity (${names}).`,
    fit: 'A conductivity probe in the circulation of the mixing vat; a person should compare it now and then all the same.' },
  { id: 'W-29', of: (plant) => sensors(plant).filter((s) => s.measures === 'conductivity' && s.validAfter === null && s.vessel === plant.mixingId).map(sensorSubject),
    words: (names) => `Counts at any time: a probe in still or layered water reads wrong (${names}).`,
    fit: '"validAfter" with the circulation route and a minute or so.' },
  { id: 'W-30', of: (plant) => vessels(plant).filter((v) => plant.process.temperature !== null && v.temperature === null && (v.role === 'mixing' ? heaters(plant).length === 0 : isExchanged(plant, v))).map(vesselSubject),
    words: (names) => `No temperature sensor: cold or hot water may reach the system without anybody knowing (${names}).`,
    fit: 'A temperature sensor in moving water.' },
  { id: 'W-31', of: (plant) => vessels(plant).filter((v) => isExchanged(plant, v) && v.topOff === null).map(vesselSubject),
    words: (names) => `Nothing reports its own top-off: if it has one, it refills with fresh water what an exchange step drains, and the salinity falls (${names}).`,
    fit: 'The top-off\'s running contact as a "top-off" sensor, and "inhibitTopOff"; where there is none, this is nothing to mend.' },
  // Whether the aims can be met
  { id: 'W-32', of: (plant) => when(onHandL(plant) < plant.process.reserveShare * systemsL(plant), process('reserve')),
    words: (_, plant) => `With both vats full ${litres(onHandL(plant))} can be drawn, less than the reserve of ${litres(plant.process.reserveShare * systemsL(plant))}.`,
    fit: 'Larger vats, higher marks, or a smaller reserve that you have thought about.' },
  { id: 'W-33', of: (plant) => when(purifiedPerDayL(plant) !== null && exchangePerDayL(plant) > (purifiedPerDayL(plant) ?? 0), process('exchange')),
    words: (_, plant) => `The exchange takes ${litres(exchangePerDayL(plant))} a day; at its least flow the purifier brings ${litres(purifiedPerDayL(plant) ?? 0)}.`,
    fit: 'A smaller exchange, a larger purifier, or warmer water before its membrane.' },
  { id: 'W-34', of: (plant) => when(trimRoomL(plant) < 0.02 * plant.process.batch.contentsL, process('batch/contents')),
    words: (_, plant) => `Only ${litres(Math.max(0, trimRoomL(plant)))} are left above a batch: one that came out too salty can't be thinned.`,
    fit: 'Smaller "contents" of a batch, or a higher high float: 2 % of the batch is little enough.' },
  { id: 'W-35', of: (plant) => vessels(plant).filter((v) => v.role === 'system' && !(isExchanged(plant, v))).map(vesselSubject),
    words: (names) => `No exchange is stated, so nothing is ever delivered to it (${names}).`,
    fit: 'An entry under "exchange"; with "perDay": "0 %" it works on request only.' },
  { id: 'W-36', of: unexercised,
    words: (names) => `It is to be exercised, and the service never moves it unattended; a person is asked each time (${names}).`,
    fit: 'A second valve that reports where it stands, before it where the mains press on it; and a feedback of its own. Or nothing: a person may well do it.' },
  { id: 'W-37', of: (plant) => heaters(plant).filter(({ cutOutC }) => cutOutC === null).map(heaterSubject),
    words: (names) => `No thermal cut-out is stated: a thermometer that lies can keep it heating, and the vat gets hot enough to scald (${names}).`,
    fit: FIT.thermalCutOut },
  { id: 'W-38', of: (plant) => unheardAfterStart(plant),
    words: (names) => `Reports only changes: after each start of the service it says nothing until something changes, and what needs it stays blocked until then (${names}).`,
    fit: 'A device that reports at least once a minute ("republishes"), or that can be asked for its state ("ask"). To report when the device itself starts is not enough: the service may start without it.' },
  { id: 'W-39', of: (plant) => routes(plant).filter((route) => route.pumped && dryUnseenMs(plant, route) > STANDS_DRY_MS).map(routeSubject),
    words: (names) => `Its meter counts so coarsely, or speaks so seldom, that a pump that runs dry is seen by it only after more than a minute (${names}).`,
    fit: 'A meter with more pulses a litre, or one that publishes more often; and a low float, hard-wired in series with the pump where running dry would ruin it.' },
  { id: 'W-40', of: (plant) => routes(plant).filter((route) => !route.pumped && !route.loop && plant.vessels[route.from]?.role !== 'purified-water' && route.upstream.length === 0).map(routeSubject),
    words: (names) => `Height moves this water and nothing lies upstream of its valve: when it sticks open, no command can stop the water (${names}).`,
    fit: FIT.secondValve },
  { id: 'W-41', of: (plant) => unused(plant).map(routeSubject),
    words: (names) => `Never used: the service takes the first route of a kind, and none that joins what no phase joins (${names}).`,
    fit: 'Take it out of the file, or put the route that is to be used before the other one. A second line of the same kind is a hand valve.' },
  { id: 'W-42', of: (plant) => unwatched(plant).map(vesselSubjectOf(plant)),
    words: (names, plant) => `Nothing reports a level that keeps ${names} from running over, or low, by drift: somebody has to look at it ${unwatched(plant).map(lookWords).join(', ')}, and nothing is exchanged until they did.`,
    fit: 'a low and a high float in the system; or meters in both routes, or flows that are known better, to be asked less often.' },
  { id: 'W-43', of: (plant) => routes(plant).filter(({ siphons }) => siphons === 'by itself').map(routeSubject),
    words: (names) => `The heights say that water runs on by itself when the pump stops, and nothing in the line closes it (${names}).`,
    fit: FIT.siphonBreak },
  { id: 'W-44', of: (plant) => routes(plant).filter(({ stop, siphons }) => stop !== null && stop.action !== 'close' && siphons !== 'never').map(routeSubject),
    words: (names) => `The "stop" takes its power, and a siphon runs on without (${names}).`,
    fit: `A "stop" that closes something; or ${FIT.siphonBreak}` },
  { id: 'W-45', of: unnamed,
    words: (names) => `When its level moves by itself, nothing can be named that a person shuts off (${names}).`,
    fit: 'A "stop" at the vessel: "inflow" for what comes into it, "outflow" for what leaves it.' },
];

/** Routes that no phase ever asks for: the second of a kind, and those for which there is no kind. */
function unused(plant: Plant): readonly Route[] {
  const taken = new Set<string>();
  return routes(plant).filter(({ purpose, from, to }) => {
    const stirsNothing = purpose === 'circulate' && from !== plant.mixingId;
    if (purpose === 'other' || stirsNothing) return true;
    const system = purpose === 'supply' ? to : purpose === 'drain' ? from : '';
    const kind = `${purpose} ${system}`;
    if (taken.has(kind)) return true;
    taken.add(kind);
    return false;
  });
}

/** Valves with an exercise that only a person can do, each with the reason. */
function unexercised(plant: Plant): readonly Subject[] {
  return Object.values(plant.exercises).flatMap(({ actuator, name, byHand }) =>
    actuator === null || byHand === null
      ? []
      : [{ pointer: `/actuators/${actuator}/exercise`, name: `${name}: ${byHand}` }],
  );
}

/** Systems whose level is known by what was drained and delivered alone. */
const unwatched = (plant: Plant): readonly LevelDoubt[] =>
  plant.systemIds.flatMap((id) => levelDoubtOf(plant, id) ?? []);
const vesselSubjectOf =
  (plant: Plant) =>
  ({ systemId }: LevelDoubt): Subject =>
    vesselSubject(plant.vessels[systemId] as Vessel);

function lookWords({ stepErrorL, boundL, daysPerLook }: LevelDoubt): string {
  if (stepErrorL > boundL)
    return `before every step, which alone leaves ${litres(stepErrorL)} open where ${litres(boundL)} are allowed: nothing can be exchanged`;
  if (daysPerLook === null) return 'after some steps';
  return daysPerLook < 1
    ? `about every ${Math.max(1, Math.round(24 * daysPerLook))} h`
    : `about every ${Number(daysPerLook.toFixed(1))} d`;
}

/** Vessels with a level that no route fills, or none empties, where nothing is said of how a person stops that water. */
function unnamed(plant: Plant): readonly Subject[] {
  return vessels(plant)
    .filter((vessel) => isBounded(vessel) && vessel.level !== null)
    .filter(
      ({ into, outOf, stop }) =>
        (into.length === 0 && stop.inflow === null) || (outOf.length === 0 && stop.outflow === null),
    )
    .map(vesselSubject);
}

/** Routes into or out of bounded vessels that nothing upstream can stop, where nothing is said of how a person stops it. */
function stranded(plant: Plant): readonly Subject[] {
  return routes(plant)
    .filter(({ loop, upstream }) => !loop && upstream.length === 0)
    .filter(({ from, to }) => !plant.vessels[to]?.stop.inflow && !plant.vessels[from]?.stop.outflow)
    .filter(({ stop, through }) => stop === null && !through.some((id) => plant.actuators[id]?.stop))
    .map(routeSubject);
}

/** The output that says that the service lives. It must drop out by itself, or it says so for ever. */
function alive(plant: Plant) {
  const actuator = plant.actuators[plant.alive ?? ''];
  return actuator === undefined ? [] : [actuator];
}

/** Everything that publishes: sensors, and actuators that report themselves. */
function speakers(plant: Plant) {
  const feedbacks = Object.values(plant.actuators).flatMap(({ id, name, feedback }) =>
    feedback === null ? [] : [{ ...feedback, name, pointer: `/actuators/${id}/feedback` }],
  );
  return [...sensors(plant).map((sensor) => ({ ...sensor, ...sensorSubject(sensor) })), ...feedbacks];
}

/**
 * Silent after a start for all that the file says. A device that ends its own lease is known to be off without its feedback
 * (see `restsInSilence` in `control/guard/quiet.ts`), and speaks when it is switched on.
 */
function unheardAfterStart(plant: Plant) {
  const isQuiet = ({ pointer, republishesMs }: ReturnType<typeof speakers>[number]) => {
    const device = pointer.startsWith('/actuators/')
      ? plant.actuators[pointer.split('/')[2] ?? '']
      : undefined;
    return republishesMs === null && device?.countsLease !== true;
  };
  return speakers(plant).filter(isQuiet);
}

/** Litres between a finished batch and where the high float, or the margin, ends it. */
function trimRoomL(plant: Plant): number {
  const mixing = plant.vessels[plant.mixingId];
  if (mixing === undefined) return 0;
  const high = floatAt(plant, mixing.floats.high);
  const endL = high === undefined ? mixing.capacityL - mixing.marginL : high.markL - high.toleranceL;
  return endL - plant.process.batch.contentsL;
}
